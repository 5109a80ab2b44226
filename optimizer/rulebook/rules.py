"""What binds us: one document and edition as data."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

#: Quantities a limit may speak of.  Each has one check in ``standards``.
Quantity = Literal[
    "running_slope",  # rise over plan run of any sloped surface, transition plate included
    "cross_slope",  # of runs
    "landing_slope",  # steepest direction, landings and the bottom space
    "clear_width",  # of runs, between handrails
    "rise_per_run",  # transition plate included
    "length_per_run",  # plan length
    "landing_length",  # clear, straight landings, door landing and bottom space
    "landing_width",  # clear; 0 means 'at least the widest run'
    "landing_turn",  # both clear sizes where direction changes
    "handrail_rise",  # rise above which a run needs handrails
    "handrail_sides",
    "handrail_height_min",
    "handrail_height_max",
    "handrail_extension",
    "edge_protection_height",
    "tip_vertical_change",  # lip at the plate's tip
    "threshold_drop",  # landing below the threshold
    "guard_drop",  # drop to the lowest ground near the edge above which a guard is needed
]
Operator = Literal["<=", "<", ">=", ">"]
HowKnown = Literal["text", "restated", "memory", "own"]


@dataclass(frozen=True, slots=True)
class Limit:
    """One limit of one clause.

    ``value_si`` is metres or a ratio; ``value`` and ``unit`` are the document's own.
    ``operator`` reads 'measured operator limit'.  For ``handrail_rise`` and ``guard_drop``
    it reads 'no rail is needed while measured operator limit'.
    """

    id: str
    clause: str
    quantity: Quantity
    operator: Operator
    value: float
    unit: str
    value_si: float
    source: str
    how_known: HowKnown
    note: str


@dataclass(frozen=True, slots=True)
class RuleSet:
    """A document with an edition, or the user's own limits."""

    id: str
    title: str
    edition: str
    limits: tuple[Limit, ...]
    not_checked: tuple[str, ...]
    statement: str

    def limit(self, quantity: Quantity) -> Limit | None:
        """The limit on this quantity, or ``None`` when the document has none."""
        for limit in self.limits:
            if limit.quantity == quantity:
                return limit
        return None
