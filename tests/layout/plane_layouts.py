"""Three layouts of the demo parts in inches on a plane that falls unequally: straight, L, half turn.

Everything is invented.  The yard is the one of ``tests/search/flat_yard.py``: drawn in the door
frame, turned so that nothing is parallel to an axis of the site.
"""

from __future__ import annotations

from dataclasses import replace

from optimizer.brief.site import Site
from optimizer.layout.spec import LayoutSpec, RunSpec, TurnKind, TurnSpec
from tests.search.flat_yard import INCH, falling_ground, flat_site, with_start
from tests.validation.small_yards import demo_catalogue

SLOPE = 1 / 12
FALL_U, FALL_V = 0.012, 0.021
BEDDING_M = 0.012
LANDING_M = 64 * INCH
SECTION_M = 96 * INCH
WIDTH_M = 42 * INCH
PLATE_M = 60 * INCH
#: A run's middle line from the middle of a landing's edge when it lies flush with its left end.
FLUSH_LEFT_M = -(LANDING_M - WIDTH_M) / 2


def plane_site(threshold_m: float, fall_u: float = FALL_U, fall_v: float = FALL_V) -> Site:
    """The flat yard with the whole demo catalogue on a plane; elevation 0 at the door."""
    site = with_start(flat_site(), threshold_m=threshold_m, drop_m=0.0)
    return replace(
        site,
        ground=falling_ground(fall_u, fall_v),
        bedding_m=BEDDING_M,
        catalogue=demo_catalogue("demo-inch"),
    )


def spec_of(
    runs: tuple[int, ...], turn: TurnKind | None, plate: str = "plate-60", slope: float = SLOPE
) -> LayoutSpec:
    """A landing at the door, so many sections of 96 in a run, and one kind of turn between runs."""
    landing = "landing-half-94" if turn in ("half_left", "half_right") else "landing-64"
    turns = () if turn is None else (TurnSpec(turn, landing, FLUSH_LEFT_M, FLUSH_LEFT_M),) * (len(runs) - 1)
    return LayoutSpec(
        start=flat_site().yard.starts[0].name,
        slide_m=0.0,
        door_landing="landing-64",
        exit="front",
        attach_m=0.0,
        runs=tuple(RunSpec(("section-96",) * count, slope) for count in runs),
        turns=turns,
        plate=plate,
        supports=None,
    )


#: Threshold, choices and the legs that stand under them, hinge pair left out.
LAYOUTS: dict[str, tuple[float, LayoutSpec, int]] = {
    "straight": (0.75, spec_of((3,), None), 8),
    "quarter turn left": (1.15, spec_of((2, 3), "left"), 14),
    "quarter turn right": (1.15, spec_of((2, 3), "right"), 14),
    "half turn left": (1.15, spec_of((2, 3), "half_left"), 16),
    "half turn right": (1.15, spec_of((2, 3), "half_right"), 16),
}
