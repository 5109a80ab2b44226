"""What pieces are bolted together with: fasteners as frozen data, counted and never priced.

A fastener says at which kind of connection it is used and how many one place needs.  The same
bolt at two kinds of connection is written twice, each with an ``id`` of its own.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

#: Kinds of connection.  ``landing_edge``: a section or plate hung on a landing; ``house``: the first
#: section at the house or porch; ``section_joint``: section to section, on its legs; ``plate_hinge``:
#: the plate at the last section; ``steps``: a flight at a landing; ``support``: a leg or low support
#: to its frame; ``brace_end``: each of a brace's two ends; the rest: each rail item of its kind.
ConnectionKind = Literal[
    "landing_edge",
    "house",
    "section_joint",
    "plate_hinge",
    "steps",
    "support",
    "brace_end",
    "rail_panel",
    "rail_post",
    "rail_end",
]


@dataclass(frozen=True, slots=True)
class Fastener:
    """``each`` of one thing at every place of kind ``at``; ``size`` is a text, such as ``M10 x 30``.

    ``weight_kg`` is that of one, ``None`` where the catalogue does not tell.
    """

    id: str
    name: str
    size: str
    at: ConnectionKind
    each: int
    weight_kg: float | None
