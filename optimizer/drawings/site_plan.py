"""The site plan: lot, setbacks with distances, house, door, zones, levels, and the ramp."""

from __future__ import annotations

from typing import Final

import numpy as np
import shapely

from optimizer.brief.site import Site
from optimizer.drawings.contours import choose_every, trace_contours
from optimizer.drawings.cut_strokes import cut_to
from optimizer.drawings.draw_ramp import draw_pieces, join_outlines
from optimizer.drawings.draw_yard import draw_ground_lines, draw_yard
from optimizer.drawings.figure import Dimension, Figure, Note, Symbol, free_note
from optimizer.drawings.levels import show_level
from optimizer.plan import Candidate
from optimizer.schedule_tables import show_length
from optimizer.terrain.frames import DoorFrame
from optimizer.terrain.yard import Points, Start

TITLE: Final = "Site plan"
_WORDS_MM: Final = 2.5
_LEVELS_MM: Final = 1.8
#: A scan has thousands of points: so many levels are shown, those that stand furthest apart.
_MOST_LEVELS: Final = 40
#: So much ground is shown around the lot.
_AROUND_M: Final = 0.5
#: A lot line so far off tells nobody anything.
_FAR_M: Final = 15.0


def draw_site_plan(site: Site, start: Start, candidate: Candidate, frame: DoorFrame) -> Figure:
    """Everything in the frame of the door; levels count from the sill."""
    window = _reach(site, candidate, frame)
    strokes = (
        *cut_to(draw_ground_lines(site, start, frame), window),
        *cut_to(draw_yard(site, start, frame), window),
        *draw_pieces(candidate, frame),
    )
    points = site.ground.points_m
    kept = choose_levels(points[shapely.contains_xy(window, *frame.to_door(points[:, :2]).T)])
    symbols = tuple(Symbol("level", frame.to_door(one[None, :2])[0], "level") for one in kept)
    levels = tuple(
        free_note(
            "text-site",
            show_level(site, float(one[2]) - start.threshold_m),
            frame.to_door(one[None, :2])[0],
            _LEVELS_MM,
        )
        for one in kept
    )
    names = _name_things(site, start, candidate, frame)
    seen = [one for one in names if shapely.contains_xy(window, *one.at_m)]
    notes = (*seen, *_label_contours(site, start, frame, window), *levels)
    return Figure(TITLE, strokes, symbols, notes, _measure_to_lot(site, candidate, frame))


def _reach(site: Site, candidate: Candidate, frame: DoorFrame) -> shapely.Geometry:
    """The box around lot, house and ramp: ground surveyed beyond it tells nothing."""
    outlines = [shapely.Polygon(frame.to_door(one)) for one in (site.yard.lot_m, *site.yard.house_m)]
    whole = shapely.union_all([*outlines, join_outlines(candidate, frame)])
    return shapely.box(*shapely.buffer(whole, _AROUND_M).bounds)


def choose_levels(points_m: Points) -> Points:
    """At most so many of the surveyed points (n, 3), each next one the furthest from those chosen."""
    if len(points_m) <= _MOST_LEVELS:
        return points_m
    chosen = [0]
    away = np.hypot(*(points_m[:, :2] - points_m[0, :2]).T)
    while len(chosen) < _MOST_LEVELS:
        chosen.append(int(away.argmax()))
        away = np.minimum(away, np.hypot(*(points_m[:, :2] - points_m[chosen[-1], :2]).T))
    return points_m[sorted(chosen)]


def _name_things(site: Site, start: Start, candidate: Candidate, frame: DoorFrame) -> list[Note]:
    yard = site.yard
    notes = [
        free_note("text-site", f"{start.name}, sill ±0", np.zeros(2), _WORDS_MM, np.array([0.0, -1.0])),
        free_note(
            "text-site",
            "ramp",
            np.array(join_outlines(candidate, frame).point_on_surface().coords[0]),
            _WORDS_MM,
        ),
    ]
    notes += [
        free_note("text-site", "house", frame.to_door(_inside(one))[0], _WORDS_MM) for one in yard.house_m
    ]
    notes += [
        free_note("text-site", one.name, frame.to_door(_inside(one.outline_m))[0], _LEVELS_MM)
        for one in yard.obstacles
    ]
    notes += [
        free_note(
            "text-site",
            f"{one.name} ({one.kind.replace('_', ' ')})",
            frame.to_door(_inside(one.outline_m))[0],
            _LEVELS_MM,
        )
        for one in yard.zones
    ]
    if yard.setback_m > 0.0:
        words = f"setback {show_length(site, yard.setback_m)}"
        notes.append(free_note("text-site", words, frame.to_door(_edge_middle(yard.lot_m, 0))[0], _LEVELS_MM))
    notes.append(
        free_note("text-site", "lot line", frame.to_door(_edge_middle(yard.lot_m, -1))[0], _LEVELS_MM)
    )
    return notes


def _label_contours(site: Site, start: Start, frame: DoorFrame, window: shapely.Geometry) -> list[Note]:
    """A level at the middle of what is seen of each stronger line."""
    notes = []
    for one in trace_contours(site.ground, choose_every(start.threshold_m, site.display.system)):
        seen = shapely.intersection(shapely.LineString(frame.to_door(one.line_m)), window)
        parts = [part for part in shapely.get_parts(seen) if part.length > 0.0]
        if one.is_index and parts:
            longest = max(parts, key=shapely.length)
            middle = np.array(shapely.line_interpolate_point(longest, 0.5, normalized=True).coords[0])
            notes.append(free_note("text-site", show_level(site, one.level_m), middle, _LEVELS_MM))
    return notes


def _measure_to_lot(site: Site, candidate: Candidate, frame: DoorFrame) -> tuple[Dimension, ...]:
    """The shortest way from the ramp square to each edge of the lot."""
    ramp = join_outlines(candidate, frame)
    houses = shapely.unary_union([shapely.Polygon(frame.to_door(one)) for one in site.yard.house_m])
    lot = frame.to_door(site.yard.lot_m)
    found = []
    for here, there in zip(lot, np.roll(lot, -1, axis=0), strict=True):
        edge = shapely.LineString([here, there])
        near = shapely.shortest_line(ramp, edge)
        from_ramp, on_edge = np.array(near.coords)
        ahead = (there - here) / np.hypot(*(there - here))
        is_square = abs(float((on_edge - from_ramp) @ ahead)) < 1e-6
        # Through the house nobody measures.
        is_open = shapely.intersection(near, houses).length < 1e-6
        if is_square and is_open and 1e-6 < near.length <= _FAR_M:
            found.append(Dimension("dimension-site", from_ramp, on_edge, 0.0, show_length(site, near.length)))
    return tuple(found)


def _inside(outline_m: Points) -> Points:
    return np.array(shapely.Polygon(outline_m).point_on_surface().coords)


def _edge_middle(outline_m: Points, number: int) -> Points:
    edges = list(zip(outline_m, np.roll(outline_m, -1, axis=0), strict=True))
    return np.array([(edges[number][0] + edges[number][1]) / 2.0])
