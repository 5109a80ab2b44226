"""Every limit on rails, guards, edges, doors, headroom and soffit, looked at on what it speaks of."""

from __future__ import annotations

from collections.abc import Iterator
from typing import assert_never

from optimizer.plan import Finding
from optimizer.rulebook.rules import Limit, RuleSet
from optimizer.standards import (
    door_clauses,
    edge_clauses,
    extension_clauses,
    guard_clauses,
    overhead_clauses,
    rail_clauses,
    swing_clauses,
)
from optimizer.standards.measured import Measured
from optimizer.standards.quantity_groups import RailQuantity, RoomQuantity


def check_rail_limit(
    quantity: RailQuantity, limit: Limit, rules: RuleSet, measured: Measured
) -> Iterator[Finding]:
    """The findings of one limit on rails, guards and edges (site frame, metres).

    ``rules``: the limit's own set with only the limits that bind, since triggers are looked up in it.
    """
    match quantity:
        case "handrail_rise":
            return rail_clauses.check_handrail_rise(limit, rules, measured)
        case "handrail_slope":
            return rail_clauses.check_handrail_slope(limit, rules, measured)
        case "handrail_drop":
            return rail_clauses.check_handrail_drop(limit, rules, measured)
        case "handrail_sides":
            return rail_clauses.check_handrail_sides(limit, rules, measured)
        case "handrail_height_min" | "handrail_height_max":
            return rail_clauses.check_handrail_height(limit, rules, measured)
        case "handrail_grip_min" | "handrail_grip_max":
            return rail_clauses.check_handrail_grip(limit, rules, measured)
        case "handrail_extension":
            return extension_clauses.check_handrail_extension(limit, rules, measured)
        case "edge_protection_height":
            return edge_clauses.check_edge_protection(limit, rules, measured)
        case "guard_drop":
            return guard_clauses.check_guard_drop(limit, rules, measured)
        case "guard_height":
            return guard_clauses.check_guard_height(limit, rules, measured)
        case "guard_opening":
            return guard_clauses.check_guard_opening(limit, rules, measured)
    assert_never(quantity)


def check_room_limit(
    quantity: RoomQuantity, limit: Limit, rules: RuleSet, measured: Measured
) -> Iterator[Finding]:
    """The findings of one limit on what is over and under the way and on the room in front of the door.

    ``rules`` as above: the rows of a door's table that are alternatives are looked up in it.
    """
    match quantity:
        case "headroom":
            return overhead_clauses.check_headroom(limit, rules, measured)
        case "soffit":
            return overhead_clauses.check_soffit(limit, rules, measured)
        case "door_clearance":
            return door_clauses.check_door_clearance(limit, rules, measured, measured.case.rulings.facts)
        case "door_swing_takes":
            return swing_clauses.check_door_swing_takes(limit, rules, measured)
        case "door_swing_leaves":
            return swing_clauses.check_door_swing_leaves(limit, rules, measured)
        case "swing_clear_length":
            return swing_clauses.check_swing_clear_length(limit, rules, measured)
    assert_never(quantity)
