"""Which limits of a rule set bind this job: conditions looked up in what was answered."""

from __future__ import annotations

from dataclasses import replace
from typing import Final, Literal

from optimizer.rulebook.facts import Condition, FactName, JobFacts
from optimizer.rulebook.rules import Limit, RuleSet

#: Known only from the layout: the checker looks at this condition, layout by layout.
_FROM_LAYOUT: Final[FactName] = "runs"


def resolve_rules(rules: RuleSet, facts: JobFacts, door_swing: Literal["in", "out"]) -> RuleSet:
    """The same rule set with only those limits whose conditions hold.

    A condition on ``runs`` holds here: how many there are is the layout's, so the checker asks.
    Where a fact was never answered the stricter reading stands: the limit is kept, unless it widens
    what the others allow.  The readers of a site refuse such a job (``list_open_questions``).
    """
    return replace(rules, limits=tuple(limit for limit in rules.limits if _binds(limit, facts, door_swing)))


def list_open_questions(rules: RuleSet, facts: JobFacts) -> tuple[FactName, ...]:
    """The facts that decide whether some limit binds and that nobody answered, each once, in file order.

    A limit that another answer has already put aside asks nothing more.
    """
    names: list[FactName] = []
    for limit in rules.limits:
        if not _is_put_aside(limit, facts):
            names += [one.fact for one in limit.when if _answer(one.fact, facts) is None]
    asked = dict.fromkeys(names)
    return tuple(name for name in asked if name not in ("door_swing", _FROM_LAYOUT))


def _is_put_aside(limit: Limit, facts: JobFacts) -> bool:
    answers = [(_answer(condition.fact, facts), condition.values) for condition in limit.when]
    return any(answer is not None and answer not in values for answer, values in answers)


def _binds(limit: Limit, facts: JobFacts, door_swing: str) -> bool:
    return all(_holds(condition, limit, facts, door_swing) for condition in limit.when)


def _holds(condition: Condition, limit: Limit, facts: JobFacts, door_swing: str) -> bool:
    if condition.fact == _FROM_LAYOUT:
        return True
    answer = door_swing if condition.fact == "door_swing" else _answer(condition.fact, facts)
    if answer is None:
        return limit.law is None or not limit.law.widens
    return answer in condition.values


def _answer(fact: FactName, facts: JobFacts) -> str | None:
    match fact:
        case "egress_door":
            return facts.egress_door
        case "works":
            return facts.works
        case "space_limited":
            return facts.space_limited
        case "building":
            return facts.building
        case "dwelling_category":
            return facts.dwelling_category
        case "occupants":
            return facts.occupants
        case "door_swing" | "runs":
            return None
