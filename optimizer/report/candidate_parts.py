"""What was found: the candidates side by side, what is proven, what a change would give."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from optimizer.documents.job import DocumentJob
from optimizer.fit_words import list_fit_lines, show_chance, show_fit, show_rise
from optimizer.plan import Candidate
from optimizer.plan_table import (
    STATUS_WORDS,
    count_supports,
    count_verdicts,
    describe_gain,
    describe_order,
    describe_saving,
    show_tallest,
)
from optimizer.report.parts import Chapter, Part, Rows, Words
from optimizer.schedule_tables import show_cents, show_length
from optimizer.shape_words import EXIT_WORDS, describe_shape
from optimizer.units import Slope, format_money

#: So many candidates stand side by side; more follow in another table.
_ABREAST: Final = 4
_HOLDS: Final = {"plate": "plate holds", "clearance": "clearance holds", "bottom": "bottom holds"}


def list_candidate_parts(job: DocumentJob) -> Iterator[Part]:
    """Every candidate of the plan, how they are ordered and what the search proves."""
    plan = job.plan
    yield Chapter("Candidates")
    ordered = f"{STATUS_WORDS[plan.status]}; {describe_order(plan)}".capitalize()
    yield Words("", (f"{ordered}. This report is about {job.candidate.name}.", plan.search.statement))
    for first in range(0, len(plan.candidates), _ABREAST):
        yield _compare(job, plan.candidates[first : first + _ABREAST])
    yield Words("", tuple(list_fit_lines(plan)), "dash")
    if plan.search.not_settled:
        told = "Shapes neither found nor ruled out"
        yield Words(f"{told}: {len(plan.search.not_settled)}", ("; ".join(plan.search.not_settled),))
    yield from _list_change_parts(job)


def _compare(job: DocumentJob, candidates: tuple[Candidate, ...]) -> Rows:
    columns = [tuple(_describe(job, one)) for one in candidates]
    names = tuple(name for name, _ in columns[0])
    rows = tuple((name, *(column[row][1] for column in columns)) for row, name in enumerate(names))
    return Rows("", ("", *(one.name for one in candidates)), rows, (4, *(3 for _ in candidates)))


def _describe(job: DocumentJob, candidate: Candidate) -> Iterator[tuple[str, str]]:
    """Name and value of every row, the same names for every candidate of a plan."""
    plan, site = job.plan, job.site
    yield "shape", describe_shape(candidate)
    yield "leaves the door", f"{candidate.start}, {EXIT_WORDS[candidate.exit]}"
    yield f"price, {plan.currency}", show_cents(candidate.price_cents)
    yield f"direct cost, {plan.currency}", show_cents(candidate.direct_cost_cents)
    yield "none cheaper than", show_cents(candidate.bound_cents)
    yield "proof", candidate.proof
    yield "walking length", show_length(site, candidate.walking_length_m)
    yield "rise at the tip", show_rise(plan, site, candidate)
    yield "steepest slope", str(Slope.from_ratio(candidate.steepest_slope))
    yield "slopes", candidate.closing
    yield "area", f"{candidate.footprint_m2:.1f} m²"
    yield "weight", f"{candidate.weight_kg:.0f} kg"
    yield "pieces", str(len(candidate.pieces))
    yield "supports", count_supports(candidate)
    yield "tallest leg", show_tallest(site, candidate).replace("\n", " ")
    if plan.fit is not None:
        yield "all legs fit, %", show_fit(candidate)
        for one in candidate.hold_chances:
            yield f"{_HOLDS[one.kind]}, %", show_chance(one.chance)
        yield "all holds, %", show_chance(candidate.holds_chance)
    open_ones = count_verdicts(candidate, "cannot tell")
    yield "findings", f"{count_verdicts(candidate, 'fails')} fail, {open_ones} cannot be told"


def _list_change_parts(job: DocumentJob) -> Iterator[Part]:
    """What was solved again with a change, where the plan has it."""
    plan = job.plan
    if plan.to_buy is not None:
        rows = tuple(
            (one.part, one.name, str(one.in_stock), str(one.count), show_cents(one.unit_cents))
            for one in plan.to_buy.parts
        )
        yield Words("What to buy beyond the stock", (describe_gain(plan, plan.to_buy),))
        yield Rows("", ("part", "name", "in stock", "buy", "each"), rows, (4, 6, 2, 2, 3), right=(2, 3, 4))
    if plan.constraint_prices:
        rows = tuple(
            (
                one.subject,
                one.change,
                describe_saving(one),
                "" if one.cost_cents is None else format_money(one.cost_cents, plan.currency),
                one.granted_by,
            )
            for one in plan.constraint_prices
        )
        head = ("constraint", "change", "saves", "direct then", "granted by")
        yield Rows("What each constraint costs", head, rows, (5, 5, 3, 4, 4), right=(3,))
    if plan.trials:
        yield Words("Tried as well", plan.trials, "dash")
