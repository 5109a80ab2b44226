"""The order in which a ramp is taken away: lowest end first, never a section left hanging.

The order of building backwards, except that each piece keeps its rails until its own turn, so that whoever
stands above still has them.  Common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

from optimizer.assembly.build_order import BuildStep, find_build_order
from optimizer.assembly.lifting import Lift
from optimizer.catalogue.parts import Catalogue
from optimizer.plan import Candidate


@dataclass(frozen=True, slots=True)
class RemovalStep:
    """One piece taken away with its rails and legs.

    ``props``: pieces whose lower end gets a prop first, because this one carries it.  ``props_away``:
    pieces whose prop goes with them.
    """

    number: int
    piece: str
    rails: tuple[str, ...]
    legs: tuple[str, ...]
    props: tuple[str, ...]
    props_away: tuple[str, ...]
    lift: Lift | None


def find_removal_order(candidate: Candidate, catalogue: Catalogue) -> tuple[RemovalStep, ...]:
    """Every piece from the toe up, numbered from 1.  Raises ``InputError`` as ``find_build_order`` does."""
    built = find_build_order(candidate, catalogue)
    rails = [step for step in built if step.action == "fit rails"]
    pieces = [step for step in reversed(built) if step.piece and step.action != "fit rails"]
    return tuple(
        RemovalStep(
            number=i,
            piece=step.piece,
            rails=_find_rails(rails, step.piece),
            legs=step.legs,
            props=step.props_away,
            props_away=step.props,
            lift=step.lift,
        )
        for i, step in enumerate(pieces, start=1)
    )


def _find_rails(steps: list[BuildStep], piece: str) -> tuple[str, ...]:
    return tuple(rail for step in steps if step.piece == piece for rail in step.rails)
