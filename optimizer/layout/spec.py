"""A layout as its choices: what a person would say, and what the search decides."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from optimizer.catalogue.parts import AttachPosition

Exit = Literal["front", "left", "right"]
TurnKind = Literal["straight", "left", "right", "half_left", "half_right"]


@dataclass(frozen=True, slots=True)
class RunSpec:
    """One run: section ids from the upper end down, and its slope (rise over plan run)."""

    sections: tuple[str, ...]
    slope: float


@dataclass(frozen=True, slots=True)
class TurnSpec:
    """A landing between two runs.  A half turn has fixed attach positions; its words are ignored."""

    kind: TurnKind
    landing: str
    arrive: AttachPosition
    leave: AttachPosition


@dataclass(frozen=True, slots=True)
class LayoutSpec:
    """Every choice of one layout.

    ``slide_m``: the door landing's middle (or, at an edge, the run's middle) along the wall
    from the start's midpoint, positive to the right looking out.  ``door_landing`` is ``None``
    for a start at an existing edge.  ``turns`` has one entry less than ``runs``.
    ``supports`` names the leg or low support type at each point in building order, or is
    ``None`` for 'the cheapest that fits'.
    """

    start: str
    slide_m: float
    door_landing: str | None
    exit: Exit
    attach: AttachPosition
    runs: tuple[RunSpec, ...]
    turns: tuple[TurnSpec, ...]
    plate: str
    supports: tuple[str, ...] | None
