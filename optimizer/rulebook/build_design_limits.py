"""The strictest of every binding rule set: the numbers that the search and the layout keep."""

from __future__ import annotations

import math
from typing import Final, Literal

from optimizer.rulebook.bound import Rulings
from optimizer.rulebook.combine_law import combine_laws
from optimizer.rulebook.design_limits import DesignLimits, LandingNeed
from optimizer.rulebook.door_clearance import DoorClearance
from optimizer.rulebook.own_limits import STEEPEST_ALLOWED
from optimizer.rulebook.resolve import resolve_rules
from optimizer.rulebook.rules import Place, Quantity, RuleSet

#: Level space beyond the tip that no set names: common practice, no source (a wheelchair's own length).
DEFAULT_BOTTOM_M: Final = 1.2

#: The places whose limits bind each landing.
_DOOR: Final[tuple[Place, ...]] = ("top",)
_DOOR_TURN: Final[tuple[Place, ...]] = ("top", "turn", "quarter_turn")
_STRAIGHT: Final[tuple[Place, ...]] = ("between", "straight")
_QUARTER: Final[tuple[Place, ...]] = ("between", "turn", "quarter_turn")
_HALF: Final[tuple[Place, ...]] = ("between", "turn", "half_turn")
_BOTTOM: Final[tuple[Place, ...]] = ("bottom",)
#: Every place: for quantities that have one number in the design limits.
_ALL: Final[tuple[Place, ...]] = ("top", "bottom", "between", "straight", "turn", "quarter_turn", "half_turn")


def build_design_limits(
    rulings: Rulings, door_swing: Literal["in", "out"], door_width_m: float
) -> DesignLimits:
    """The strictest of all binding sets for one start, each resolved with the facts answered.

    ``door_width_m``: the leaf, metres; counted where it opens over the landing.  Limits known only from
    memory count too: they can only make the layout stricter.  A landing's ``width_m`` of 0 means as wide
    as the widest run.  A closer or a latch that nobody answered for counts as there: it asks more room.
    """
    sets = tuple(
        resolve_rules(bound.rules, rulings.facts, door_swing)
        for bound in rulings.sets
        if bound.role == "binding"
    )
    leaf_m = door_width_m if door_swing == "out" else 0.0
    laws = tuple(law for rules in sets for law in combine_laws(rules))
    # Rails stand inside the kerbs, so a section as wide between its rails as asked between the kerbs
    # has that surface width as well; one number serves both.
    widths = (*_values(sets, "clear_width", _ALL), *_values(sets, "surface_width", _ALL))
    return DesignLimits(
        steepest=min((law.steepest() for law in laws), default=STEEPEST_ALLOWED),
        laws=laws,
        rise_per_run_m=_least(sets, "rise_per_run"),
        clear_width_m=max(widths, default=0.0),
        headroom_m=_greatest(sets, "headroom", _ALL),
        landing_slope=min(
            _least(sets, "landing_slope"),
            _least(sets, "landing_slope_along"),
            _least(sets, "landing_slope_across"),
        ),
        landing_door=_door_need(sets, leaf_m),
        landing_door_turn=_door_turn_need(sets, leaf_m),
        landing_straight=_straight_need(sets),
        landing_quarter=_quarter_need(sets),
        landing_half=_half_need(sets),
        bottom=_bottom_need(sets),
        doors=tuple(rows for rules in sets if (rows := _door_rows(rules))),
        closer=rulings.facts.closer != "no",
        latch=rulings.facts.latch != "no",
        rails_rise_m=_least(sets, "handrail_rise"),
        rails_slope=_least(sets, "handrail_slope"),
        rails_drop_m=_least(sets, "handrail_drop"),
        rail_extension_m=_greatest(sets, "handrail_extension", _ALL),
        guard_drop_m=_least(sets, "guard_drop"),
    )


def _door_need(sets: tuple[RuleSet, ...], leaf_m: float) -> LandingNeed:
    """The landing at the door, left by its front: its length is its depth from the wall."""
    return LandingNeed(
        length_m=max(
            _greatest(sets, "landing_length", _DOOR),
            _greatest(sets, "swing_clear_length", _DOOR, beyond_m=leaf_m),
        ),
        # Opened square to the wall the leaf stands along the way out and takes its thickness alone; what
        # stays beside it depends on where the landing lies in front of the door, which the checker sees.
        width_m=max(
            _greatest(sets, "landing_width", _DOOR),
            _greatest(sets, "door_swing_leaves", _DOOR) if leaf_m > 0.0 else 0.0,
        ),
    )


