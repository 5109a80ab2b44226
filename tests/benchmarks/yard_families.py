"""The families of generated yards: how large, how high, how bumpy, how many of each.

Source: invented.  Sizes are of the yard in front of the house wall: ``wide`` along it, ``deep`` out.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

Span = tuple[float, float]
Form = Literal["open", "side yard"]
DEMO_CATALOGUES: Final = ("demo-inch", "demo-millimetre", "demo-gap")
INCH_M: Final = 0.0254
#: No whole ramp of the suite descends more than this: 72 in.
GREATEST_RISE_M: Final = 72 * INCH_M


@dataclass(frozen=True, slots=True)
class Family:
    """One family.  Spans are (least, greatest) in metres; ``fall`` is positive away from the door.

    ``rise`` is the threshold above the ground at the door.  ``most_runs``: ``None`` leaves the
    number to the rise; a pair is drawn from.
    """

    name: str
    count: int
    form: Form
    wide: Span
    deep: Span
    rise: Span
    fall: Span
    bump: Span
    most_runs: tuple[int, int] | None
    obstacles: tuple[int, int]
    wall_share: float
    catalogues: tuple[str, ...]


FAMILIES: Final[tuple[Family, ...]] = (
    Family(
        "tiny", 14, "open", (6.5, 8.0), (7.0, 7.5), (0.20, 0.34), (-0.012, 0.01), (0.01, 0.03), (2, 2),
        (0, 2), 0.1, DEMO_CATALOGUES,
    ),
    Family(
        "small", 12, "open", (8.0, 10.0), (10.0, 12.0), (0.30, 0.65), (-0.02, 0.03), (0.02, 0.06), (3, 3),
        (0, 3), 0.2, DEMO_CATALOGUES,
    ),
    Family(
        "medium", 12, "open", (14.0, 20.0), (14.0, 18.0), (0.40, 1.00), (-0.02, 0.03), (0.03, 0.10), (4, 4),
        (0, 6), 0.3, DEMO_CATALOGUES,
    ),
    Family(
        "large", 6, "open", (30.0, 40.0), (25.0, 30.0), (0.70, 1.50), (-0.01, 0.03), (0.05, 0.15), None,
        (2, 8), 0.3, DEMO_CATALOGUES,
    ),
    Family(
        "rises_away", 6, "open", (12.0, 16.0), (12.0, 16.0), (0.60, 1.00), (-0.04, -0.015), (0.02, 0.06),
        (4, 4), (0, 4), 0.0, DEMO_CATALOGUES,
    ),
    Family(
        "leg_gap", 6, "open", (12.0, 16.0), (12.0, 16.0), (0.68, 0.98), (-0.02, 0.03), (0.02, 0.06), (4, 4),
        (0, 4), 0.2, ("demo-gap",),
    ),
    Family(
        "narrow", 8, "side yard", (8.5, 12.0), (4.5, 5.4), (0.55, 0.95), (-0.005, 0.01), (0.01, 0.02),
        (4, 5), (0, 1), 0.0, DEMO_CATALOGUES,
    ),
    Family(
        "narrow_infeasible", 10, "side yard", (5.0, 7.0), (4.5, 5.4), (1.20, 1.50), (-0.004, 0.004),
        (0.004, 0.01), (5, 5), (0, 0), 0.0, DEMO_CATALOGUES,
    ),
)  # fmt: skip


def family_named(name: str) -> Family:
    """The family of this name; ``KeyError`` when there is none."""
    for family in FAMILIES:
        if family.name == name:
            return family
    raise KeyError(name)
