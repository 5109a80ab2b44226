"""Rule sets and facts of a site as a plan and a report keep them."""

from __future__ import annotations

from optimizer.brief.site import Site
from optimizer.plan import FactsRecord, RuleSetRecord
from optimizer.rulebook.bound import BoundSet
from optimizer.rulebook.deciders import restate
from optimizer.rulebook.facts import JobFacts


def record_rules(sets: tuple[BoundSet, ...]) -> tuple[RuleSetRecord, ...]:
    """Every rule set, in the order of the site file."""
    return tuple(
        RuleSetRecord(
            id=one.rules.id,
            title=one.rules.title,
            edition=one.rules.edition,
            role=one.role,
            decided_by=one.decided_by,
            statement=restate(one.rules.statement, one.rules.id, one.role, one.decided_by),
            not_checked=one.rules.not_checked,
        )
        for one in sets
    )


def record_facts(site: Site) -> tuple[FactsRecord, ...]:
    """The facts of every start, in order."""
    return tuple(
        record_facts_of(start.name, facts)
        for start, facts in zip(site.yard.starts, site.start_facts, strict=True)
    )


def record_facts_of(start: str, facts: JobFacts) -> FactsRecord:
    """The facts of one door, or of the whole job."""
    return FactsRecord(
        start=start,
        egress_door=facts.egress_door,
        works=facts.works,
        space_limited=facts.space_limited,
        space_limited_reason=facts.space_limited_reason,
        building=facts.building,
        dwelling_category=facts.dwelling_category,
        occupants=facts.occupants,
        closer=facts.closer,
        latch=facts.latch,
    )


def describe_rules(rules: tuple[RuleSetRecord, ...]) -> str:
    """``ada-2010, irc-2021 (guide)``: what a plan and its site must have in common."""
    return ", ".join(one.id if one.role == "binding" else f"{one.id} ({one.role})" for one in rules)
