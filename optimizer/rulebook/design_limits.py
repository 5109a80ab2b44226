"""The strictest of every binding rule set, as plain numbers: what the search and the layout keep."""

from __future__ import annotations

from dataclasses import dataclass

from optimizer.rulebook.door_clearance import DoorClearance
from optimizer.rulebook.run_law import RunLaw


@dataclass(frozen=True, slots=True)
class LandingNeed:
    """Least clear sizes (metres): along the way that arrives, and across it."""

    length_m: float
    width_m: float


@dataclass(frozen=True, slots=True)
class DesignLimits:
    """What binds one start, in metres and ratios; no limit: 0, or infinity where a greater value breaks it.

    ``laws``: every one must allow every run.  Each binding set's running slope, rise and length per run
    are laws too, so a run that all of them allow breaks no such limit.  ``steepest``: the steepest slope
    any run may have.  ``landing_door`` is the landing at the door, left by its front or by a side
    (``landing_door_turn``).  ``bottom``: the level space beyond the tip (``width_m`` 0: as wide as the run).
    ``doors``: for each binding set with a door table its rows.
    ``rails_rise_m``, ``rails_slope``, ``rails_drop_m``: a run that goes beyond any of them has handrails.
    ``guard_drop_m``: an edge higher above the lowest ground near it has a guard.
    """

    steepest: float
    laws: tuple[RunLaw, ...]
    rise_per_run_m: float
    clear_width_m: float
    headroom_m: float
    landing_slope: float
    landing_door: LandingNeed
    landing_door_turn: LandingNeed
    landing_straight: LandingNeed
    landing_quarter: LandingNeed
    landing_half: LandingNeed
    bottom: LandingNeed
    doors: tuple[tuple[DoorClearance, ...], ...]
    closer: bool
    latch: bool
    rails_rise_m: float
    rails_slope: float
    rails_drop_m: float
    rail_extension_m: float
    guard_drop_m: float
