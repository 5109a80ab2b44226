"""Where on the way a limit holds: the landings and the bottom space it speaks of."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from optimizer.catalogue.parts import Landing
from optimizer.rulebook.rules import Limit, Place
from optimizer.standards.chain import Chain
from optimizer.standards.placed import Placed

#: Places that are on a turn; a limit on one of them speaks of the way that arrives alone.
TURNS: Final[frozenset[Place]] = frozenset({"turn", "quarter_turn", "half_turn"})


def find_places(chain: Chain, landing: Placed[Landing]) -> frozenset[Place]:
    """Every place this landing is at.

    ``straight`` lies between two runs; the landing at the door turns a quarter when left by its side.
    """
    position: Place = "top" if landing.piece.use == "door" else "between"
    match chain.exit_edge(landing):
        case "end":
            return frozenset({"any", position} if position == "top" else {"any", position, "straight"})
        case "start":
            return frozenset({"any", position, "turn", "half_turn"})
        case _:
            return frozenset({"any", position, "turn", "quarter_turn"})


def has_turn(chain: Chain, landing: Placed[Landing]) -> bool:
    """Does the way change direction on it."""
    return "turn" in find_places(chain, landing)


def landings_at(limit: Limit, chain: Chain) -> Iterator[Placed[Landing]]:
    """The landings the limit speaks of, from the door down."""
    for landing in chain.all_landings:
        if limit.place in find_places(chain, landing):
            yield landing


def speaks_of_bottom(limit: Limit) -> bool:
    """Does the limit hold at the space beyond the tip."""
    return limit.place in ("any", "bottom")


def speaks_of_porch(limit: Limit, chain: Chain) -> bool:
    """Does the limit hold at an existing porch: the top landing of a ramp that begins at an edge."""
    return chain.door is None and limit.place in ("any", "top")
