"""Break lines of a sorted scan against the steps of the ground that a yard was made with."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from optimizer.terrain.ground import BreakLine
from tests.ground_scan.yard_parts import MadeYard, outline

_SPACING_M = 0.1
#: The true levels are read this far from the true edge, where the ground is wholly of one side.
_BESIDE_M = 0.03


@dataclass(frozen=True, slots=True)
class JudgedLines:
    """Spots every 10 cm, metres.

    ``missed_m`` (n,) how far each spot of a true edge that stands free is from a found line.  For each
    such spot of the found lines near a true edge: ``aside_m`` (k,) its distance from it, and found less true
    ``top_off_m``, ``foot_off_m``, ``rise_off_m``.  ``invented_m``: length of found lines far from any edge.
    """

    missed_m: NDArray[np.float64]
    aside_m: NDArray[np.float64]
    top_off_m: NDArray[np.float64]
    foot_off_m: NDArray[np.float64]
    rise_off_m: NDArray[np.float64]
    found_m: float
    invented_m: float


def judge_lines(yard: MadeYard, lines: Sequence[BreakLine]) -> JudgedLines:
    """Judge the lines found in a yard that has a step; ends of edges and lines are left out by 30 cm."""
    edges = [shapely.LineString(edge) for step in yard.steps for edge in outline(step, yard.size_m)]
    true = shapely.MultiLineString(edges)
    found = shapely.MultiLineString([line.xy_m for line in lines])
    spots = np.concatenate([_walk(edge) for edge in edges])
    inner = (spots > 0.5).all(axis=1) & (spots < np.array(yard.size_m) - 0.5).all(axis=1)
    spots = spots[inner & yard.is_free(spots, 0.3)]
    levels = [_compare(yard, edges, line) for line in lines]
    aside, top, foot = (np.concatenate([each[n] for each in levels]) for n in range(3))
    return JudgedLines(
        missed_m=np.asarray(shapely.distance(shapely.points(spots), found)),
        aside_m=aside,
        top_off_m=top,
        foot_off_m=foot,
        rise_off_m=top - foot,
        found_m=found.length,
        invented_m=found.difference(true.buffer(0.35)).length,
    )


def _walk(line: shapely.LineString) -> NDArray[np.float64]:
    return np.asarray(
        shapely.get_coordinates(line.interpolate(np.arange(0.3, line.length - 0.3, _SPACING_M)))
    ).reshape(-1, 2)


def _compare(
    yard: MadeYard, edges: list[shapely.LineString], line: BreakLine
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Of one line: distances from the nearest edge, and found less true tops and feet at it."""
    path = shapely.LineString(line.xy_m)
    spots = _walk(path)
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line.xy_m, axis=0).T))])
    at = np.array([path.project(shapely.Point(spot)) for spot in spots])
    tops, feet = np.interp(at, along, line.top_m), np.interp(at, along, line.foot_m)
    points = shapely.points(spots)
    away = np.array([shapely.distance(points, edge) for edge in edges])
    nearest = away.argmin(axis=0)
    off = np.full((2, len(spots)), np.nan)
    for n, point in enumerate(points):
        edge = edges[nearest[n]]
        ends = np.asarray(edge.coords)
        way = (ends[1] - ends[0]) / np.hypot(*(ends[1] - ends[0]))
        reached = edge.project(point)
        foot_of = np.asarray(edge.interpolate(reached).coords)[0]
        beside = foot_of + _BESIDE_M * np.array([[-way[1], way[0]], [way[1], -way[0]]])
        levels = yard.elevation(beside)
        off[:, n] = tops[n] - levels.max(), feet[n] - levels.min()
    near = (away.min(axis=0) < 0.35) & yard.is_free(spots, 0.3)
    return away.min(axis=0)[near], off[0, near], off[1, near]
