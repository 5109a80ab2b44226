"""What is said about a part when it is picked: short lines in the site's own units."""

from __future__ import annotations

from dataclasses import dataclass

from optimizer.brief.site import Site
from optimizer.catalogue.parts import StepFlight
from optimizer.errors import DrawingError
from optimizer.fit_words import show_chance, show_leg_height
from optimizer.plan import Candidate, Piece, Rail, SupportLeg
from optimizer.terrain.yard import Start
from optimizer.units import Slope, format_length

Facts = tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Words:
    """Prints lengths and heights of one site."""

    site: Site
    zero_m: float

    def length(self, length_m: float) -> str:
        """A length in display units."""
        return format_length(length_m, self.site.display.system, self.site.display.step_m)

    def level(self, elevation_m: float) -> str:
        """An elevation as a height below (or above) the start that the ramp leaves from."""
        below_m = self.zero_m - elevation_m
        word = "below" if below_m >= 0.0 else "above"
        return f"{self.length(abs(below_m))} {word} the sill"


def build_words(site: Site, candidate: Candidate) -> Words:
    """Heights are told from the threshold of the candidate's start."""
    return Words(site, find_start(site, candidate).threshold_m)


def find_start(site: Site, candidate: Candidate) -> Start:
    """The start the candidate's ramp leaves from; raises DrawingError when the site has none of that name."""
    for start in site.yard.starts:
        if start.name == candidate.start:
            return start
    raise DrawingError(
        f"The plan starts at {candidate.start!r}, which this site does not have. "
        "Name the site that the plan was made from."
    )


def describe_shape(candidate: Candidate) -> str:
    """``L-shaped, out to the left``."""
    shapes = {"straight": "straight", "L": "L-shaped", "switchback": "switchback"}
    exits = {"front": "out to the front", "left": "out to the left", "right": "out to the right"}
    return f"{shapes[candidate.shape]}, {exits[candidate.exit]}"


def list_piece_facts(words: Words, piece: Piece) -> Facts:
    """Part, size, slope and levels of one piece."""
    part = words.site.catalogue.part(piece.catalogue_id)
    upper, lower = piece.corners_m[0], piece.corners_m[3]
    run_m = ((upper[0] - lower[0]) ** 2 + (upper[1] - lower[1]) ** 2) ** 0.5
    surface_m = (run_m**2 + (upper[2] - lower[2]) ** 2) ** 0.5
    side = piece.corners_m[1]
    width_m = ((upper[0] - side[0]) ** 2 + (upper[1] - side[1]) ** 2) ** 0.5
    facts = [("part", part.name), ("size", f"{words.length(surface_m)} x {words.length(width_m)}")]
    if isinstance(part, StepFlight):
        riser_m = (upper[2] - lower[2]) / (part.risers - 1)
        facts.append(("risers", f"{part.risers} of {words.length(riser_m)}"))
        facts.append(("treads", f"{part.risers - 1} of {words.length(part.going_m)}"))
    if piece.kind in ("section", "transition_plate"):
        facts.append(("slope", str(Slope.from_ratio(piece.slope))))
        facts.append(("upper edge", words.level(upper[2])))
        facts.append(("lower edge", words.level(lower[2])))
    else:
        facts.append(("level", words.level(upper[2])))
    facts.append(("weight", f"{part.weight_kg:.1f} kg"))
    return tuple(facts)


def list_leg_facts(words: Words, leg: SupportLeg) -> Facts:
    """Part, height, range, setting and levels of one leg or low support."""
    part = words.site.catalogue.part(leg.leg_type)
    facts = [
        ("part", part.name),
        ("under", f"{leg.piece}, {leg.station}"),
        ("height", show_leg_height(words.site, leg)),
        ("range", f"{words.length(leg.range_m[0])} to {words.length(leg.range_m[1])}"),
        ("setting", leg.setting),
        ("stands on", words.level(leg.ground_elevation_m)),
        ("carries at", words.level(leg.frame_elevation_m)),
    ]
    if leg.brace is not None:
        facts.append(("brace", words.site.catalogue.part(leg.brace).name))
    if leg.fit_chance is not None:
        facts.append(("chance that it fits", f"{show_chance(leg.fit_chance)} %"))
    if leg.is_near_end:
        facts.append(("shoot again", "within two standard errors of an end of its range"))
    return tuple(fact for fact in facts if fact[1])


def list_rail_facts(words: Words, rail: Rail) -> Facts:
    """Part, place and height of one rail part."""
    part = words.site.catalogue.part(rail.catalogue_id)
    return (
        ("part", part.name),
        ("on", f"{rail.piece}, {rail.edge} edge"),
        ("height", words.length(rail.height_m)),
    )
