"""What an audit says: one finding a clause and subject, and the tolerances it judges by."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

AuditVerdict = Literal["agrees", "disagrees", "cannot tell"]

#: A place, level or length as drawn may leave the plan's by this much: what a tape can show.
DRAWN_M: Final = 0.001
#: Coordinates in the file are 32-bit: within 64 m of the origin they are rounded by less than this.
ROUNDING_M: Final = 2e-5

#: Clauses in the order they are told: name and what is compared.
CLAUSES: Final[tuple[tuple[str, str], ...]] = (
    ("rule.steepest", "steepest walking face of sections and transition plate"),
    ("rule.cross_slope", "steepest cross slope of a walking face"),
    ("rule.landing", "smallest side of a landing"),
    ("rule.width", "narrowest section"),
    ("rule.run_rise", "largest rise of a run"),
    ("drawn.place", "corners of a walking face in plan"),
    ("drawn.level", "levels of the corners of a walking face"),
    ("drawn.slope", "slope of a walking face along the way, times its length"),
    ("drawn.cross_slope", "slope of a walking face across the way, times its width"),
    ("drawn.length", "plan length of a walking face"),
    ("drawn.width", "width of a walking face"),
    ("drawn.flat", "points of a walking face off its plane"),
    ("drawn.openings", "widest opening in a walking face"),
    ("drawn.clear_face", "nothing stands above a walking face, curbs at its edges left out"),
    ("drawn.run_rise", "rise of a run between its landings"),
    ("drawn.run_length", "plan length of a run between its landings"),
    ("drawn.run_slope", "slope of a run as a whole, times its length"),
    ("drawn.leg_length", "leg from foot bottom to frame underside"),
    ("drawn.leg_place", "place of a leg and its foot in plan"),
    ("drawn.leg_carries", "top of a leg against the underside of what it carries"),
    ("drawn.frame_level", "level of the top of a leg"),
    ("drawn.foot_on_ground", "foot bottom below the drawn ground: as much as it beds in"),
    ("drawn.clearance", "least gap between an underside and the ground or obstacle below"),
    ("drawn.rail", "height of a rail above its line, and its middle in plan (loops at ends left out)"),
    ("drawn.plate_above_ground", "ground above the transition plate"),
    ("drawn.apart", "a piece runs into another piece"),
    ("drawn.clear_of", "a piece runs into the house or an obstacle"),
    ("drawn.inside_lot", "a piece or a foot reaches over the lot line"),
    ("drawn.lot_line", "the lot line as drawn lies along the lot's outline"),
)


#: What a drawing shows and nobody compares.
NOT_COMPARED: Final = (
    "loops at the ends of handrails; how long a rail is, its bars and its lower rails",
    "the door and the place of the house (the plan does not state them)",
    "zones, and the place and size of obstacles (only that no piece runs into what is drawn)",
    "braces, curbs and what is under a deck, but for the supports",
)


@dataclass(frozen=True, slots=True)
class AuditFinding:
    """One thing measured in the model and compared with the plan.

    ``measured`` and ``stated`` (the plan's) are metres, slopes rise over plan run; ``None`` where
    there is nothing to measure or nothing is stated.  ``difference_m``: how far they are apart as
    a length (of a slope: over the length it is measured on); what the verdict rests on.
    """

    clause: str
    subject: str
    measured: float | None
    stated: float | None
    difference_m: float | None
    verdict: AuditVerdict
    text: str


@dataclass(frozen=True, slots=True)
class AuditReport:
    """All findings of one model against one candidate of a plan."""

    model: str
    site: str
    candidate: str
    findings: tuple[AuditFinding, ...]

    @property
    def agrees(self) -> bool:
        """Whether every single finding agrees."""
        return all(finding.verdict == "agrees" for finding in self.findings)

    def pick(self, verdict: AuditVerdict) -> tuple[AuditFinding, ...]:
        """The findings with this verdict, in order."""
        return tuple(finding for finding in self.findings if finding.verdict == verdict)
