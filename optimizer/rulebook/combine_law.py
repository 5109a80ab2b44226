"""The laws of runs from all that a rule set says of one: slope, rows, rise and length."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Final

from optimizer.rulebook.own_limits import STEEPEST_ALLOWED
from optimizer.rulebook.rules import Quantity, RuleSet
from optimizer.rulebook.run_law import NO_END_M, Allowance, RunLaw

#: A set that names no slope leaves what nobody may exceed.
_ANY_RUN: Final = Allowance(
    above_m=0.0,
    longest_m=NO_END_M,
    greatest_rise_m=NO_END_M,
    slope_at_above=STEEPEST_ALLOWED,
    slope_at_longest=STEEPEST_ALLOWED,
    between="ratio",
    is_strict=False,
)


def combine_laws(rules: RuleSet) -> tuple[RunLaw, ...]:
    """What a resolved rule set allows of one run: every law must allow it.

    One law, or one for each table where a set has several.  Rows that widen stand beside the running
    slope and the other rows; rise and length per run bind them too.
    """
    tables = [limit.law for limit in rules.limits_on("run_law") if limit.law is not None]
    wider = tuple(one for law in tables if law.widens for one in law.allowances)
    narrow = [law.allowances for law in tables if not law.widens] or [(_ANY_RUN,)]
    return tuple(_one_law(allowances, wider, rules) for allowances in narrow)


def _one_law(allowances: tuple[Allowance, ...], wider: tuple[Allowance, ...], rules: RuleSet) -> RunLaw:
    slope, rise_m, length_m = (
        min((limit.value_si for limit in rules.limits_on(quantity)), default=None) for quantity in _ONE_NUMBER
    )
    strict = any(
        limit.operator == "<" and limit.value_si == slope for limit in rules.limits_on("running_slope")
    )
    kept = tuple(allowances)
    if slope is not None:
        kept = tuple(cut for one in kept for cut in cut_slope(one, slope))
        if strict:
            kept = tuple(replace(one, is_strict=True) if _is_level(one, slope) else one for one in kept)
    kept += wider
    if rise_m is not None:
        kept = tuple(replace(one, greatest_rise_m=min(one.greatest_rise_m, rise_m)) for one in kept)
    if length_m is not None:
        kept = tuple(cut for one in kept for cut in cut_length(one, length_m))
    return RunLaw(allowances=kept, widens=False)


_ONE_NUMBER: Final[tuple[Quantity, ...]] = ("running_slope", "rise_per_run", "length_per_run")


def _is_level(one: Allowance, slope: float) -> bool:
    return one.slope_at_above == one.slope_at_longest == slope


def cut_slope(one: Allowance, slope: float) -> Iterator[Allowance]:
    """The allowance where nothing is steeper than ``slope``: in two pieces when its slopes cross it."""
    steep, flat = one.slope_at_above, one.slope_at_longest
    if steep <= slope:
        yield one
    elif flat >= slope:
        yield replace(one, slope_at_above=slope, slope_at_longest=slope)
    else:
        if one.between == "ratio":
            share = (steep - slope) / (steep - flat)
        else:
            share = (1.0 / slope - 1.0 / steep) / (1.0 / flat - 1.0 / steep)
        middle_m = one.above_m + share * (one.longest_m - one.above_m)
        yield replace(one, longest_m=middle_m, slope_at_above=slope, slope_at_longest=slope)
        yield replace(one, above_m=middle_m, slope_at_above=slope)


def cut_length(one: Allowance, length_m: float) -> Iterator[Allowance]:
    """The allowance for runs at most ``length_m`` long; nothing when it speaks of longer ones only."""
    if one.longest_m <= length_m:
        yield one
    elif one.above_m < length_m:
        yield replace(one, longest_m=length_m, slope_at_longest=one.steepest(length_m))
