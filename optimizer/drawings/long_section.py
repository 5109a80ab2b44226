"""The unfolded long section: the way down drawn straight, with the ground, the legs and a band of levels."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from optimizer.brief.site import Site
from optimizer.catalogue.parts import Landing, Section
from optimizer.drawings.figure import Figure, Note, Stroke, Symbol, fixed_note, free_note, line
from optimizer.drawings.level_band import BandColumn, draw_band
from optimizer.drawings.levels import show_level, show_slope
from optimizer.drawings.scales import Scale
from optimizer.drawings.unfold import Standing, Stretch, stand_along, unfold
from optimizer.plan import Candidate
from optimizer.schedule_tables import show_length
from optimizer.terrain.yard import Points, Start

TITLE: Final = "Long section along the walking line"
_WORDS_MM: Final = 2.5
_SMALL_MM: Final = 1.8
#: Ground is looked up this often.
_STEP_M: Final = 0.05
#: Room left of a row for the words of its band, and right of it for the last figures.
LEFT_MM: Final = 40.0
_RIGHT_MM: Final = 8.0


@dataclass(frozen=True, slots=True)
class _Row:
    """Stretches drawn in one line; ``from_m``: the distance along the way where the row begins."""

    stretches: tuple[Stretch, ...]
    from_m: float


def draw_long_section(
    site: Site, start: Start, candidate: Candidate, scale: Scale, width_mm: float
) -> tuple[Figure, ...]:
    """One figure a row, x along the way and y above the sill, both in metres at one scale.

    A row holds the pieces that fit in ``width_mm``; at least one, whatever its length.
    """
    stretches = unfold(candidate)
    room_m = scale.to_metres(width_mm - LEFT_MM - _RIGHT_MM)
    rows: list[list[Stretch]] = [[]]
    for one in stretches:
        if rows[-1] and one.end_m - rows[-1][0].begin_m > room_m:
            rows.append([])
        rows[-1].append(one)
    stood = stand_along(candidate, stretches)
    drawn = []
    for number, held in enumerate(rows, 1):
        title = TITLE if len(rows) == 1 else f"{TITLE}, part {number} of {len(rows)}"
        row = _Row(tuple(held), held[0].begin_m)
        drawn.append(_draw_row(site, start, row, stood, scale, title))
    return tuple(drawn)


def _draw_row(
    site: Site, start: Start, row: _Row, stood: tuple[Standing, ...], scale: Scale, title: str
) -> Figure:
    sill_m = start.threshold_m
    strokes = [stroke for one in row.stretches for stroke in _draw_deck(site, one, row.from_m, sill_m)]
    strokes += [stroke for one in row.stretches for stroke in _draw_ground(site, one, row.from_m, sill_m)]
    names = {one.piece.id for one in row.stretches}
    here = [one for one in stood if one.support.piece in names]
    strokes += [stroke for one in here for stroke in _draw_support(one, row.from_m, sill_m, scale)]
    notes = [_name(one, row.from_m, sill_m, scale) for one in row.stretches]
    notes += _name_supports(site, here, row.from_m, sill_m)
    floor_m = min(float(one.points_m[:, 1].min()) for one in strokes) - scale.to_metres(14.0)
    columns = [
        BandColumn(
            along - row.from_m,
            (
                show_length(site, along),
                show_level(site, deck - sill_m),
                "—" if ground is None else show_level(site, ground - sill_m),
                "—" if ground is None else show_length(site, deck - ground),
            ),
        )
        for along, deck, ground in _list_joints(site, row)
    ]
    heads = ("along the way", "deck", "ground", "deck above ground")
    band_strokes, band_notes = draw_band(heads, tuple(columns), floor_m, scale, LEFT_MM)
    datum = fixed_note(
        "text-section",
        "levels from sill ±0\nl, r: left, right going down",
        np.array([-scale.to_metres(0.56 * LEFT_MM), floor_m + scale.to_metres(3.0)]),
        _SMALL_MM,
    )
    symbols: tuple[Symbol, ...] = ()
    return Figure(title, (*strokes, *band_strokes), symbols, (*band_notes, datum, *notes), ())


def _list_joints(site: Site, row: _Row) -> list[tuple[float, float, float | None]]:
    """Distance, deck and ground where each piece begins, and where the last one ends."""
    places = [(one.begin_m, one.way_m[0]) for one in row.stretches]
    places.append((row.stretches[-1].end_m, row.stretches[-1].way_m[-1]))
    joints = []
    for along, place in places:
        ground = site.ground.elevation_at(float(place[0]), float(place[1]))
        joints.append((along, float(place[2]), None if np.isnan(ground) else ground))
    return joints


def _draw_deck(site: Site, stretch: Stretch, from_m: float, sill_m: float) -> list[Stroke]:
    part = site.catalogue.part(stretch.piece.catalogue_id)
    begin, end = stretch.begin_m - from_m, stretch.end_m - from_m
    top = np.array([[begin, stretch.way_m[0][2] - sill_m], [end, stretch.way_m[-1][2] - sill_m]])
    if not isinstance(part, Section | Landing):
        return [line("plate", *top)]
    under = top[::-1] - np.array([0.0, part.frame_depth_m])
    return [Stroke("deck", np.concatenate([top, under]), "ring")]


def _draw_ground(site: Site, stretch: Stretch, from_m: float, sill_m: float) -> list[Stroke]:
    """The ground below the walking line; nothing where there is no survey."""
    along, places = _sample(stretch)
    heights = site.ground.elevation(places)
    known = ~np.isnan(heights)
    points = np.column_stack((along - from_m, heights - sill_m))
    breaks = np.nonzero(np.diff(known.astype(int)))[0] + 1
    parts = np.split(np.arange(len(known)), breaks)
    return [Stroke("ground", points[one], "line") for one in parts if known[one[0]] and len(one) > 1]


def _sample(stretch: Stretch) -> tuple[Points, Points]:
    """Distances (n,) along the way and places (n, 2), corners of the way among them."""
    way = stretch.way_m[:, :2]
    walked = stretch.begin_m + np.r_[0.0, np.cumsum(np.hypot(*np.diff(way, axis=0).T))]
    count = max(2, int(np.ceil((stretch.end_m - stretch.begin_m) / _STEP_M)) + 1)
    along = np.unique(np.r_[np.linspace(stretch.begin_m, stretch.end_m, count), walked])
    return along, np.column_stack([np.interp(along, walked, way[:, axis]) for axis in (0, 1)])


def _draw_support(standing: Standing, from_m: float, sill_m: float, scale: Scale) -> list[Stroke]:
    support = standing.support
    x = standing.along_m - from_m
    foot = support.frame_elevation_m - support.height_m - sill_m
    half = scale.to_metres(1.2)
    return [
        line("support", np.array([x, support.frame_elevation_m - sill_m]), np.array([x, foot])),
        line("support", np.array([x - half, foot]), np.array([x + half, foot])),
    ]


def _name(stretch: Stretch, from_m: float, sill_m: float, scale: Scale) -> Note:
    piece = stretch.piece
    words = piece.id
    if piece.kind in ("section", "transition_plate"):
        words = f"{piece.id}  {show_slope(piece.slope)}"
    middle = np.array(
        [
            (stretch.begin_m + stretch.end_m) / 2.0 - from_m,
            (stretch.way_m[0][2] + stretch.way_m[-1][2]) / 2.0 - sill_m + scale.to_metres(1.0),
        ]
    )
    return free_note("text-section", words, middle, _WORDS_MM, np.array([0.0, 1.0]))


def _name_supports(site: Site, stood: list[Standing], from_m: float, sill_m: float) -> list[Note]:
    """One note for each support, at its foot; l and r: its hand going down."""
    return [
        free_note(
            "text-section",
            f"{one.support.id} {one.hand[0]} {show_length(site, one.support.height_m)}",
            np.array(
                [
                    one.along_m - from_m,
                    one.support.frame_elevation_m - one.support.height_m - sill_m,
                ]
            ),
            _SMALL_MM,
            np.array([0.0, -1.0]),
        )
        for one in stood
    ]
