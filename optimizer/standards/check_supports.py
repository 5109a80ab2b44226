"""Do the legs and low supports carry the ramp: count, place, height, type, foot, brace, setting.

Clauses of our own: ``build.support_count``, ``build.station``, ``build.support_type``,
``build.support_range``, ``build.leg_ground``, ``build.frame``, ``build.leg_height``,
``build.leg_range``, ``build.foot``, ``build.foot_off_pad``, ``build.brace``, ``build.setting``,
``build.rated_load``.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from typing import Final

import numpy as np
import shapely

from optimizer.catalogue.parts import Catalogue, Leg, LowSupport
from optimizer.plan import Candidate, Finding, SupportLeg
from optimizer.standards.bottom import Bottom
from optimizer.standards.case import CheckCase
from optimizer.standards.chain import Chain
from optimizer.standards.check_feet import (
    FreeGround,
    build_stands,
    find_foot_fault,
    find_free_ground,
    judge_off_pad,
    measure_stand,
)
from optimizer.standards.findings import JOINT_M, PLACE_M, judge_build, judge_deviation, judge_fact
from optimizer.standards.ground_measure import Facets
from optimizer.standards.stations import Station, find_stations
from optimizer.units import TOLERANCE_M, is_at_most

_HOLE_RE: Final = re.compile(r"hole (\d+), screw (\d+) mm")
_SCREW_RE: Final = re.compile(r"screw (\d+) mm")
_HEIGHT_RE: Final = re.compile(r"height (\d+) mm")
#: Settings are printed in whole millimetres.
_HALF_MILLIMETRE: Final = 0.5e-3


def check_supports(
    candidate: Candidate, chain: Chain, case: CheckCase, facets: Facets, bottom: Bottom
) -> Iterator[Finding]:
    """Match supports to stations, then judge each support where it stands."""
    stations = find_stations(chain)
    types = list_types(case.catalogue)
    known = [leg for leg in candidate.legs if leg.leg_type in types]
    for leg in candidate.legs:
        if leg.leg_type not in types:
            fault = f'the catalogue has no support "{leg.leg_type}"'
            yield judge_fact("build.support_type", leg.id, "", fault, _locate(leg))
    matches = _match(stations, known, case.catalogue)
    matched = {leg.id for _, leg in matches}
    filled = {index for index, _ in matches}
    missing = [station for index, station in enumerate(stations) if index not in filled]
    for station in missing:
        where = (float(station.base_m[0]), float(station.base_m[1]), float(station.base_m[2]))
        fault = f"no support at its {station.role}{'' if station.side is None else ' ' + station.side}"
        yield judge_fact("build.support_count", station.piece, "", fault, where)
    for leg in known:
        if leg.id not in matched:
            fault = f'no station "{leg.station}" of {leg.piece} asks for it'
            yield judge_fact("build.support_count", leg.id, "", fault, _locate(leg))
    yield judge_build(
        "build.support_count",
        candidate.name,
        "supports missing or not asked for:",
        float(len(missing) + len(candidate.legs) - len(matched)),
        "<=",
        0.0,
        "",
        None,
    )
    stands = build_stands(case)
    free = find_free_ground(chain, bottom)
    for index, leg in matches:
        yield from _check_support(leg, types[leg.leg_type], stations[index], case, facets, stands, free)


def list_types(catalogue: Catalogue) -> dict[str, Leg | LowSupport]:
    """Every kind of support by its id."""
    supports: tuple[Leg | LowSupport, ...] = (*catalogue.legs, *catalogue.low_supports)
    return {support.id: support for support in supports}


def _locate(leg: SupportLeg) -> tuple[float, float, float]:
    return (leg.x_m, leg.y_m, leg.ground_elevation_m)


def _match(
    stations: tuple[Station, ...], legs: list[SupportLeg], catalogue: Catalogue
) -> list[tuple[int, SupportLeg]]:
    """Each support with its station: the nearest free one of those its piece and station name allow."""
    types = list_types(catalogue)
    pairs = sorted(
        (
            (float(np.hypot(*(station.foot_m(types[leg.leg_type]) - (leg.x_m, leg.y_m)))), index, order)
            for index, station in enumerate(stations)
            for order, leg in enumerate(legs)
            if leg.piece == station.piece and _may_stand_at(leg.station, station)
        ),
    )
    taken_stations: set[int] = set()
    taken_legs: set[int] = set()
    matches: list[tuple[int, SupportLeg]] = []
    for _, index, order in pairs:
        if index in taken_stations or order in taken_legs:
            continue
        taken_stations.add(index)
        taken_legs.add(order)
        matches.append((index, legs[order]))
    return sorted(matches, key=lambda match: match[0])


def _may_stand_at(name: str, station: Station) -> bool:
    """Does the name a support gives its station speak of this one (``joint-left`` ...)."""
    if station.side is None:
        return not name.startswith(("joint", "hinge"))
    return name.startswith(station.role) and name.endswith(station.side)


def _check_support(
    leg: SupportLeg,
    part: Leg | LowSupport,
    station: Station,
    case: CheckCase,
    facets: Facets,
    stands: tuple[tuple[shapely.Polygon, float], ...],
    free: FreeGround,
) -> Iterator[Finding]:
    where = _locate(leg)
    foot = next(foot for foot in case.catalogue.feet if foot.id == part.foot)
    reach = foot.plate_m / math.sqrt(2.0) + foot.edge_distance_m
    point = np.array([leg.x_m, leg.y_m])
    away = float(np.hypot(*(station.foot_m(part) - point)))
    yield judge_deviation("build.station", leg.id, "it stands off its station by", away, PLACE_M, where)
    fault = _find_type_fault(leg, part, station)
    yield judge_fact("build.support_type", leg.id, "its type is allowed here", fault, where)
    yield _judge_range(leg, part)
    ground = measure_stand(point, reach, facets, stands)
    yield from _check_height(leg, part, station.frame_m, ground, case.bedding_m)
    fault = find_foot_fault(point, reach, case, facets)
    yield judge_fact("build.foot", leg.id, "its foot stands clear on one level", fault, where)
    yield judge_off_pad(leg.id, point, reach, free, where)
    fault = _find_brace_fault(leg, part, station.frame_m - (ground - case.bedding_m))
    yield judge_fact("build.brace", leg.id, "its bracing is as its type asks", fault, where)
    fault = _find_setting_fault(leg, part)
    yield judge_fact("build.setting", leg.id, f'"{leg.setting}" gives its height', fault, where)
    mass = case.total_mass_kg
    yield judge_build("build.rated_load", leg.id, "rated load", part.rated_load_kg, ">=", mass, "kg", where)


def _check_height(
    leg: SupportLeg, part: Leg | LowSupport, frame_m: float, ground_m: float, bedding_m: float
) -> Iterator[Finding]:
    """Stated levels and height against the measured ones, and the measured height against the range."""
    where = _locate(leg)
    what = "the ground under it differs from the stated level by"
    away = abs(leg.ground_elevation_m - ground_m)
    yield judge_deviation("build.leg_ground", leg.id, what, away, PLACE_M, where)
    what = "the frame above it differs from the stated level by"
    yield judge_deviation("build.frame", leg.id, what, abs(leg.frame_elevation_m - frame_m), JOINT_M, where)
    stated = leg.frame_elevation_m - (leg.ground_elevation_m - bedding_m)
    what = "its height differs from its own stated levels by"
    yield judge_deviation("build.leg_height", leg.id, what, abs(leg.height_m - stated), JOINT_M, where)
    height = frame_m - (ground_m - bedding_m)
    reserve = part.reserve_m if isinstance(part, Leg) else 0.0
    low, high = part.min_m + reserve, part.max_m - reserve
    yield judge_build("build.leg_range", leg.id, "height", height, ">=", low, "m", where)
    yield judge_build("build.leg_range", leg.id, "height", height, "<=", high, "m", where)


def _find_type_fault(leg: SupportLeg, part: Leg | LowSupport, station: Station) -> str | None:
    if leg.leg_type not in station.types:
        return f'"{leg.leg_type}" is not listed for the {station.role} of {station.piece}'
    if (leg.kind == "leg") != isinstance(part, Leg):
        return f'"{leg.leg_type}" is no {leg.kind.replace("_", " ")}'
    if leg.foot != part.foot:
        return f'its foot is "{part.foot}" in the catalogue, not "{leg.foot}"'
    return None


def _judge_range(leg: SupportLeg, part: Leg | LowSupport) -> Finding:
    reserve = part.reserve_m if isinstance(part, Leg) else 0.0
    away = max(
        abs(leg.range_m[0] - part.min_m), abs(leg.range_m[1] - part.max_m), abs(leg.reserve_m - reserve)
    )
    what = "its stated range and reserve differ from the catalogue by"
    return judge_deviation("build.support_range", leg.id, what, away, TOLERANCE_M, _locate(leg))


def _find_brace_fault(leg: SupportLeg, part: Leg | LowSupport, height_m: float) -> str | None:
    asked = None
    if isinstance(part, Leg) and not is_at_most(height_m, part.brace_above_m):
        asked = part.brace
    if leg.brace == asked:
        return None
    return f"it has {_name_brace(leg.brace)}, asked is {_name_brace(asked)}"


def _name_brace(brace: str | None) -> str:
    return "no brace" if brace is None else f'the brace "{brace}"'


def _find_setting_fault(leg: SupportLeg, part: Leg | LowSupport) -> str | None:
    """Read the setting's own numbers back to a height."""
    hole = 0
    if isinstance(part, LowSupport):
        match = _HEIGHT_RE.fullmatch(leg.setting)
        base_m, digits = 0.0, match and match[1]
    elif part.pin_pitch_m > 0.0:
        match = _HOLE_RE.fullmatch(leg.setting)
        hole = int(match[1]) if match else 0
        base_m, digits = part.min_m + hole * part.pin_pitch_m, match and match[2]
    else:
        match = _SCREW_RE.fullmatch(leg.setting)
        base_m, digits = part.min_m, match and match[1]
    if digits is None:
        return f'the setting "{leg.setting}" is not one of its type'
    away_m = abs(base_m + int(digits) / 1000.0 - leg.height_m)
    if away_m > _HALF_MILLIMETRE + TOLERANCE_M:
        return f'the setting "{leg.setting}" is {away_m * 1000.0:.1f} mm off its height'
    if isinstance(part, Leg) and part.pin_pitch_m > 0.0:
        highest = math.floor((leg.height_m - part.min_m + TOLERANCE_M) / part.pin_pitch_m)
        if hole != highest:
            return f'the setting "{leg.setting}" does not use hole {highest}, the highest that fits'
    return None
