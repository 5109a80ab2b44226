"""Facts that a rule set depends on and nobody has given: asked, not assumed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, Literal

from optimizer.errors import Fault
from optimizer.rulebook.bound import BoundSet
from optimizer.rulebook.door_clearance import DoorClearance
from optimizer.rulebook.facts import Condition, JobFacts
from optimizer.rulebook.rules import Limit
from optimizer.terrain.yard import Start
from optimizer.toml_file import TomlFile

#: What a person can be asked; which way the door swings and how many runs there are is known otherwise.
Asked = Literal[
    "egress_door", "works", "space_limited", "building", "dwelling_category", "occupants", "closer", "latch"
]

#: Fact, question in plain words, what to write.
QUESTIONS: Final[tuple[tuple[Asked, str, str], ...]] = (
    ("egress_door", "Is this door the required egress door (the way out in an emergency)?", '"yes" or "no"'),
    ("works", "Is the ramp new work, or work on an existing site?", '"new" or "existing"'),
    (
        "space_limited",
        "Does lack of space on the existing site force a slope steeper than new work may have?",
        '"no", or "yes" with space_limited_reason',
    ),
    (
        "building",
        "What does the ramp serve: a house, a dwelling unit in a larger building, or something else?",
        '"house", "dwelling_unit" or "other"',
    ),
    ("dwelling_category", "Of which category is the dwelling?", '"1", "2" or "3"'),
    ("occupants", "How many people does the way serve?", '"fewer_than_50" or "50_and_more"'),
    ("closer", "Has the door a closer, which shuts it?", '"yes" or "no"'),
    ("latch", "Has the door a latch?", '"yes" or "no"'),
)
#: Facts that may differ from door to door.
OF_A_DOOR: Final[tuple[Asked, ...]] = ("egress_door", "closer", "latch")


@dataclass(frozen=True, slots=True)
class _Need:
    """A clause that cannot be decided on without a fact; ``start`` is empty where doors do not matter."""

    fact: Asked
    start: str
    rules: str
    clause: str


def list_open_questions(
    sets: tuple[BoundSet, ...], starts: tuple[Start, ...], start_facts: tuple[JobFacts, ...], file: TomlFile
) -> Iterator[Fault]:
    """One fault for each fact that a bound set (of whatever role) depends on and that is not given.

    ``start_facts``: one entry a start.  A fact that can no longer matter is not asked.
    """
    needs = [
        need
        for start, facts in zip(starts, start_facts, strict=True)
        for one in sets
        for limit in one.rules.limits
        for need in _list_needs(limit, one.rules.id, start, facts)
    ]
    for fact, question, answers in QUESTIONS:
        asking = [need for need in needs if need.fact == fact]
        if not asking:
            continue
        what = f"{fact} is not given, and {_say_who_asks(asking)}: {question}"
        where = "under [facts]"
        if fact in OF_A_DOOR and len(starts) > 1:
            doors = list(dict.fromkeys(need.start for need in asking))
            what += f" (start {', '.join(doors)})"
            where += ", or under the [[start]] itself"
        yield file.fault(("facts",), what, f"Write {fact} = {answers} {where}.")


def list_questions_of(limits: tuple[Limit, ...]) -> tuple[Asked, ...]:
    """Every fact that one of these limits may depend on, in the order they are asked."""
    names: set[str] = {condition.fact for limit in limits for condition in limit.when}
    names |= {"closer" for limit in limits if _asks_for_closer(limit)}
    names |= {"latch" for limit in limits if _asks_for_latch(limit)}
    return tuple(fact for fact, _, _ in QUESTIONS if fact in names)


def _say_who_asks(asking: list[_Need]) -> str:
    """``ada-2010 needs it (405.2, 405.6)``."""
    clauses: dict[str, list[str]] = {}
    for need in asking:
        told = clauses.setdefault(need.rules, [])
        if need.clause not in told:
            told.append(need.clause)
    return " and ".join(f"{rules} needs it ({', '.join(told)})" for rules, told in clauses.items())


def _list_needs(limit: Limit, rules: str, start: Start, facts: JobFacts) -> Iterator[_Need]:
    """The first open fact of a limit that may still bind; then what its door table depends on."""
    answers = [_answer(condition, facts) for condition in limit.when]
    if any(answer == "no" for answer in answers):
        return
    for condition, answer in zip(limit.when, answers, strict=True):
        fact = _as_asked(condition)
        if answer == "open" and fact is not None:
            yield _Need(fact, start.name, rules, limit.clause)
            return
    if limit.door is None or not _is_faced(limit.door, start):
        return
    if _asks_for_closer(limit) and facts.closer is None:
        yield _Need("closer", start.name, rules, limit.clause)
    elif _asks_for_latch(limit) and facts.closer == "yes" and facts.latch is None:
        yield _Need("latch", start.name, rules, limit.clause)


def _answer(condition: Condition, facts: JobFacts) -> Literal["yes", "no", "open"]:
    """Whether a condition holds, as far as was answered."""
    fact = _as_asked(condition)
    known = None if fact is None else getattr(facts, fact)
    if known is None:
        return "open"
    return "yes" if known in condition.values else "no"


def _as_asked(condition: Condition) -> Asked | None:
    return next((fact for fact, _, _ in QUESTIONS if fact == condition.fact), None)


def _is_faced(row: DoorClearance, start: Start) -> bool:
    """Whether somebody outside meets the door from the side that the row speaks of."""
    return start.kind != "edge" and row.side == ("push" if start.swing == "in" else "pull")


def _asks_for_closer(limit: Limit) -> bool:
    return limit.door is not None and (limit.door.closer_depth_m > 0.0 or _asks_for_latch(limit))


def _asks_for_latch(limit: Limit) -> bool:
    row = limit.door
    return row is not None and (row.closer_latch_depth_m > 0.0 or row.closer_latch_beyond_m > 0.0)
