"""Slope by length and slope by rise: which runs a table or a formula of a document allows.

A run of rise ``D`` and plan length ``L`` (transition plate included) is allowed when one of the law's
allowances has room for it.  Tables in steps, interpolated tables and formulas are all such lists.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Literal

from optimizer.units import TOLERANCE_M

#: ``ratio``: the slope changes evenly with the length; ``run_per_rise``: the n of 1:n does.
Between = Literal["ratio", "run_per_rise"]
NO_END_M: Final = math.inf


@dataclass(frozen=True, slots=True)
class Allowance:
    """Runs longer than ``above_m`` and at most ``longest_m`` in plan, that rise ``greatest_rise_m`` at most.

    Their slope is at most ``slope_at_above`` at the one length and ``slope_at_longest`` at the other;
    between them as ``between`` says.  Equal slopes: the same all along.  ``is_strict``: the slope itself
    is not allowed, only flatter ones.
    """

    above_m: float
    longest_m: float
    greatest_rise_m: float
    slope_at_above: float
    slope_at_longest: float
    between: Between
    is_strict: bool

    def steepest(self, plan_m: float) -> float:
        """The steepest slope for a run of this plan length (within the allowance's lengths)."""
        if self.slope_at_above == self.slope_at_longest or math.isinf(self.longest_m):
            return self.slope_at_longest
        share = (plan_m - self.above_m) / (self.longest_m - self.above_m)
        share = min(1.0, max(0.0, share))
        if self.between == "ratio":
            return self.slope_at_above + share * (self.slope_at_longest - self.slope_at_above)
        upper, lower = 1.0 / self.slope_at_above, 1.0 / self.slope_at_longest
        return 1.0 / (upper + share * (lower - upper))

    def has_room(self, rise_m: float, plan_m: float) -> bool:
        """Whether a run of this rise and plan length is within the allowance (limits met within 1e-6 m)."""
        if plan_m > self.longest_m + TOLERANCE_M or plan_m <= self.above_m - TOLERANCE_M:
            return False
        if rise_m > self.greatest_rise_m + TOLERANCE_M:
            return False
        greatest = self.steepest(plan_m) * plan_m
        return rise_m < greatest - TOLERANCE_M if self.is_strict else rise_m <= greatest + TOLERANCE_M


@dataclass(frozen=True, slots=True)
class RunLaw:
    """What one document allows of one run: any of ``allowances``.

    ``widens``: the law allows runs that the document's own running slope forbids (short steep ones on
    existing sites); otherwise both bind.
    """

    allowances: tuple[Allowance, ...]
    widens: bool

    def allows(self, rise_m: float, plan_m: float) -> bool:
        """Whether a run of this rise and plan length is allowed."""
        return any(one.has_room(rise_m, plan_m) for one in self.allowances)

    def steepest(self) -> float:
        """The steepest slope of any run it allows."""
        return max(max(one.slope_at_above, one.slope_at_longest) for one in self.allowances)
