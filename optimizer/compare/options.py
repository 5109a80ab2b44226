"""The options of a plan side by side: what each is, what it is best at, and what none beats it in."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

from optimizer.errors import Fault, InputError
from optimizer.plan import Candidate, Plan

#: What options are weighed by against each other: less is better of each.
WEIGHED: Final[tuple[tuple[str, Callable[[Candidate], float]], ...]] = (
    ("total price", lambda one: float(one.price_cents)),
    ("walking length", lambda one: one.walking_length_m),
    ("footprint", lambda one: one.footprint_m2),
)
_LEAST: Final[tuple[tuple[str, Callable[[Candidate], float]], ...]] = (
    ("lowest direct price", lambda one: float(one.direct_cost_cents)),
    ("lowest total", lambda one: float(one.price_cents)),
    ("shortest walk", lambda one: one.walking_length_m),
    ("smallest footprint", lambda one: one.footprint_m2),
    ("gentlest slope", lambda one: one.steepest_slope),
    ("lowest weight", lambda one: one.weight_kg),
    ("highest chance that all legs fit", lambda one: -1.0 if one.fit_chance is None else -one.fit_chance),
)
_SHAPES: Final = ("straight", "L", "switchback")


@dataclass(frozen=True, slots=True)
class Option:
    """A candidate (``number`` from 1 in the plan), what it is best at among the options compared, and the
    names of those that are no worse in price, walk and footprint and better in one (none: nothing beats it).
    """

    number: int
    candidate: Candidate
    best_at: tuple[str, ...]
    beaten_by: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Comparison:
    """Options by total price.  ``totals_differ``: the order by direct price, which is what is proven, is
    another.
    """

    plan: Plan
    options: tuple[Option, ...]
    totals_differ: bool


def compare_options(plan: Plan, numbers: Sequence[int]) -> Comparison:
    """The candidates named by ``numbers``, or the cheapest straight, L and switchback where none is named.

    Raises ``InputError`` for a plan without a layout and a number that is none of its candidates.
    """
    chosen = list(dict.fromkeys(numbers)) or _choose_shapes(plan)
    for number in chosen:
        if not 1 <= number <= len(plan.candidates):
            remedy = f"The plan has 1 to {len(plan.candidates)}." if plan.candidates else "It has no layout."
            raise InputError(Fault("--candidate", f"{number} is not a candidate.", remedy))
    if not chosen:
        raise InputError(Fault("the plan", "it has no layout.", "There is nothing to compare."))
    candidates = [plan.candidates[number - 1] for number in chosen]
    options = [
        Option(number, one, _find_best(one, candidates), _find_beating(one, candidates))
        for number, one in zip(chosen, candidates, strict=True)
    ]
    options.sort(key=lambda one: (one.candidate.price_cents, one.candidate.direct_cost_cents))
    direct = [one.candidate.direct_cost_cents for one in options]
    return Comparison(plan, tuple(options), direct != sorted(direct))


def _choose_shapes(plan: Plan) -> list[int]:
    """Numbers of the cheapest of each shape, by direct price."""
    chosen = []
    for shape in _SHAPES:
        numbers = [n for n, one in enumerate(plan.candidates, start=1) if one.shape == shape]
        if numbers:
            chosen.append(min(numbers, key=lambda n: plan.candidates[n - 1].direct_cost_cents))
    return chosen


def _find_best(one: Candidate, among: Sequence[Candidate]) -> tuple[str, ...]:
    """What no other of them does better, where they differ at all."""
    found = []
    for words, measure in _LEAST:
        values = [measure(other) for other in among]
        if measure(one) == min(values) and min(values) < max(values):
            found.append(words)
    return tuple(found)


def _find_beating(one: Candidate, among: Sequence[Candidate]) -> tuple[str, ...]:
    """Names of those that dominate it (Pareto's sense) in price, walk and footprint."""
    mine = [measure(one) for _, measure in WEIGHED]
    beating = []
    for other in among:
        theirs = [measure(other) for _, measure in WEIGHED]
        if all(a <= b for a, b in zip(theirs, mine, strict=True)) and theirs != mine:
            beating.append(other.name)
    return tuple(beating)
