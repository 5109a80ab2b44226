"""What the brute force answers: layouts by their choices, and the least cost of every shape."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

Shape = tuple[str, tuple[str, ...]]  # exit, turns other than straight landings


@dataclass(frozen=True, slots=True)
class Sum:
    """Parts counted somewhere and what they cost."""

    cents: int
    legs: int = 0
    low_supports: int = 0
    braces: int = 0
    rails: int = 0

    def __add__(self, other: Sum) -> Sum:
        return Sum(
            self.cents + other.cents,
            self.legs + other.legs,
            self.low_supports + other.low_supports,
            self.braces + other.braces,
            self.rails + other.rails,
        )


@dataclass(frozen=True, slots=True)
class BruteRun:
    """One run, upper to lower section; without the plate's drop and plan length."""

    section_ids: tuple[str, ...]
    level: int
    drop_m: float
    plan_m: float


@dataclass(frozen=True, slots=True)
class BruteTurn:
    """One landing between two runs.

    ``arrive_m``/``leave_m``: the runs' middle lines from the middle of the edge, positive to the
    right seen along the run's own heading.
    """

    kind: str
    landing_id: str
    arrive_m: float
    leave_m: float


@dataclass(frozen=True, slots=True)
class BruteLayout:
    """A whole layout by its choices, with what was counted."""

    start: str
    door_landing_id: str | None
    slide: int
    exit: str
    attach_m: float | None
    runs: tuple[BruteRun, ...]
    turns: tuple[BruteTurn, ...]
    plate_id: str
    pad_id: str | None
    is_in_setback: bool
    legs: int
    low_supports: int
    braces: int
    rails: int
    cost_cents: int

    @property
    def shape(self) -> Shape:
        """Its exit and the sequence of its turns without straight landings."""
        return self.exit, tuple(turn.kind for turn in self.turns if turn.kind != "straight")


@dataclass(frozen=True, slots=True)
class BruteAnswer:
    """The best layout of every shape that has one, in the order of their names."""

    layouts: tuple[BruteLayout, ...]
    run_ends_tried: int

    @property
    def shapes(self) -> tuple[Shape, ...]:
        """Every shape with a layout."""
        return tuple(layout.shape for layout in self.layouts)

    @property
    def costs(self) -> Mapping[Shape, int]:
        """Least direct cost of every shape with a layout, whole cents."""
        return {layout.shape: layout.cost_cents for layout in self.layouts}

    @property
    def best(self) -> BruteLayout | None:
        """The cheapest layout over all shapes."""
        return min(self.layouts, key=lambda one: one.cost_cents, default=None)

    @property
    def best_cents(self) -> int | None:
        """Least direct cost over all shapes; None when there is no layout."""
        return None if self.best is None else self.best.cost_cents

    def layout(self, exit_side: str, turns: tuple[str, ...]) -> BruteLayout | None:
        """The cheapest layout of one shape; None when it has none."""
        return next((one for one in self.layouts if one.shape == (exit_side, turns)), None)

    def cost_cents(self, exit_side: str, turns: tuple[str, ...]) -> int | None:
        """Least direct cost of one shape; None when it has no layout."""
        layout = self.layout(exit_side, turns)
        return None if layout is None else layout.cost_cents
