"""Clauses about the door at the landing: the room in front of it, and what its open leaf takes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product
from typing import Final

from optimizer.plan import Finding, Verdict
from optimizer.rulebook.door_clearance import DoorClearance
from optimizer.rulebook.facts import JobFacts, YesNo
from optimizer.rulebook.rules import Limit, RuleSet
from optimizer.standards.clause_facts import judge_clause
from optimizer.standards.findings import (
    convert_to_document,
    locate,
    tell_inapplicable,
    tell_unmeasured,
)
from optimizer.standards.measure_door import DoorRoom, Room, measure_door_room
from optimizer.standards.measured import Measured
from optimizer.units import is_at_most

DOOR: Final = "door"
_DOUBT: Final[tuple[YesNo, YesNo]] = ("no", "yes")
_ARRIVES: Final = (
    ("front", "from the front"),
    ("hinge", "from the hinge side"),
    ("latch", "from the latch side"),
)


@dataclass(frozen=True, slots=True)
class _Look:
    """One row looked at: the verdict of its numbers and what to say."""

    verdict: Verdict
    says: str


def check_door_clearance(
    limit: Limit, rules: RuleSet, measured: Measured, facts: JobFacts
) -> Iterator[Finding]:
    """The row's room in front of the door against the clear area of the landing.

    Only the landing's own clear area counts, from the wall out: a run is not level; how level the landing
    is, the limits on landings tell.  Rows of the set with the same approach and side are alternatives: the
    first of them that is met, or else the first of all, carries the finding.
    """
    where = locate(measured.chain.walked()[0].start_m)
    row, room = limit.door, find_door_room(measured)
    if row is None:
        yield tell_unmeasured(limit, rules.id, DOOR, "the rule set states no row for it", where)
    elif room is None and limit is not rules.limits_on("door_clearance", "top")[0]:
        yield tell_inapplicable(limit, rules.id, DOOR, "the first row carries the finding", where)
    elif room is None:
        why = "the existing landing in front of it was not measured, so no row of the table could be"
        yield tell_unmeasured(limit, rules.id, DOOR, why, where)
    elif row.side != room.side:
        swing = "out, so it is pulled" if room.side == "pull" else "in, so it is pushed"
        yield tell_inapplicable(limit, rules.id, DOOR, f"it swings {swing} from the landing", where)
    elif row.approach != room.approach:
        why = f"the way arrives {dict(_ARRIVES)[room.approach]}"
        yield tell_inapplicable(limit, rules.id, DOOR, why, where)
    else:
        yield _judge_alternatives(limit, rules, room, facts, measured)


def find_door_room(measured: Measured) -> DoorRoom | None:
    """The room at the door of this candidate; ``None`` where none was measured."""
    start = measured.case.start()
    return None if start is None else measure_door_room(measured.chain, start)


def list_rows(rules: RuleSet, room: DoorRoom) -> tuple[tuple[Limit, DoorClearance], ...]:
    """The set's rows for this door and the way that arrives: alternatives, in the set's order."""
    return tuple(
        (limit, limit.door)
        for limit in rules.limits
        if limit.quantity == "door_clearance"
        and limit.door is not None
        and (limit.door.approach, limit.door.side) == (room.approach, room.side)
    )


def _judge_alternatives(
    limit: Limit, rules: RuleSet, room: DoorRoom, facts: JobFacts, measured: Measured
) -> Finding:
    where = locate(measured.chain.walked()[0].start_m)
    looks = [(other, _look(other, row, room, facts)) for other, row in list_rows(rules, room)]
    ranks: tuple[Verdict, ...] = ("meets", "cannot tell", "fails")
    carrier = min(looks, key=lambda found: ranks.index(_weigh(*found)))[0]
    look = next(found for other, found in looks if other is limit)
    if limit is not carrier:
        says = f"{look.says}; its alternative ({carrier.id}) carries the finding"
        return tell_inapplicable(limit, rules.id, DOOR, says, where)
    if len(looks) > 1 and look.verdict != "meets":
        rest = "; or ".join(found.says for other, found in looks if other is not limit)
        look = _Look(look.verdict, f"{look.says}; or {rest}")
    return judge_clause(limit, rules.id, DOOR, look.verdict, look.says, where, room.far_m)


def _weigh(limit: Limit, look: _Look) -> Verdict:
    """A row known from memory settles nothing."""
    return "cannot tell" if limit.how_known == "memory" else look.verdict


def _look(limit: Limit, row: DoorClearance, room: DoorRoom, facts: JobFacts) -> _Look:
    """The row under every answer that is still open about closer and latch."""
    closers = _DOUBT if facts.closer is None else (facts.closer,)
    latches = _DOUBT if facts.latch is None else (facts.latch,)
    asked = [room.ask(row, closer, latch) for closer, latch in product(closers, latches)]
    fits = [_fits(one, room) for one in asked]
    if all(fits):
        return _Look("meets", _say(limit, row, max(asked, key=_size), room))
    if not any(fits):
        return _Look("fails", _say(limit, row, min(asked, key=_size), room))
    names = [name for name in ("closer", "latch") if _matters(name, row, room, facts)]
    question = " and ".join(f"whether the door has a {name}" for name in names)
    largest = max(asked, key=_size)
    return _Look("cannot tell", f"{_say(limit, row, largest, room)}, if so; not known: {question}")


def _matters(name: str, row: DoorClearance, room: DoorRoom, facts: JobFacts) -> bool:
    """Could an answer about this one alone change whether the row is met."""
    if getattr(facts, name) is not None:
        return False
    others = facts.latch if name == "closer" else facts.closer
    for other in _DOUBT if others is None else (others,):
        pairs = [(one, other) if name == "closer" else (other, one) for one in _DOUBT]
        if len({_fits(room.ask(row, closer, latch), room) for closer, latch in pairs}) > 1:
            return True
    return False


def _fits(asked: Room, room: DoorRoom) -> bool:
    return (
        is_at_most(asked.depth_m, room.far_m)
        and is_at_most(room.left_m, asked.left_m)
        and is_at_most(asked.right_m, room.right_m)
    )


def _size(asked: Room) -> tuple[float, float]:
    return asked.depth_m, asked.right_m - asked.left_m


def _say(limit: Limit, row: DoorClearance, asked: Room, room: DoorRoom) -> str:
    """Asked and found in the document's unit, and what is short."""

    def show(length_m: float) -> str:
        return f"{convert_to_document(limit, length_m):.6g}"

    unit = limit.unit
    arrives = dict(_ARRIVES)[row.approach]
    says = (
        f"{row.side} side, {arrives}: {show(asked.right_m - asked.left_m)} {unit} along the wall by "
        f"{show(asked.depth_m)} {unit} out from it asked; "
        f"{show(room.right_m - room.left_m)} by {show(room.far_m)} {unit} are clear"
    )
    short = [
        f"{show(missing)} {unit} {place}"
        for missing, place in (
            (asked.depth_m - room.far_m, "out from the wall"),
            (room.left_m - asked.left_m, f"on the {_name_side(room, 'left')} side"),
            (asked.right_m - room.right_m, f"on the {_name_side(room, 'right')} side"),
        )
        if not is_at_most(missing, 0.0)
    ]
    return f"{says}, short of it by {' and '.join(short)}" if short else f"{says} and the room fits"


def _name_side(room: DoorRoom, side: str) -> str:
    return "hinge" if side == room.hinge else "latch"
