"""Clauses about what is over the way, and about the underside over people who pass below."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np
import shapely

from optimizer.catalogue.parts import Landing, Part, Section
from optimizer.plan import Finding
from optimizer.rulebook.rules import Limit, RuleSet
from optimizer.standards.chain import Chain
from optimizer.standards.clause_facts import judge_clause
from optimizer.standards.findings import is_within, judge_length, locate, tell_inapplicable, tell_unmeasured
from optimizer.standards.measure_heights import HeightRange, measure_heights
from optimizer.standards.measured import Measured
from optimizer.standards.placed import Placed, mark
from optimizer.standards.zone_words import name_zone
from optimizer.terrain.yard import OVERHEAD, Yard, Zone
from optimizer.units import TOLERANCE_M

#: Nobody passes below an underside that is lower than this everywhere: common practice, no source.
PASSABLE_M: Final = 0.5

Walked = Placed[Landing] | Placed[Section]


def check_headroom(limit: Limit, rules: RuleSet, measured: Measured) -> Iterator[Finding]:
    """Least free height under what hangs over each run (its plate included) and each landing."""
    chain, yard = measured.chain, measured.case.yard
    for run in chain.runs:
        yield _judge_headroom(limit, rules, run.name, run.pieces, yard)
    for landing in chain.all_landings:
        yield _judge_headroom(limit, rules, landing.piece.id, (landing,), yard)


def _judge_headroom(
    limit: Limit, rules: RuleSet, subject: str, pieces: tuple[Placed[Part], ...], yard: Yard
) -> Finding:
    """Of the lowest zone, with the one sentence it needs."""
    where = mark(pieces[0])
    least: tuple[float, Zone, Placed[Part]] | None = None
    for piece in pieces:
        for zone in yard.zones:
            if zone.kind not in OVERHEAD:
                continue
            overlap = piece.rectangle(-TOLERANCE_M).intersection(shapely.Polygon(zone.outline_m))
            if overlap.is_empty:
                continue
            if zone.underside_m is None:
                return tell_unmeasured(
                    limit, rules.id, subject, f"the underside of {name_zone(zone)} is not given", where
                )
            a, b, c = piece.surface_plane()
            free = zone.underside_m - max(a * x + b * y + c for x, y in shapely.get_coordinates(overlap))
            if least is None or free < least[0]:
                least = (free, zone, piece)
    if least is None:
        return tell_inapplicable(limit, rules.id, subject, "the site names nothing that hangs over it", where)
    free, zone, piece = least
    return judge_length(limit, rules.id, subject, f"free height under {name_zone(zone)}", free, mark(piece))


def check_soffit(limit: Limit, rules: RuleSet, measured: Measured) -> Iterator[Finding]:
    """Least and greatest height of the underside over the ground, for each run and each landing.

    Whether people may come below is the authority's to say: an underside lower than asked is
    'cannot tell' with its heights, and no matter where it is too low everywhere for anybody to pass.
    """
    for subject, pieces in _list_decks(measured.chain):
        heights = [
            measure_heights(measured.facets, piece.rectangle(-TOLERANCE_M), _underside(piece))
            for piece in pieces
        ]
        yield _judge_soffit(limit, rules, subject, pieces, heights)


def _judge_soffit(
    limit: Limit,
    rules: RuleSet,
    subject: str,
    pieces: tuple[Walked, ...],
    heights: list[HeightRange | None],
) -> Finding:
    known = [height for height in heights if height is not None]
    if not known:
        return tell_unmeasured(limit, rules.id, subject, "the ground below is not surveyed", mark(pieces[0]))
    lowest = min(known, key=lambda height: height.least_m)
    highest = max(known, key=lambda height: height.greatest_m)
    where = locate(np.array([*highest.greatest_at, pieces[0].start_m[2]]))
    least, greatest = lowest.least_m, highest.greatest_m
    says = f"its underside is {least:.3f} m to {greatest:.3f} m above the ground"
    if len(known) < len(heights) or not all(height.is_whole for height in known):
        why = f"{says}, and part of the ground below is not surveyed"
        return tell_unmeasured(limit, rules.id, subject, why, where)
    if greatest < PASSABLE_M:
        return tell_inapplicable(limit, rules.id, subject, f"{says}: too low for anybody to pass", where)
    if is_within(limit, least):
        return judge_length(limit, rules.id, subject, "least height of its underside", least, where)
    asked = f"{limit.value:g} {limit.unit}"
    says += f", less than {asked} in places; whether people may walk there is for the authority to say"
    return judge_clause(limit, rules.id, subject, "cannot tell", says, where, least)


def _list_decks(chain: Chain) -> Iterator[tuple[str, tuple[Walked, ...]]]:
    for run in chain.runs:
        yield run.name, run.sections
    for landing in chain.all_landings:
        yield landing.piece.id, (landing,)


def _underside(piece: Walked) -> tuple[float, float, float]:
    a, b, c = piece.surface_plane()
    return a, b, c - piece.part.frame_depth_m
