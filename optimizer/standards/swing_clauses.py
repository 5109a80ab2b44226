"""Clauses about a door that swings out over the landing: what its leaf takes, leaves and sweeps.

The leaf is taken as wide as the door's clear opening and opened square to the wall.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from optimizer.plan import Finding
from optimizer.rulebook.rules import Limit, RuleSet
from optimizer.standards.chain import measure_clear_width
from optimizer.standards.clause_facts import judge_clause
from optimizer.standards.door_clauses import DOOR, find_door_room
from optimizer.standards.findings import (
    convert_to_document,
    is_within,
    judge_length,
    locate,
    tell_inapplicable,
    tell_unmeasured,
)
from optimizer.standards.measure_door import DoorRoom
from optimizer.standards.measured import Measured
from optimizer.units import is_at_least

#: How thick a leaf is (1 3/4 in): common practice, no source.
LEAF_THICKNESS_M: Final = 0.04445


def check_door_swing_takes(limit: Limit, rules: RuleSet, measured: Measured) -> Iterator[Finding]:
    """How much of the width that the set asks of the landing the leaf takes.

    Left by the front, the leaf stands along the way and takes its thickness.  Left by a side, it stands
    across: what it takes of the asked width is what the depth beyond it lacks, unless it opens farther.
    """
    room, settled = _find_room(limit, rules, measured)
    if room is None:
        yield settled
        return
    where = locate(measured.chain.walked()[0].start_m)
    clear = _clear_across(room)
    asked = min(clear, _find_asked_width(rules, measured, clear))
    if room.approach == "front":
        takes = max(0.0, asked - (clear - LEAF_THICKNESS_M))
        what = "the leaf opened square to the wall takes of the landing's asked width"
        yield judge_length(limit, rules.id, DOOR, what, takes, where)
        return
    takes = max(0.0, asked - (room.far_m - room.leaf_m))
    what = "the leaf opened square to the wall takes of the landing's asked width"
    if is_within(limit, takes):
        yield judge_length(limit, rules.id, DOOR, what, takes, where)
        return
    shown = f"{convert_to_document(limit, takes):.6g} {limit.unit}"
    says = f"{what} {shown}; how far it opens was not told, and against the wall it would take less"
    yield judge_clause(limit, rules.id, DOOR, "cannot tell", says, where, takes)


def check_door_swing_leaves(limit: Limit, rules: RuleSet, measured: Measured) -> Iterator[Finding]:
    """Clear width of the way beside the leaf, wherever it stands.

    Left by the front: the wider of the parts on its two sides.  By a side: the depth beyond it.
    """
    room, settled = _find_room(limit, rules, measured)
    if room is None:
        yield settled
        return
    at_leaf = -room.half_m if room.hinge == "left" else room.half_m
    left = room.far_m - room.leaf_m
    if room.approach == "front":
        left = max(at_leaf - room.left_m, room.right_m - at_leaf)
    where = locate(measured.chain.walked()[0].start_m)
    yield judge_length(limit, rules.id, DOOR, "clear width beside the open leaf", max(0.0, left), where)


def check_swing_clear_length(limit: Limit, rules: RuleSet, measured: Measured) -> Iterator[Finding]:
    """Clear length of the landing along the way that no part of the leaf's swing touches.

    Left by a side it is what lies between doorway and exit, or the whole clear width where beyond the
    swing there is room for a way as wide as the run.
    """
    room, settled = _find_room(limit, rules, measured)
    if room is None:
        yield settled
        return
    free = room.far_m - room.leaf_m
    if room.approach != "front":
        beside = room.right_m - room.half_m if room.exit == "right" else -room.half_m - room.left_m
        free = room.right_m - room.left_m if is_at_least(free, room.way_m) else beside
    where = locate(measured.chain.walked()[0].start_m)
    what = "clear length outside the swing of the door"
    yield judge_length(limit, rules.id, DOOR, what, max(0.0, free), where)


def _clear_across(room: DoorRoom) -> float:
    """Clear size of the landing across the way out."""
    return room.right_m - room.left_m if room.approach == "front" else room.far_m


def _find_asked_width(rules: RuleSet, measured: Measured, clear_m: float) -> float:
    """The landing width the set asks at the door (0: as wide as the run); all there is where it asks none."""
    asked = [limit.value_si for limit in rules.limits_on("landing_width", "top")]
    widest = measure_clear_width(measured.chain.runs[0])
    return max((width if width > 0.0 else widest for width in asked), default=clear_m)


def _find_room(limit: Limit, rules: RuleSet, measured: Measured) -> tuple[DoorRoom | None, Finding]:
    """The room of a door that swings out over the landing, or the finding that settles it."""
    start, where = measured.case.start(), locate(measured.chain.walked()[0].start_m)
    if start is not None and start.kind != "edge" and start.swing == "in":
        return None, tell_inapplicable(limit, rules.id, DOOR, "it does not swing over the landing", where)
    why = "the existing landing in front of it was not measured"
    return find_door_room(measured), tell_unmeasured(limit, rules.id, DOOR, why, where)
