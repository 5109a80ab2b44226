"""The scales a drawing may have, and the sheets it may be drawn on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from optimizer.units import LengthSystem

_MM_PER_M: Final = 1000.0
PaperKind = Literal["iso", "us"]


@dataclass(frozen=True, slots=True)
class Scale:
    """``ratio`` metres of the yard are one metre on paper; ``words`` as it is printed."""

    ratio: float
    words: str

    def to_paper_mm(self, length_m: float) -> float:
        """Millimetres on paper of a length."""
        return length_m * _MM_PER_M / self.ratio

    def to_metres(self, paper_mm: float) -> float:
        """The length that so many millimetres of paper stand for."""
        return paper_mm * self.ratio / _MM_PER_M


@dataclass(frozen=True, slots=True)
class Paper:
    """A sheet lying on its long side, and the upright one of its family that tables are set on; mm."""

    name: str
    width_mm: float
    height_mm: float
    table_paper: Literal["a4", "us-letter"]


METRIC: Final = tuple(Scale(float(one), f"1:{one}") for one in (5, 10, 20, 25, 50, 100, 200, 500))
#: Architect's scales: so much of an inch on paper is a foot of the yard.
IMPERIAL: Final = (
    Scale(4.0, '3" = 1\'-0"'),
    Scale(8.0, '1 1/2" = 1\'-0"'),
    Scale(12.0, '1" = 1\'-0"'),
    Scale(16.0, '3/4" = 1\'-0"'),
    Scale(24.0, '1/2" = 1\'-0"'),
    Scale(32.0, '3/8" = 1\'-0"'),
    Scale(48.0, '1/4" = 1\'-0"'),
    Scale(64.0, '3/16" = 1\'-0"'),
    Scale(96.0, '1/8" = 1\'-0"'),
    Scale(192.0, '1/16" = 1\'-0"'),
    Scale(384.0, '1/32" = 1\'-0"'),
)
#: ISO 216 trimmed sizes (A3 to A0), and US sizes of ANSI/ASME Y14.1 (B to E); both from memory.
ISO_PAPERS: Final = (
    Paper("A3", 420.0, 297.0, "a4"),
    Paper("A2", 594.0, 420.0, "a4"),
    Paper("A1", 841.0, 594.0, "a4"),
    Paper("A0", 1189.0, 841.0, "a4"),
)
US_PAPERS: Final = (
    Paper("11 x 17 in", 431.8, 279.4, "us-letter"),
    Paper("17 x 22 in", 558.8, 431.8, "us-letter"),
    Paper("22 x 34 in", 863.6, 558.8, "us-letter"),
    Paper("34 x 44 in", 1117.6, 863.6, "us-letter"),
)


def list_scales(system: LengthSystem) -> tuple[Scale, ...]:
    """Those a reader of such units has on a ruler, the largest drawing first."""
    return IMPERIAL if system in ("ft-in", "in") else METRIC


def list_papers(kind: PaperKind) -> tuple[Paper, ...]:
    """The smallest first."""
    return US_PAPERS if kind == "us" else ISO_PAPERS


def choose_kind(system: LengthSystem) -> PaperKind:
    """The papers that a reader of such units prints on."""
    return "us" if system in ("ft-in", "in") else "iso"
