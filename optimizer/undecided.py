"""What a report leaves to others: who decides what, and which answers want confirming."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from optimizer.brief.ask_facts import list_questions_of
from optimizer.brief.site import Site
from optimizer.plan import Candidate
from optimizer.rulebook.deciders import name_confirmer, name_decider
from optimizer.rulebook.facts import JobFacts
from optimizer.standards.findings import BUILD

_FACT_WORDS: Final = {
    "egress_door": "whether this is the required egress door",
    "works": "whether the work is new",
    "space_limited": "whether lack of space forces a steeper slope",
    "building": "what the ramp serves",
    "dwelling_category": "the dwelling's category",
    "occupants": "how many people the way serves",
    "closer": "whether the door has a closer",
    "latch": "whether the door has a latch",
}


def list_undecided(site: Site, candidate: Candidate) -> tuple[str, ...]:
    """One sentence each: answers that clauses rest on, clauses that are open, who decides."""
    return (*_list_answers(site, candidate.start), *_list_open(site, candidate), *_list_of_zones(candidate))


def _list_answers(site: Site, start_name: str) -> Iterator[str]:
    """Facts as they were answered: a rule set took them as they are."""
    facts = next(
        (site.start_facts[index] for index, start in enumerate(site.yard.starts) if start.name == start_name),
        site.rulings.facts,
    )
    for one in site.rulings.sets:
        told = [
            f'{_FACT_WORDS[fact]} ("{_show_answer(facts, fact)}")'
            for fact in list_questions_of(one.rules.limits)
            if getattr(facts, fact) is not None
        ]
        if told:
            who = name_confirmer(one.decided_by)
            yield f"{one.rules.id}: {who} confirms what was answered: {', '.join(told)}."


def _show_answer(facts: JobFacts, fact: str) -> str:
    answer = str(getattr(facts, fact)).replace("_", " ")
    if fact == "space_limited" and facts.space_limited_reason:
        return f"{answer}: {facts.space_limited_reason}"
    return answer


def _list_open(site: Site, candidate: Candidate) -> Iterator[str]:
    for one in site.rulings.sets:
        open_clauses = dict.fromkeys(
            finding.clause
            for finding in candidate.findings
            if finding.rules == one.rules.id and finding.verdict == "cannot tell"
        )
        if open_clauses:
            who = name_decider(one.rules.id, one.role, one.decided_by)
            yield (
                f"{candidate.name}, {one.rules.id}: {who} decides on what cannot be told: "
                f"{', '.join(open_clauses)}."
            )


def _list_of_zones(candidate: Candidate) -> Iterator[str]:
    """Our own checks that somebody else has to decide (relief, waivers)."""
    for finding in candidate.findings:
        if finding.rules == BUILD and finding.verdict == "cannot tell":
            yield f"{candidate.name}, {finding.text}"