def _door_turn_need(sets: tuple[RuleSet, ...], leaf_m: float) -> LandingNeed:
    """The landing at the door, left by a side: the way turns, so length is asked both ways.

    An open leaf stands across the way out, so what must stay free is asked of the depth beyond it.
    """
    front = _door_need(sets, leaf_m)
    both = max(_greatest(sets, "landing_turn", _DOOR_TURN), front.width_m)
    depths = [front.length_m, _greatest(sets, "landing_length", _DOOR_TURN), both]
    if leaf_m > 0.0:
        depths.append(_greatest(sets, "door_swing_leaves", _DOOR, beyond_m=leaf_m))
        if _greatest(sets, "swing_clear_length", _DOOR) > 0.0:
            # What lies beyond the swing must be a way, so it is as wide as one.
            widths = (*_values(sets, "clear_width", _ALL), *_values(sets, "surface_width", _ALL))
            depths.append(leaf_m + max(widths, default=0.0))
        depths += [
            leaf_m + max(_values((rules,), "landing_width", _DOOR), default=0.0) - takes
            for rules in sets
            for takes in _values((rules,), "door_swing_takes", _DOOR)
        ]
    return LandingNeed(
        length_m=max(depths),
        width_m=max(
            both,
            _greatest(sets, "landing_width", _DOOR_TURN),
            _greatest(sets, "landing_length", _DOOR),
            _greatest(sets, "swing_clear_length", _DOOR),
        ),
    )


def _straight_need(sets: tuple[RuleSet, ...]) -> LandingNeed:
    return LandingNeed(
        length_m=_greatest(sets, "landing_length", _STRAIGHT),
        width_m=_greatest(sets, "landing_width", _STRAIGHT),
    )


def _quarter_need(sets: tuple[RuleSet, ...]) -> LandingNeed:
    """A quarter turn: it ends both its runs, so what any landing between runs measures it does both ways.

    A size asked of turns alone is told along the way that arrives and stays there.
    """
    both = max(
        _greatest(sets, "landing_turn", _QUARTER),
        _greatest(sets, "landing_length", ("between",)),
        _greatest(sets, "landing_width", ("between",)),
    )
    return LandingNeed(
        length_m=max(both, _greatest(sets, "landing_length", _QUARTER)),
        width_m=max(both, _greatest(sets, "landing_width", _QUARTER)),
    )


def _half_need(sets: tuple[RuleSet, ...]) -> LandingNeed:
    """A half turn: both runs use its length the same way."""
    both = _greatest(sets, "landing_turn", _HALF)
    return LandingNeed(
        length_m=max(both, _greatest(sets, "landing_length", _HALF)),
        width_m=max(both, _greatest(sets, "landing_width", _HALF)),
    )


def _bottom_need(sets: tuple[RuleSet, ...]) -> LandingNeed:
    """The level space beyond the tip; a way may turn there, so ``landing_turn`` is its width."""
    lengths = _values(sets, "landing_length", _BOTTOM)
    return LandingNeed(
        length_m=max(lengths, default=DEFAULT_BOTTOM_M),
        width_m=max(_greatest(sets, "landing_width", _BOTTOM), _greatest(sets, "landing_turn", _BOTTOM)),
    )


def _door_rows(rules: RuleSet) -> tuple[DoorClearance, ...]:
    rows = rules.limits_on("door_clearance", "top")
    return tuple(limit.door for limit in rows if limit.door is not None)


def _greatest(
    sets: tuple[RuleSet, ...], quantity: Quantity, places: tuple[Place, ...], beyond_m: float = 0.0
) -> float:
    """The greatest of these least sizes, each ``beyond_m`` more; 0 when no set names one."""
    return max((value + beyond_m for value in _values(sets, quantity, places)), default=0.0)


def _least(sets: tuple[RuleSet, ...], quantity: Quantity) -> float:
    """The least of these greatest values at any place; infinity when no set names one."""
    return min(_values(sets, quantity, _ALL), default=math.inf)


def _values(sets: tuple[RuleSet, ...], quantity: Quantity, places: tuple[Place, ...]) -> tuple[float, ...]:
    return tuple(
        limit.value_si
        for rules in sets
        for limit in rules.limits
        if limit.quantity == quantity and limit.place in ("any", *places)
    )
