"""Findings from a measured and a stated number, with their sentence in the plan's own units."""

from __future__ import annotations

import math
from dataclasses import dataclass

from optimizer.audit.report import DRAWN_M, ROUNDING_M, AuditFinding, AuditVerdict
from optimizer.plan import Plan
from optimizer.units import LengthSystem, Slope, format_length


@dataclass(frozen=True, slots=True)
class Words:
    """Prints lengths as the plan's reader wants them."""

    system: LengthSystem
    step_m: float

    def length(self, length_m: float) -> str:
        """A length in display units."""
        return format_length(length_m, self.system, self.step_m)


def build_words(plan: Plan) -> Words:
    """The plan's display units; a unit that is not known prints as millimetres."""
    systems: tuple[LengthSystem, ...] = ("ft-in", "in", "mm", "m")
    for system in systems:
        if plan.display_units == system:
            return Words(system, plan.display_step_m)
    return Words("mm", 0.001)


def judge_length(
    words: Words, clause: str, subject: str, what: str, measured_m: float, stated_m: float
) -> AuditFinding:
    """Two lengths or levels agree within ``DRAWN_M``."""
    numbers = f"{words.length(measured_m)} drawn, {words.length(stated_m)} in the plan"
    return _judge(clause, subject, what, measured_m, stated_m, abs(measured_m - stated_m), numbers)


def judge_slope(
    clause: str, subject: str, what: str, measured: float, stated: float, length_m: float
) -> AuditFinding:
    """Two slopes agree when over ``length_m`` they differ by ``DRAWN_M`` in height at most."""
    off_m = abs(measured - stated) * length_m
    # What the file's own rounding may have done is not told as another slope.
    shown = stated if off_m <= ROUNDING_M else measured
    numbers = f"{Slope.from_ratio(shown)} drawn, {Slope.from_ratio(stated)} in the plan"
    return _judge(clause, subject, what, measured, stated, off_m, numbers)


def judge_excess(
    words: Words, clause: str, subject: str, what: str, measured_m: float, most_m: float
) -> AuditFinding:
    """A length that may be ``most_m`` and, within ``DRAWN_M``, no more."""
    # Asked this way round, what is no number is over.
    over_m = 0.0 if measured_m <= most_m else measured_m - most_m
    allowed = words.length(most_m) if most_m else "nothing"
    numbers = f"{1000.0 * measured_m:.2f} mm drawn, {allowed} allowed"
    return _judge(clause, subject, what, measured_m, most_m, over_m, numbers)


def judge_unknown(clause: str, subject: str, what: str, why: str) -> AuditFinding:
    """Nothing to compare: said, never passed over."""
    return AuditFinding(clause, subject, None, None, None, "cannot tell", f"{subject}: {what}: {why}.")


def _judge(
    clause: str,
    subject: str,
    what: str,
    measured: float,
    stated: float,
    off_m: float,
    numbers: str,
) -> AuditFinding:
    # A number that is none never agrees.
    verdict: AuditVerdict = "agrees" if math.isfinite(off_m) and off_m <= DRAWN_M else "disagrees"
    text = f"{subject}: {what}: {numbers}; off by {1000.0 * off_m:.2f} mm."
    return AuditFinding(clause, subject, measured, stated, off_m, verdict, text)
