"""Zones by kind: what each forbids, why, how large it is, on whose word, and who may waive it.

Sizes are distances in plan around what the zone protects.  Clauses are restated from memory,
none was read for this table: they set a default that the site file may replace, and a check
against a rule set never rests on them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

ZoneKind = Literal[
    "no_build",
    "no_foot",
    "no_cover",
    "headroom",
    "wire",
    "vehicle",
    "escape_window",
    "drip_line",
    "right_of_way",
    "keep_walkable",
]
#: What a zone keeps away.  ``pieces`` may neither stand in it nor pass over it, ``feet`` may not
#: stand in it, no pad may be dug by ``digging``; ``overhead`` hangs above and asks for headroom.
Blocked = Literal["pieces", "feet", "digging", "overhead"]

_TRADE: Final = "common practice, no source"


@dataclass(frozen=True, slots=True)
class ZoneRule:
    """What is usual for one kind of zone.

    ``size_m``: default distance around what it protects (0: the thing itself).  ``source``:
    what that size rests on.
    """

    kind: ZoneKind
    blocks: frozenset[Blocked]
    reason: str
    size_m: float
    source: str
    waived_by: str


ZONE_RULES: Final[tuple[ZoneRule, ...]] = (
    ZoneRule(
        kind="no_build",
        blocks=frozenset({"pieces"}),
        reason="nothing may be built here",
        size_m=0.0,
        source=_TRADE,
        waived_by="the owner of the land",
    ),
    ZoneRule(
        kind="no_foot",
        blocks=frozenset({"feet", "digging"}),
        reason="what lies below carries no foot and must not be dug into",
        size_m=0.3048,
        source=_TRADE,
        waived_by="the owner of what lies below",
    ),
    ZoneRule(
        kind="no_cover",
        blocks=frozenset({"pieces"}),
        reason="it must stay open and within reach",
        size_m=0.9144,
        source="the depth of 36 in of the working space in NFPA 70 (2020), table 110.26(A)(1), condition 1; "
        "for other things than electrical ones common practice, no source",
        waived_by="the supplier or owner of what it serves",
    ),
    ZoneRule(
        kind="headroom",
        blocks=frozenset({"overhead"}),
        reason="something hangs low over the way",
        size_m=0.0,
        source=_TRADE,
        waived_by="the authority having jurisdiction",
    ),
    ZoneRule(
        kind="wire",
        blocks=frozenset({"overhead"}),
        reason="a live wire hangs over the way",
        size_m=0.9144,
        source="36 in beside porches and stairs, NFPA 70 (2020), 230.9(A)",
        waived_by="the electricity supplier",
    ),
    ZoneRule(
        kind="vehicle",
        blocks=frozenset({"pieces"}),
        reason="vehicles move here and open their doors",
        size_m=0.9,
        source=_TRADE,
        waived_by="the owner of the drive",
    ),
    ZoneRule(
        kind="escape_window",
        blocks=frozenset({"pieces"}),
        reason="people escape and are rescued through the window",
        size_m=0.9144,
        source="36 in, the least projection and width of a window well, IRC 2018, R310.2.3",
        waived_by="the authority having jurisdiction",
    ),
    ZoneRule(
        kind="drip_line",
        blocks=frozenset({"digging"}),
        reason="roots below the crown must not be dug into",
        size_m=3.0,
        source="12 times the stem's diameter, BS 5837:2012, 4.6.1, for a stem of 0.25 m",
        waived_by="the owner of the tree, or the authority where trees are protected",
    ),
    ZoneRule(
        kind="right_of_way",
        blocks=frozenset({"pieces"}),
        reason="others have a right to pass here",
        size_m=0.0,
        source=_TRADE,
        waived_by="whoever holds the right",
    ),
    ZoneRule(
        kind="keep_walkable",
        blocks=frozenset({"pieces"}),
        reason="a way on foot must stay free",
        size_m=0.4572,
        source="half of 36 in to either side of the way's middle line, 2010 ADA Standards, 403.5.1",
        waived_by="whoever walks there",
    ),
)


def find_zone_rule(kind: ZoneKind) -> ZoneRule:
    """What is usual for this kind."""
    return next(rule for rule in ZONE_RULES if rule.kind == kind)


def list_kinds_blocking(blocked: Blocked) -> frozenset[ZoneKind]:
    """The kinds that keep this away."""
    return frozenset(rule.kind for rule in ZONE_RULES if blocked in rule.blocks)
