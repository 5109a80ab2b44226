"""What a search is asked and what it answers: shapes with their layouts, rounds, events."""

from __future__ import annotations

from dataclasses import dataclass

from optimizer.layout.spec import Exit, TurnKind, TurnSpec
from optimizer.search.openings import Opening

Turns = tuple[TurnKind, ...]


@dataclass(frozen=True, slots=True)
class Skeleton:
    """Where a layout goes, before sections and legs are named; slope and surface length run by run."""

    opening: Opening
    slopes: tuple[float, ...]
    surfaces_m: tuple[float, ...]
    turns: tuple[TurnSpec, ...]
    plate: str
    cost_cents: int
    walk_m: float


@dataclass(frozen=True, slots=True)
class ShapeAnswer:
    """The best layouts of one shape, ascending in cost.

    All layouts of the shape up to ``bound_cents`` were looked at; the first is proven best when
    it costs no more.  ``is_whole``: there are no others than these.
    """

    exit: Exit
    turns: Turns
    skeletons: tuple[Skeleton, ...]
    bound_cents: int
    is_whole: bool

    @property
    def cost_cents(self) -> int:
        """Cost of the best."""
        return self.skeletons[0].cost_cents

    @property
    def is_proven(self) -> bool:
        """Whether nothing cheaper of this shape exists on the lattice."""
        return self.cost_cents <= self.bound_cents

    @property
    def proof(self) -> str:
        """``proven``, or the gap."""
        if self.is_proven:
            return "proven"
        return f"gap {100.0 * (self.cost_cents - self.bound_cents) / self.cost_cents:.1f} %"


@dataclass(frozen=True, slots=True)
class Round:
    """One ceiling of the certificate: what grew under it."""

    lattice_m: float
    ceiling_cents: int
    states: int
    arcs: int
    tried: int
    priced: int
    settled: int


@dataclass(frozen=True, slots=True)
class LatticeAnswer:
    """What one lattice gave.

    ``bound_cents``: no layout costs less, except those found (``None``: there are no others).
    ``stopped_by``: ``""``, ``"stopped"`` or ``"memory"``.
    """

    lattice_m: float
    shapes: tuple[ShapeAnswer, ...]
    bound_cents: int | None
    rounds: tuple[Round, ...]
    stopped_by: str

    @property
    def best_cents(self) -> int | None:
        """Least cost found."""
        return min((shape.cost_cents for shape in self.shapes), default=None)

    @property
    def is_over(self) -> bool:
        """Whether nothing was given up."""
        return not self.stopped_by


@dataclass(frozen=True, slots=True)
class SearchEvent:
    """Progress: what is proven so far on which lattice."""

    phase: str
    lattice_m: float
    ceiling_cents: int | None
    bound_cents: int | None
    incumbent_cents: int | None
    shapes: int

    @property
    def gap(self) -> float | None:
        """How far the incumbent can lie above the optimum, as a share of it; ``None`` without both."""
        if self.incumbent_cents is None or not self.bound_cents:
            return None
        return max(0.0, self.incumbent_cents / self.bound_cents - 1.0)


@dataclass(frozen=True, slots=True)
class ShapeQuestion:
    """What is asked of one lattice.

    ``wanted`` shapes are settled, none dearer than ``budget`` times the best; ``kept`` layouts
    of each; ``known_cents``: a layout of this cost is known to exist on the lattice, or nothing
    dearer is of interest (the ceiling never rises above it); ``least_cents``: nothing cheaper exists;
    ``most_states``: give up when so many poses have grown; ``only``: no other shape is asked for.
    """

    wanted: int
    kept: int
    budget: float
    known_cents: int | None
    least_cents: int = 0
    most_states: int = 1 << 40
    only: tuple[Exit, Turns] | None = None
