"""Demo catalogues cut down at random, so that every layout of a small yard can be tried.

Validates nothing by itself.  Source: the three demo catalogues, invented.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from random import Random

from optimizer.catalogue.demo_files import demo_catalogue_path
from optimizer.catalogue.parts import Catalogue, Landing
from optimizer.catalogue.read_catalogue import read_catalogue

#: Inches; awkward millimetres; a gap between the legs.
DEMO_CATALOGUES = ("demo-inch", "demo-millimetre", "demo-gap")


@cache
def demo_catalogue(demo_id: str) -> Catalogue:
    """A demo catalogue, read once."""
    return read_catalogue(demo_catalogue_path(demo_id))


def build_catalogue(random: Random, demo_id: str) -> Catalogue:
    """A demo catalogue with two or three section lengths, one or two landings per use and two plates."""
    whole = demo_catalogue(demo_id)
    sections = tuple(random.sample(whole.sections[:3], random.choice((2, 2, 3))))
    if random.random() < 0.25:
        middle = replace(sections[0], mid_supports_m=(sections[0].pitch_m * random.uniform(0.4, 0.6),))
        sections = (middle, *sections[1:])
    if random.random() < 0.1:
        wider = replace(sections[1], overall_width_m=sections[1].overall_width_m + 0.05)
        sections = (sections[0], wider, *sections[2:])
    legs, low_supports, plates = (
        whole.legs,
        whole.low_supports,
        tuple(random.sample(whole.transition_plates, 2)),
    )
    weak = random.choice(("leg", "low support", "plate", "section", *["nothing"] * 40))
    if weak == "leg":
        legs = (replace(legs[0], rated_load_kg=95.0), *legs[1:])
    elif weak == "low support":
        low_supports = (replace(low_supports[0], rated_load_kg=95.0), *low_supports[1:])
    elif weak == "plate":
        plates = (replace(plates[0], rated_load_kg=95.0), *plates[1:])
    elif weak == "section":
        sections = (replace(sections[0], rated_load_kg=95.0), *sections[1:])
    if random.random() < 0.3:
        legs = tuple(replace(leg, lateral_offset_m=random.choice((-0.08, 0.12))) for leg in legs)
    landings = tuple(
        landing for landing in whole.landings if landing.uses != {"straight"} or random.random() < 0.7
    )
    door_sizes = [landing for landing in landings if "door" in landing.uses]
    if len(door_sizes) > 1 and random.random() < 0.6:
        landings = tuple(landing for landing in landings if landing is not door_sizes[1])
    if random.random() < 0.5:
        landings = tuple(_shortened(landing, random.uniform(0.1, 0.3)) for landing in landings)
    return replace(
        whole,
        sections=sections,
        legs=legs,
        landings=landings,
        low_supports=low_supports,
        transition_plates=plates,
        clearance_m=random.choice((whole.clearance_m, whole.clearance_m, 0.1)),
        piece_gap_m=random.choice((whole.piece_gap_m, 0.15)),
        bottom_pads=whole.bottom_pads if random.random() < 0.95 else (),
        stock=(),
    )


def _shortened(landing: Landing, by: float) -> Landing:
    return replace(landing, length_m=landing.length_m - by, clear_length_m=landing.clear_length_m - by)
