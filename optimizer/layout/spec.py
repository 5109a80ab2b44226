"""A layout as its choices: what a person would say, and what the search decides."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Exit = Literal["front", "left", "right"]
TurnKind = Literal["straight", "left", "right", "half_left", "half_right"]


@dataclass(frozen=True, slots=True)
class RunSpec:
    """One run: section ids from the upper end down, and its slope (rise over plan run)."""

    sections: tuple[str, ...]
    slope: float


@dataclass(frozen=True, slots=True)
class TurnSpec:
    """A landing between two runs, and where along its edges they are fixed.

    ``arrive_m``, ``leave_m``: the middle line of the arriving and of the leaving run, from the
    middle of the edge, positive to the right seen along that run's own heading.  A half turn
    fixes both runs by itself and ignores them.
    """

    kind: TurnKind
    landing: str
    arrive_m: float
    leave_m: float


@dataclass(frozen=True, slots=True)
class LayoutSpec:
    """Every choice of one layout.

    ``slide_m``: the door landing's middle (or, at an edge, the run's middle) along the wall
    from the start's midpoint, positive to the right looking out.  ``door_landing`` is ``None``
    for a start at an existing edge.  ``attach_m``: the first run's middle line from the middle
    of the edge it leaves by, positive to the right seen along its heading; ignored at an
    existing edge, where ``slide_m`` says it.  ``turns`` has one entry less than ``runs``.
    ``supports`` names the leg or low support type at each point in building order, or is
    ``None`` for 'the cheapest that fits'.
    """

    start: str
    slide_m: float
    door_landing: str | None
    exit: Exit
    attach_m: float
    runs: tuple[RunSpec, ...]
    turns: tuple[TurnSpec, ...]
    plate: str
    supports: tuple[str, ...] | None
