"""Which quantities of the rule sets the search keeps; the checker looks at every one.

What a document asks beyond these quantities stands in its own list of what is not checked.
"""

from __future__ import annotations

from typing import Final, get_args

from optimizer.rulebook.design_limits import DesignLimits
from optimizer.rulebook.rules import Quantity

#: Field of ``DesignLimits``: the quantities whose limits are kept in it.
ENFORCED_BY: Final[dict[str, tuple[Quantity, ...]]] = {
    "steepest": ("running_slope", "run_law"),
    "laws": ("running_slope", "run_law", "rise_per_run", "length_per_run"),
    "rise_per_run_m": ("rise_per_run",),
    "clear_width_m": ("clear_width", "surface_width"),
    "headroom_m": ("headroom",),
    "landing_slope": ("landing_slope", "landing_slope_along", "landing_slope_across"),
    "landing_door": ("landing_length", "landing_width", "door_swing_leaves", "swing_clear_length"),
    "landing_door_turn": (
        "landing_length",
        "landing_width",
        "landing_turn",
        "door_swing_takes",
        "door_swing_leaves",
        "swing_clear_length",
    ),
    "landing_straight": ("landing_length", "landing_width"),
    "landing_quarter": ("landing_length", "landing_width", "landing_turn"),
    "landing_half": ("landing_length", "landing_width", "landing_turn"),
    "bottom": ("landing_length", "landing_width", "landing_turn"),
    "doors": ("door_clearance",),
    # A closer and a latch enlarge the room in front of the door.
    "closer": (),
    "latch": (),
    "rails_rise_m": ("handrail_rise",),
    "rails_slope": ("handrail_slope",),
    "rails_drop_m": ("handrail_drop",),
    "rail_extension_m": ("handrail_extension",),
    "guard_drop_m": ("guard_drop",),
}


def list_quantities() -> tuple[Quantity, ...]:
    """Every quantity a limit may speak of, in the order of their declaration."""
    return get_args(Quantity)


def list_enforced() -> tuple[Quantity, ...]:
    """Quantities that the search keeps."""
    kept = {quantity for quantities in ENFORCED_BY.values() for quantity in quantities}
    return tuple(one for one in list_quantities() if one in kept)


def list_fields() -> tuple[str, ...]:
    """Fields of ``DesignLimits``, in order."""
    return tuple(DesignLimits.__dataclass_fields__)
