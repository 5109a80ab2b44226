"""Words on a drawing as boxes on paper, so that they can be kept apart before anything is set."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final, Literal

XY = tuple[float, float]

#: Nothing on the first page is smaller: a page is read in the rain, at arm's length.
TEXT_PT: Final = 11.0
_MM_PER_PT: Final = 25.4 / 72.0
TEXT_MM: Final = TEXT_PT * _MM_PER_PT
#: Height of one line with its air.
LINE_MM: Final = 4.1
#: The number of a step stands in a frame so high, with so much air at its sides.
FRAME_MM: Final = 4.7
_FRAME_AIR_MM: Final = 2.6
#: Advances of DejaVu Sans in ems, from the font's own table; what is not named is taken as wide.
_WIDTHS: Final = {
    **dict.fromkeys("0123456789", 0.636),
    **dict.fromkeys(" \u00a0./,", 0.337),
    **dict.fromkeys("'\"", 0.46),
    "+": 0.838,
    "\u2212": 0.838,
    "L": 0.557,
    "P": 0.603,
    "S": 0.635,
    "T": 0.611,
}
_OTHER: Final = 0.78

LabelKind = Literal["piece", "leg", "drop", "mark"]


@dataclass(frozen=True, slots=True)
class Label:
    """Words with their middle on the drawing, in millimetres from its upper left corner.

    ``lines``: one or two; ``number``: of the step in a frame before them, 0 for none.  ``turned``: read
    from the right-hand side of the page; ``width_mm`` and ``height_mm`` are as they lie on the page.
    """

    kind: LabelKind
    lines: tuple[str, ...]
    number: int
    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float
    turned: bool


def build_label(
    kind: LabelKind, lines: tuple[str, ...], at_mm: XY, direction: XY = (1.0, 0.0), number: int = 0
) -> Label:
    """A label written along ``direction`` (a unit vector along the page's width or height)."""
    width = max(measure_words(line) for line in lines) + 1.1 + measure_frame(number)
    height = max(LINE_MM * len(lines), FRAME_MM if number else 0.0) + (0.4 if kind == "drop" else 0.0)
    turned = abs(direction[1]) > abs(direction[0])
    across, down = (height, width) if turned else (width, height)
    return Label(kind, lines, number, at_mm[0], at_mm[1], across, down, turned)


def measure_frame(number: int) -> float:
    """Width of the frame round a step's number with the air behind it; 0 for no number."""
    return measure_words(str(number)) + _FRAME_AIR_MM if number else 0.0


def measure_words(words: str) -> float:
    """Width in millimetres at ``TEXT_PT``, rather too much than too little."""
    return sum(_WIDTHS.get(c, _OTHER) for c in words) * TEXT_MM


def overlap(one: Label, other: Label) -> bool:
    """Whether two labels share paper."""
    return (
        abs(one.x_mm - other.x_mm) < 0.5 * (one.width_mm + other.width_mm) - 1e-9
        and abs(one.y_mm - other.y_mm) < 0.5 * (one.height_mm + other.height_mm) - 1e-9
    )


def find_overlaps(labels: Iterable[Label]) -> list[tuple[Label, Label]]:
    """Every pair that shares paper."""
    listed = list(labels)
    return [(one, other) for i, one in enumerate(listed) for other in listed[i + 1 :] if overlap(one, other)]


def is_any_overlap(labels: Sequence[Label]) -> bool:
    """Whether some pair shares paper."""
    return any(overlap(one, other) for i, one in enumerate(labels) for other in labels[i + 1 :])


def is_inside(label: Label, width_mm: float, height_mm: float) -> bool:
    """Whether a label lies within a drawing of that size."""
    half_w, half_h = 0.5 * label.width_mm, 0.5 * label.height_mm
    return half_w <= label.x_mm <= width_mm - half_w and half_h <= label.y_mm <= height_mm - half_h
