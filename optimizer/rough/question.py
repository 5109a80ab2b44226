"""What is known over the telephone: a few numbers, each with how well it is known.

Signs: a fall is positive where the ground falls *away* from the door, straight out or
along the wall in the direction in which the ramp would go.  Uncertainties are one-sided
('within so much').
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from optimizer.brief.site import DisplayUnits
from optimizer.errors import Fault, InputError
from optimizer.rulebook.run_law import RunLaw

INCH_M: Final = 0.0254
#: How far the landing lies below the threshold unless told otherwise (common practice, no source).
DROP_M: Final = 0.5 * INCH_M
#: Side of a landing where the rule set names none (the same figure as in the discrete problem).
LANDING_M: Final = 1.2
#: Clear width of a lane where the rule set names none.
CLEAR_WIDTH_M: Final = 0.9
#: Rails and frame beside the clear width, both sides together (common practice, no source).
RAILS_M: Final = 6 * INCH_M
#: A threshold higher than this above the ground is asked back.
GREATEST_RISE_M: Final = 3.0
#: Ground steeper than this is asked back.
GREATEST_FALL: Final = 0.5
# How well people know these numbers before a visit; common practice, no source.
RISE_WITHIN_M: Final = 0.5 * INCH_M
RISER_WITHIN_M: Final = 0.25 * INCH_M
FALL_WITHIN: Final = 0.01
DISTANCE_WITHIN_M: Final = 0.3


@dataclass(frozen=True, slots=True)
class Estimate:
    """A number and how far it may be off, in the same unit."""

    value: float
    within: float


@dataclass(frozen=True, slots=True)
class RoughQuestion:
    """One telephone call.

    ``rise_m``: threshold above the ground at the door.  ``fall_out``, ``fall_along``:
    rise over plan run.  ``depth_m``: free ground straight out from the wall.  ``width_m``:
    free ground along the wall from the *middle of the door*, on the side where the ramp
    would go.  ``None``: not asked yet.  ``drop_m``: landing below threshold.
    """

    rise_m: Estimate
    fall_out: Estimate
    fall_along: Estimate
    depth_m: Estimate | None
    width_m: Estimate | None
    drop_m: float
    display: DisplayUnits


@dataclass(frozen=True, slots=True)
class RoughLimits:
    """What the closed forms need of a rule set.

    ``slope`` is rise over plan run, the steepest; ``rise_per_run_m`` is infinite where nothing limits it.
    ``laws``: empty where every run may have that slope, else what runs of each length may have.
    ``door_m`` and ``turn_m`` are sides of square landings, ``landing_m`` the length of a
    landing between two runs in line, ``bottom_m`` (at most ``door_m``) of the level space
    beyond the tip, ``clear_width_m`` that of a run between its rails.
    ``not_asked``: facts that nobody has answered; the figures are those of the stricter answer.
    """

    rules: str
    slope: float
    rise_per_run_m: float
    door_m: float
    landing_m: float
    turn_m: float
    bottom_m: float
    clear_width_m: float
    laws: tuple[RunLaw, ...] = ()
    not_asked: tuple[str, ...] = ()

    @property
    def lane_m(self) -> float:
        """Overall width of a run."""
        return self.clear_width_m + RAILS_M


def build_rise_from_steps(steps: int, riser_m: float) -> Estimate:
    """Rise of a flight of ``steps`` equal risers, the last one up to the threshold included.

    Each riser is taken to be off by up to ``RISER_WITHIN_M``.  Raises ``InputError``.
    """
    faults = []
    if steps < 1:
        faults.append(Fault("steps", f"{steps} steps make no rise.", "Count the risers from ground to sill."))
    if not (math.isfinite(riser_m) and riser_m > 0.0):
        faults.append(Fault("riser", f"{riser_m} m is no height.", "Give the height of one step."))
    if faults:
        raise InputError(*faults)
    return Estimate(steps * riser_m, steps * RISER_WITHIN_M)


def check_question(question: RoughQuestion) -> None:
    """Raise ``InputError`` with everything that is wrong with the numbers."""
    faults = list(_faults(question))
    if faults:
        raise InputError(*faults)


def _faults(question: RoughQuestion) -> Iterator[Fault]:
    rise_m = question.rise_m.value
    if not 0.0 < rise_m <= GREATEST_RISE_M:
        yield Fault("rise", f"{rise_m} m is not between 0 and {GREATEST_RISE_M:g} m.", "Measure it again.")
    for name, fall in (("fall", question.fall_out), ("fall along", question.fall_along)):
        if not abs(fall.value) <= GREATEST_FALL:
            limit = f"{GREATEST_FALL * 100:g} %"
            yield Fault(name, f"{fall.value * 100:g} % is steeper than {limit}.", "Measure it again.")
    for name, distance_m in (("depth", question.depth_m), ("width", question.width_m)):
        if distance_m is not None and not 0.0 < distance_m.value < math.inf:
            yield Fault(name, f"{distance_m.value} m is no distance.", "Give what is free, or leave it out.")
    for name, estimate in (
        ("rise", question.rise_m),
        ("fall", question.fall_out),
        ("fall along", question.fall_along),
        ("depth", question.depth_m),
        ("width", question.width_m),
    ):
        if estimate is not None and not 0.0 <= estimate.within < math.inf:
            yield Fault(f"{name} within", f"{estimate.within} is no uncertainty.", "Give zero or more.")
    if not 0.0 <= question.drop_m < rise_m:
        yield Fault("drop", f"{question.drop_m} m is not between 0 and the rise.", "Measure it again.")
