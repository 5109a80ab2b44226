"""The bar that shows a scale: whole metres or feet in black and white."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from optimizer.drawings.scales import Scale
from optimizer.units import LengthSystem

_FOOT_M: Final = 0.3048
_PARTS: Final = 4
#: The whole bar is no longer than this on paper.
_LONGEST_MM: Final = 90.0
_STEPS: Final = (0.05, 0.1, 0.25, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0)


@dataclass(frozen=True, slots=True)
class ScaleBar:
    """``parts`` pieces of ``part_mm`` on paper, a label at each of their ends."""

    parts: int
    part_mm: float
    labels: tuple[str, ...]


def build_scale_bar(scale: Scale, system: LengthSystem) -> ScaleBar:
    """The longest bar of round steps that has its place on the sheet."""
    unit_m, name = (_FOOT_M, "ft") if system in ("ft-in", "in") else (1.0, "m")
    fitting = [one for one in _STEPS if _PARTS * scale.to_paper_mm(one * unit_m) <= _LONGEST_MM]
    step = fitting[-1]
    labels = [f"{number * step:g}" for number in range(_PARTS + 1)]
    labels[-1] += f" {name}"
    return ScaleBar(_PARTS, scale.to_paper_mm(step * unit_m), tuple(labels))
