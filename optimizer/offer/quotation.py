"""The quotation: one page that a client signs, in plain words, every figure the plan's."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from optimizer.documents.job import DocumentJob
from optimizer.offer.page import Lines, Page, Rows, Words
from optimizer.plan import SETBACK_RELIEF
from optimizer.sheets.lengths import show_distance, show_height
from optimizer.units import Slope, format_money

#: Hours of one working day, and people of a crew: common practice, no source.
DAY_HOURS: Final = 8.0
CREW: Final = 2
_SHAPES: Final = {"straight": "straight", "L": "with one corner", "switchback": "folded back on itself"}
_EXITS: Final = {
    "front": "straight out",
    "left": "to the left, looking out",
    "right": "to the right, looking out",
}
_EXCLUDED: Final = (
    "Work on the door, the house wall, lighting, drains or cables; moving pipes or meters",
    "Paving, planting or fencing beyond what is listed; clearing of snow and leaves",
    "Fees of authorities, unless listed below; what is found below ground",
)


@dataclass(frozen=True, slots=True)
class OfferTerms:
    """What the person who offers decides: ``dated`` and ``valid_until`` as they are printed."""

    dated: str
    valid_until: str


def build_quotation(job: DocumentJob, terms: OfferTerms, picture: bytes) -> Page:
    """One page; ``picture``: PNG of the ramp, empty for none."""
    candidate, currency = job.candidate, job.plan.currency
    tax_cents = _sum_added(job, "tax")
    delivery_cents = _sum_added(job, "delivery")
    rest_cents = candidate.price_cents - tax_cents - delivery_cents
    rows = [
        ("Ramp as drawn: all parts, built and handed over", format_money(rest_cents, currency)),
        ("Delivery", format_money(delivery_cents, currency)),
        ("Tax", format_money(tax_cents, currency)),
        ("Together", format_money(candidate.price_cents, currency)),
    ]
    return Page(
        title=f"Quotation: {job.plan.site.name}",
        below=f"Dated {terms.dated}, valid until {terms.valid_until}; prices of {job.plan.site.rates_dated}",
        parts=(
            Words("What we build", tuple(_describe(job))),
            Rows("Price", ("", ""), tuple(rows), (5, 2), right=(1,), strong=(3,)),
            Words("Included", tuple(_list_included(job)), "box"),
            Words("Not included", _EXCLUDED),
            Words("While we build", tuple(_describe_days(job))),
            Words("Papers", tuple(_list_papers(job))),
            Lines("", ("Permit, if asked for: applied for by", "takes about"), 2),
            Lines("Accepted", ("Client", "Date", "For the builder", "Date"), 2),
        ),
        foot="A plan and a price, no approval: the authority having jurisdiction decides.",
        paper=job.paper,
        picture=picture,
    )


def count_hours(job: DocumentJob) -> float:
    """Hours of work in all parts of the candidate."""
    parts = [
        job.site.catalogue.part(line.part).labour_min / 60.0 * line.count
        for line in job.candidate.price_lines
        if line.group == "direct" and line.part != SETBACK_RELIEF
    ]
    return float(sum(parts))


def _sum_added(job: DocumentJob, part: str) -> int:
    return sum(line.total_cents for line in job.candidate.price_lines if line.part == part)


def _describe(job: DocumentJob) -> Iterator[str]:
    candidate, lengths = job.candidate, job.lengths
    landings = sum(piece.kind == "landing" for piece in candidate.pieces)
    yield (
        f"A ramp of bolted aluminium sections, {_SHAPES[candidate.shape]}, that leaves the door "
        f"{_EXITS[candidate.exit]}. You walk {show_distance(lengths, candidate.walking_length_m)} and climb "
        f"{show_height(lengths, candidate.rise_m)}, nowhere steeper than "
        f"{str(Slope.from_ratio(candidate.steepest_slope)).split(' ', maxsplit=1)[0]}, with {landings} level "
        f"{'place' if landings == 1 else 'places'} to rest or turn."
    )
    if job.start.kind == "over_steps":
        yield "The steps at the door stay where they are, below the ramp's first landing."
    flights = sum(piece.kind == "steps" for piece in candidate.pieces)
    yield "Steps beside the ramp are part of it." if flights else "No steps beside the ramp."


def _list_included(job: DocumentJob) -> Iterator[str]:
    candidate = job.candidate
    yield "All sections, landings, legs, feet, rails and plates as planned, set level and checked"
    if candidate.toe.pad:
        yield "A level pad where the ramp meets the ground"
    yield "A look together at the end, with a card on how to keep it safe"


def _describe_days(job: DocumentJob) -> Iterator[str]:
    hours = count_hours(job)
    days = hours / CREW / DAY_HOURS
    shown = "half a day" if days <= 0.5 else "about a day" if days <= 1.0 else f"about {days:.1f} days"
    yield (
        f"{shown[:1].upper()}{shown[1:]} for {CREW} people ({hours:.0f} hours of work in all). While the "
        "first landing is set and until the ramp reaches the ground, this door is no way in or out: we agree "
        "the hours with you beforehand, and another way out must be open."
    )


def _list_papers(job: DocumentJob) -> Iterator[str]:
    if any(line.part == SETBACK_RELIEF for line in job.candidate.price_lines):
        yield "Relief from the setback: owner of the lot, before anything is ordered; the authority decides."
    else:
        yield "None that the plan knows of. Ask the local authority whether it wants a permit."
