"""When nothing fits: single changes that would each do, every one of them solved.

```python
from optimizer.search.why_not import explain_no_layout

why = explain_no_layout(site)
for remedy in why.remedies:
    print(remedy.reason, remedy.change, remedy.granted_by, remedy.cost_cents)
```
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from optimizer.brief.site import Site
from optimizer.errors import InternalError
from optimizer.search.solve_shapes import COARSER
from optimizer.search.trial_records import Family, Trial
from optimizer.search.trial_solves import Outcome, TrialRunner, on_one_lattice
from optimizer.search.trials import list_trials

#: Time for everything, for one trial, and for its first look on a coarse lattice, seconds.
BUDGET_S: Final = 20.0
TRY_FOR_S: Final = 4.0
GLANCE_FOR_S: Final = 0.75


@dataclass(frozen=True, slots=True)
class Remedy:
    """A change that makes a layout possible, what it says about the conflict, and what it comes to.

    ``cost_cents``: direct cost of the cheapest layout found then, at most what the cheapest costs;
    ``cost_is_least``: nothing cheaper exists on the lattice.  ``is_smallest``: every smaller step of
    the same change was shown not to do.
    """

    reason: str
    change: str
    granted_by: str
    cost_cents: int
    cost_is_least: bool
    is_smallest: bool


@dataclass(frozen=True, slots=True)
class WhyNot:
    """What was learnt about a site without a layout, in the order of the trials.

    ``useless``: changes after which there is still none.  ``open``: changes whose trial ended
    before it said anything.  ``cannot_try``: what could not be asked, and what it would take.
    """

    remedies: tuple[Remedy, ...]
    useless: tuple[str, ...]
    open: tuple[str, ...]
    cannot_try: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Settled:
    """A family tried: its remedy, if one was found; else whether none of its steps does."""

    remedy: Remedy | None
    is_useless: bool


def find_remedies(site: Site) -> tuple[Remedy, ...]:
    """Every single change tried that makes a layout possible."""
    return explain_no_layout(site).remedies


def explain_no_layout(site: Site, budget_s: float = BUDGET_S, each_s: float = TRY_FOR_S) -> WhyNot:
    """Try every single change on a site without a layout, within ``budget_s`` seconds, ``each_s`` a trial.

    All are looked at on a coarse lattice first: what finds a layout there is settled first.
    """
    runner = TrialRunner(budget_s)
    trials = list_trials(site)
    glances = runner.each(lambda family: _glance(runner, site, family), trials.families)
    order = sorted(range(len(glances)), key=lambda n: glances[n].cost_cents is None)
    answers = runner.each(lambda n: _settle(runner, trials.families[n], glances[n], each_s), order)
    settled = dict(zip(order, answers, strict=True))
    remedies, useless, still_open = [], [], []
    for n, family in enumerate(trials.families):
        one = settled[n]
        if one.remedy is not None:
            remedies.append(one.remedy)
        elif one.is_useless:
            useless.append(family.steps[-1].change)
        else:
            still_open.append(family.steps[-1].change)
    return WhyNot(tuple(remedies), tuple(useless), tuple(still_open), trials.cannot_try)


def _glance(runner: TrialRunner, site: Site, family: Family) -> Outcome:
    """The largest step on a coarse lattice: a layout there is one of the site's own lattice too."""
    coarse = on_one_lattice(family.steps[-1].changed, site.search.lattice_m * COARSER)
    return runner.solve(coarse, None, GLANCE_FOR_S)


def _settle(runner: TrialRunner, family: Family, glance: Outcome, each_s: float) -> _Settled:
    """The smallest step that does, on the site's own lattice."""
    last = family.steps[-1]
    largest = glance
    if glance.cost_cents is None and family.is_nested:
        largest = runner.solve(last.changed, None, each_s)
        if largest.cost_cents is None and largest.is_proven:
            return _Settled(None, is_useless=True)
    all_smaller_fail = True
    for step in family.steps[:-1]:
        outcome = runner.solve(step.changed, None, each_s)
        if outcome.cost_cents is not None:
            return _Settled(_build_remedy(step, outcome, is_smallest=all_smaller_fail), is_useless=False)
        all_smaller_fail = all_smaller_fail and outcome.is_proven
    if largest is glance:
        own = runner.solve(last.changed, glance.cost_cents, each_s)
        if own.cost_cents is not None or glance.cost_cents is None:
            largest = own
        elif own.is_proven:
            raise InternalError(f"{last.change}: the coarse lattice has a layout that the finer one has not")
        else:
            largest = Outcome(glance.cost_cents, is_proven=False)
    if largest.cost_cents is None:
        return _Settled(None, is_useless=all_smaller_fail and largest.is_proven)
    return _Settled(_build_remedy(last, largest, is_smallest=all_smaller_fail), is_useless=False)


def _build_remedy(step: Trial, outcome: Outcome, *, is_smallest: bool) -> Remedy:
    if outcome.cost_cents is None:
        raise InternalError(f"{step.change}: named as a remedy without a layout")
    return Remedy(
        step.reason, step.change, step.granted_by, outcome.cost_cents, outcome.is_proven, is_smallest
    )
