"""A ramp as a chain of placed pieces: runs and landings in order down the way."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np
import shapely

from optimizer.catalogue.parts import (
    BottomPad,
    Landing,
    Section,
    StepFlight,
    ThresholdPlate,
    TransitionPlate,
)
from optimizer.standards.placed import EdgeName, Placed, Vector, build_rectangle


@dataclass(frozen=True, slots=True)
class Run:
    """One sloped stretch: its sections from upper to lower and, for the last run, the plate."""

    number: int
    sections: tuple[Placed[Section], ...]
    plate: Placed[TransitionPlate] | None

    @property
    def name(self) -> str:
        """How findings call it."""
        return f"run {self.number}"

    @property
    def pieces(self) -> tuple[Placed[Section] | Placed[TransitionPlate], ...]:
        """Everything that is walked on."""
        return self.sections if self.plate is None else (*self.sections, self.plate)

    @property
    def start_m(self) -> Vector:
        """Middle of its upper edge."""
        return self.sections[0].start_m

    @property
    def hinge_m(self) -> Vector:
        """Middle of the lower edge of its last section."""
        return self.sections[-1].end_m

    @property
    def end_m(self) -> Vector:
        """Middle of its lower edge, the plate included."""
        return self.pieces[-1].end_m

    @property
    def rise_m(self) -> float:
        """Rise between its ends, the plate included."""
        return float(self.start_m[2] - self.end_m[2])

    @property
    def plan_length_m(self) -> float:
        """Sum of the plan lengths of its pieces."""
        return sum(piece.plan_length_m for piece in self.pieces)

    def rectangle(self, grown_m: float) -> shapely.Polygon:
        """Plan rectangle of its sections together, the plate left out."""
        first = self.sections[0]
        length = float(np.hypot(*(self.hinge_m - self.start_m)[:2]))
        width = max(section.width_m for section in self.sections)
        return build_rectangle(first.start_m, first.heading, length, width, grown_m)


@dataclass(frozen=True, slots=True)
class Chain:
    """The whole way down.  ``landings[i]`` lies between ``runs[i]`` and ``runs[i + 1]``.

    ``steps`` leave a landing's edge beside that way and are no part of it.
    """

    threshold: Placed[ThresholdPlate]
    door: Placed[Landing] | None
    runs: tuple[Run, ...]
    landings: tuple[Placed[Landing], ...]
    pad: Placed[BottomPad] | None
    exit: Literal["front", "left", "right"]
    steps: tuple[Placed[StepFlight], ...]

    @property
    def plate(self) -> Placed[TransitionPlate]:
        """The transition plate: ``measure_chain`` lets no chain without one through."""
        plate = self.runs[-1].plate
        if plate is None:
            raise ValueError("a chain ends on a transition plate")
        return plate

    @property
    def all_landings(self) -> tuple[Placed[Landing], ...]:
        """The door landing, if any, and the landings between runs, from the door down."""
        return self.landings if self.door is None else (self.door, *self.landings)

    def sections(self) -> Iterator[Placed[Section]]:
        """Every section from the door down."""
        for run in self.runs:
            yield from run.sections

    def walked(self) -> tuple[Placed[Landing] | Placed[Section] | Placed[TransitionPlate], ...]:
        """Every piece of the way in order: landings, sections, the plate."""
        pieces: list[Placed[Landing] | Placed[Section] | Placed[TransitionPlate]] = []
        if self.door is not None:
            pieces.append(self.door)
        for index, run in enumerate(self.runs):
            pieces.extend(run.pieces)
            if index < len(self.landings):
                pieces.append(self.landings[index])
        return tuple(pieces)

    def arriving(self, landing: Placed[Landing]) -> Run | None:
        """The run that ends on this landing (none at the door)."""
        index = self._between(landing)
        return None if index is None else self.runs[index]

    def leaving(self, landing: Placed[Landing]) -> Run:
        """The run that leaves this landing."""
        index = self._between(landing)
        return self.runs[0] if index is None else self.runs[index + 1]

    def _between(self, landing: Placed[Landing]) -> int | None:
        for index, other in enumerate(self.landings):
            if other is landing:
                return index
        return None

    def upper_landing(self, run: Run) -> Placed[Landing] | None:
        """The landing a run leaves (none when it hangs on an existing edge)."""
        return self.door if run.number == 1 else self.landings[run.number - 2]

    def lower_landing(self, run: Run) -> Placed[Landing] | None:
        """The landing a run ends on (none for the last)."""
        return self.landings[run.number - 1] if run.number <= len(self.landings) else None

    def exit_edge(self, landing: Placed[Landing]) -> EdgeName:
        """The edge by which the way leaves a landing."""
        match landing.piece.use:
            case "door":
                return "end" if self.exit == "front" else self.exit
            case "left":
                return "left"
            case "right":
                return "right"
            case "half_left" | "half_right":
                return "start"
            case _:
                return "end"


def measure_clear_width(run: Run) -> float:
    """Narrowest clear width of a run: what its catalogue says, less what it is placed narrower."""
    widths = [
        section.part.clear_width_m + min(0.0, section.width_m - section.part.overall_width_m)
        for section in run.sections
    ]
    if run.plate is not None:
        widths.append(run.plate.width_m)
    return min(widths)
