"""The handover and care card: what stands at the door, how to keep it safe, and when to stop using it."""

from __future__ import annotations

from typing import Final

from optimizer.catalogue.parts import Section
from optimizer.documents.job import DocumentJob
from optimizer.offer.page import Lines, Page, Rows, Words
from optimizer.sheets.lengths import show_distance, show_height
from optimizer.units import Slope

#: Common practice, no source.
_BEFORE: Final = (
    "Walked and ridden down and up together with the client, with the client's own chair or walker",
    "Every leg stands on its foot, every pin and screw is locked, nothing moves under load",
    "Rails stand fast on their whole length; ends are closed; no sharp edge within reach",
    "The plate at the foot lies on the ground over its whole width",
    "Who to call is written below, and this card hangs inside the door",
)
_CARE: Final = (
    "After one week, then twice a year: look that every leg stands firm and no bolt is loose. "
    "Have it mended; do not turn screws that carry the ramp yourself.",
    "After frost, flood or digging nearby: look at every foot before anyone rides.",
    "Keep leaves, ice and snow off. Sweep and use sand or grit; salt harms the metal and the ground.",
    "Nothing is stored under or hung on the ramp. No boards, mats or paint on the walking surface.",
    "Wash with water and mild soap; oil and polish make it slippery.",
)
_STOP: Final = (
    "a leg hangs in the air, leans, or has sunk;",
    "anything creaks anew, is bent, cracked or missing;",
    "a rail moves when you lean on it;",
    "the plate at the foot or at the door no longer lies flat.",
)


def build_handover_card(job: DocumentJob) -> Page:
    """One page; every figure is the plan's or the site's."""
    candidate, lengths = job.candidate, job.lengths
    widths = [
        part.clear_width_m
        for part in (job.site.catalogue.part(piece.catalogue_id) for piece in candidate.pieces)
        if isinstance(part, Section)
    ]
    rails = "on both sides where it has them" if candidate.rails else "none: it is low enough without"
    rows = [
        ("walking length", show_distance(lengths, candidate.walking_length_m)),
        ("height from the ground to the door", show_height(lengths, candidate.rise_m)),
        ("steepest slope as planned", str(Slope.from_ratio(candidate.steepest_slope))),
        ("rails", rails),
        ("weight of rider and chair it was planned for", f"{job.site.rider.total_mass_kg:.0f} kg"),
    ]
    if widths:
        rows.insert(3, ("clear width between the rails", show_height(lengths, min(widths))))
    return Page(
        title=f"Your ramp: {job.plan.site.name}",
        below="Handover and care card. Keep it by the door.",
        parts=(
            Rows("What stands at your door", ("", ""), tuple(rows), (5, 4)),
            Words("Before it is used", _BEFORE, "box"),
            Words("Keep it safe", _CARE),
            Words("Do not use it, and call, when", _STOP, "frame"),
            Lines("Who to call", ("Name", "Telephone", "Checked on", "Next check"), 2),
            Lines("Handed over", ("Client", "Installer", "Date"), 3),
        ),
        foot="No approval of any authority; local rules and the maker's instructions go first.",
        paper=job.paper,
    )
