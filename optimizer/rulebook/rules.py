"""What binds us: one document and edition as data."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from optimizer.rulebook.door_clearance import DoorClearance
from optimizer.rulebook.facts import Condition
from optimizer.rulebook.run_law import RunLaw

#: Quantities a limit may speak of.  Each has one check in ``standards``.
Quantity = Literal[
    # Runs
    "running_slope",  # rise over plan run of any sloped surface, transition plate included
    "run_law",  # slope allowed by the plan length or the rise of a run: rows, not one value
    "cross_slope",
    "rise_per_run",  # transition plate included
    "length_per_run",  # plan length
    "clear_width",  # between handrails
    "surface_width",  # between kerbs
    "headroom",  # over runs and landings
    "total_rise",  # of the whole ramp; above it another way up is asked as well
    "steps_rise",  # of the whole ramp; above it steps are asked as well
    "soffit",  # underside above the ground, where people could walk under and hit it
    # Landings and the space at the bottom
    "landing_slope",  # steepest direction
    "landing_slope_along",
    "landing_slope_across",
    "landing_length",  # clear, along the way that arrives
    "landing_width",  # clear, across it; 0 means 'at least the widest run'
    "landing_turn",  # both clear sizes where direction changes
    "landing_passing",  # both clear sizes of one landing, where runs are many
    # Doors
    "door_clearance",  # room in front of a door by approach and side: a row, not one value
    "door_swing_takes",  # how much of the landing's width the open leaf may take
    "door_swing_leaves",  # clear width left beside the open leaf
    "swing_clear_length",  # clear landing length outside the leaf's swing
    "threshold_drop",  # landing below the threshold
    # Rails and edges
    "handrail_rise",  # rise above which a run needs handrails
    "handrail_slope",  # slope above which a run needs handrails
    "handrail_drop",  # height above the ground beside it above which a run needs handrails
    "handrail_sides",
    "handrail_height_min",
    "handrail_height_max",
    "handrail_extension",
    "handrail_grip_min",
    "handrail_grip_max",
    "edge_protection_height",
    "guard_drop",  # drop to the lowest ground near the edge above which a guard is needed
    "guard_height",
    "guard_opening",  # largest sphere that may pass
    # Small changes of level
    "tip_vertical_change",  # lip at the plate's tip
]
Operator = Literal["<=", "<", ">=", ">"]
HowKnown = Literal["text", "restated", "memory", "own"]
#: Where on the way a limit holds.  ``top``: the landing at the door; ``bottom``: the space beyond the
#: tip; ``between``: any landing between runs; ``straight``: one that does not turn; ``turn``: any that
#: does, the landing at the door left by its side included; ``quarter_turn``, ``half_turn``: these.
Place = Literal["any", "top", "bottom", "between", "straight", "turn", "quarter_turn", "half_turn"]


@dataclass(frozen=True, slots=True)
class Limit:
    """One limit of one clause.

    ``value_si`` is metres or a ratio; ``value`` and ``unit`` are the document's own (for ``run_law`` and
    ``door_clearance`` they tell the first row's).  ``operator`` reads 'measured operator limit'.  For
    triggers (``handrail_rise``, ``handrail_slope``, ``handrail_drop``, ``guard_drop``, ``total_rise``,
    ``steps_rise``) it reads 'nothing more is needed while measured operator limit'.
    ``when``: facts of the job that must all hold for the limit to bind.
    """

    id: str
    clause: str
    quantity: Quantity
    operator: Operator
    value: float
    unit: str
    value_si: float
    source: str
    how_known: HowKnown
    note: str
    place: Place = "any"
    when: tuple[Condition, ...] = ()
    law: RunLaw | None = None
    door: DoorClearance | None = None


@dataclass(frozen=True, slots=True)
class Tolerance:
    """What a published text allows for building.  It widens no limit; it stands beside it.

    ``text`` says it in words, ``quantity`` is the one it speaks of.
    """

    quantity: Quantity
    text: str
    source: str
    how_known: HowKnown


@dataclass(frozen=True, slots=True)
class RuleSet:
    """A document with an edition, or the user's own limits."""

    id: str
    title: str
    edition: str
    limits: tuple[Limit, ...]
    not_checked: tuple[str, ...]
    statement: str
    tolerances: tuple[Tolerance, ...] = ()

    def limits_on(self, quantity: Quantity, place: Place = "any") -> tuple[Limit, ...]:
        """The limits on this quantity that hold at ``place`` (``any``: those that hold everywhere)."""
        return tuple(
            limit for limit in self.limits if limit.quantity == quantity and limit.place in ("any", place)
        )

    def limit(self, quantity: Quantity) -> Limit | None:
        """The first limit on this quantity that holds everywhere, or ``None`` when there is none."""
        for limit in self.limits_on(quantity):
            return limit
        return None
