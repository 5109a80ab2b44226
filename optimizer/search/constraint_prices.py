"""What each constraint costs: every one dropped alone, and the site solved again.

```python
from optimizer.search.constraint_prices import Baseline, price_constraints

for price in price_constraints(site, Baseline(best_cents, is_proven=True, lattice_m=solved.lattice_m)):
    print(price.subject, price.verdict, price.saving_cents)
```
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from optimizer.brief.site import Site
from optimizer.errors import InternalError
from optimizer.plan import PriceVerdict
from optimizer.search.trial_records import Trial
from optimizer.search.trial_solves import Outcome, TrialRunner, on_one_lattice
from optimizer.search.trials import list_constraints, list_groups
from optimizer.search.trials_of_yard import drop_together, list_single_doors

#: Time for everything and for one constraint, seconds.
BUDGET_S: Final = 30.0
TRY_FOR_S: Final = 6.0

#: Order of the answers: what saves most first, what is not known last.
ORDER: Final[tuple[PriceVerdict, ...]] = (
    "saves",
    "saves at least",
    "costs nothing",
    "costs more",
    "costs at most",
    "no layout",
    "not settled",
)


@dataclass(frozen=True, slots=True)
class Baseline:
    """The best layout with every constraint in place: what it costs directly, and on which lattice."""

    cost_cents: int
    is_proven: bool
    lattice_m: float


@dataclass(frozen=True, slots=True)
class ConstraintPrice:
    """What one constraint costs.

    ``cost_cents``: the cheapest layout found without it.  ``saving_cents``: how much cheaper that is
    (below zero: how much dearer, for a door alone); ``None`` when nothing can be said.
    """

    subject: str
    change: str
    granted_by: str
    verdict: PriceVerdict
    saving_cents: int | None
    cost_cents: int | None


def price_constraints(site: Site, best: Baseline, budget_s: float = BUDGET_S) -> tuple[ConstraintPrice, ...]:
    """The price of every constraint that can be dropped alone, those that save most first.

    Where the site names several doors, what the ramp costs at each of them alone follows.
    Raises ``InternalError`` when a site with one constraint less has only dearer layouts.
    """
    runner = TrialRunner(budget_s)
    trials = list_constraints(site)
    outcomes = _solve_groups(runner, site, trials, best)
    prices = [_price_dropped(trial, outcome, best) for trial, outcome in zip(trials, outcomes, strict=True)]
    doors = runner.each(lambda trial: _price_door(runner, trial, best), list_single_doors(site))
    # A stable sort: what saves the same stays in the order of the site's file.
    return tuple(
        sorted((*prices, *doors), key=lambda one: (ORDER.index(one.verdict), -(one.saving_cents or 0)))
    )


def _solve_groups(
    runner: TrialRunner, site: Site, trials: tuple[Trial, ...], best: Baseline
) -> tuple[Outcome, ...]:
    """What each trial gives, no dearer than the best: the layout of the best is still allowed.

    What stands in the yard is dropped together first: when nothing cheaper appears then, none of
    it costs anything; else each half is asked again, down to the single ones.
    """
    settled: dict[int, Outcome] = {}
    groups = list_groups(site, trials)
    while groups:
        answers = runner.each(lambda group: _solve_group(runner, site, group, best), groups)
        halves: list[tuple[Trial, ...]] = []
        for group, outcome in zip(groups, answers, strict=True):
            if len(group) == 1 or _judge_dropped(outcome, best) == "costs nothing":
                settled |= {id(trial): outcome for trial in group}
            else:
                middle = len(group) // 2
                halves += [group[:middle], group[middle:]]
        groups = tuple(halves)
    return tuple(settled[id(trial)] for trial in trials)


def _solve_group(runner: TrialRunner, site: Site, group: tuple[Trial, ...], best: Baseline) -> Outcome:
    changed = group[0].changed if len(group) == 1 else drop_together(site, group)
    outcome = runner.solve(on_one_lattice(changed, best.lattice_m), best.cost_cents, TRY_FOR_S)
    is_looser = all(trial.nature == "loosening" for trial in group)
    if outcome.cost_cents is None and outcome.is_proven and is_looser and best.is_proven:
        subjects = ", ".join(trial.subject for trial in group)
        raise InternalError(f"without {subjects} no layout costs {best.cost_cents} cents any more")
    return outcome


def _price_dropped(trial: Trial, outcome: Outcome, best: Baseline) -> ConstraintPrice:
    cost = outcome.cost_cents
    verdict = _judge_dropped(outcome, best)
    if verdict in ("saves", "saves at least") and cost is not None:
        return _build(trial, verdict, best.cost_cents - cost, cost)
    if verdict == "costs nothing":
        return _build(trial, verdict, 0, best.cost_cents)
    return _build(trial, verdict, None, cost)


def _judge_dropped(outcome: Outcome, best: Baseline) -> PriceVerdict:
    """What a solve under the ceiling of the best says."""
    is_cheaper = outcome.cost_cents is not None and outcome.cost_cents < best.cost_cents
    if outcome.is_proven and not is_cheaper:
        return "costs nothing"
    if is_cheaper and best.is_proven:
        return "saves" if outcome.is_proven else "saves at least"
    # Cheaper than a best that is not proven: that may be the search's doing, not the constraint's.
    return "not settled"


def _price_door(runner: TrialRunner, trial: Trial, best: Baseline) -> ConstraintPrice:
    outcome = runner.solve(on_one_lattice(trial.changed, best.lattice_m), None, TRY_FOR_S)
    cost = outcome.cost_cents
    if cost is None:
        return _build(trial, "no layout" if outcome.is_proven else "not settled", None, None)
    if cost < best.cost_cents:
        if best.is_proven:
            raise InternalError(f"{trial.subject} costs {cost} cents, all doors {best.cost_cents} cents")
        return _build(trial, "not settled", None, cost)
    verdict: PriceVerdict = "costs nothing"
    if cost > best.cost_cents:
        verdict = "costs more" if outcome.is_proven else "costs at most"
    return _build(trial, verdict, best.cost_cents - cost, cost)


def _build(
    trial: Trial, verdict: PriceVerdict, saving_cents: int | None, cost_cents: int | None
) -> ConstraintPrice:
    return ConstraintPrice(trial.subject, trial.change, trial.granted_by, verdict, saving_cents, cost_cents)
