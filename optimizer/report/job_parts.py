"""The job: whose yard, which door, who rides, which parts and rules, and what was answered."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from optimizer.documents.job import DocumentJob
from optimizer.plan import FactsRecord
from optimizer.report.parts import Chapter, Part, Rows
from optimizer.schedule_tables import show_length

_MOVES: Final = {"alone": "moves alone", "pushed": "is pushed", "powered": "powered"}
_STARTS: Final = {
    "landing": "a landing at the door",
    "over_steps": "a landing over the steps",
    "edge": "from an edge",
}


def list_job_parts(job: DocumentJob) -> Iterator[Part]:
    """What was asked, for whom, and what was answered where clauses asked."""
    yield Chapter("The job")
    yield Rows("", ("", ""), tuple(_list_job_rows(job)), (2, 5))
    facts = tuple(row for one in job.plan.facts for row in _list_fact_rows(one))
    if facts:
        yield Rows("What was answered", ("door", "asked", "answer"), facts, (3, 4, 6))


def _list_job_rows(job: DocumentJob) -> Iterator[tuple[str, str]]:
    site, recorded = job.site, job.plan.site
    yield "site", recorded.name
    yield "site file", f"{recorded.file}, dated {recorded.dated}"
    for start in site.yard.starts:
        level = show_length(site, start.threshold_m + recorded.origin_shift_m[2])
        yield f"door: {start.name}", f"sill at {level} in the survey's levels; {_STARTS[start.kind]}"
    rider = site.rider
    size = f"{show_length(site, rider.device_length_m)} by {show_length(site, rider.device_width_m)}"
    yield "rider", f"{rider.total_mass_kg:.0f} kg in all, device {size}, {_MOVES[rider.propulsion]}"
    yield "parts", recorded.catalogue
    yield "rates", f"{recorded.rates} of {recorded.rates_dated}, in {job.plan.currency}"
    for rules in job.plan.rules:
        yield f"rules: {rules.id}", f"{rules.title}, {rules.edition}; {rules.role}"


def _list_fact_rows(facts: FactsRecord) -> Iterator[tuple[str, str, str]]:
    for name, value in facts:
        if name != "start" and value:
            yield facts.start, name.replace("_", " "), str(value).replace("_", " ")
