"""Outlines and contours as GeoJSON, read by OGR (pyogrio), a second reader."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pyogrio
import pytest
import shapely

from optimizer.drawings.build_set import find_start
from optimizer.drawings.geojson_file import build_geojson
from tests.drawings.drawn_ramps import RAMPS, Drawn, draw_ramp

#: Coordinates are written to a tenth of a millimetre.
TOLERANCE_M = 0.6e-4


def write(drawn: Drawn, folder: Path) -> Path:
    path = folder / "drawings.geojson"
    path.write_bytes(build_geojson(drawn.site, find_start(drawn.site, drawn.candidate), drawn.candidate))
    return path


@pytest.mark.parametrize("name", RAMPS)
def test_a_second_reader_finds_every_piece_in_survey_coordinates(name: str, tmp_path: Path) -> None:
    drawn = draw_ramp(name, "mm")
    _, _, geometry, (kinds, names) = pyogrio.raw.read(write(drawn, tmp_path), columns=["kind", "name"])
    shapes = dict(zip(names, shapely.from_wkb(geometry), strict=True))
    shift = drawn.site.origin_shift_m
    for piece in drawn.candidate.pieces:
        corners = np.array(piece.corners_m)
        found = np.array(shapes[piece.id].exterior.coords)[:-1]
        assert found.shape[0] == 4
        for corner in corners + shift:
            assert np.abs(found[:, :2] - corner[:2]).max(axis=1).min() < TOLERANCE_M
        assert shapely.is_ccw(shapes[piece.id].exterior)
    assert (kinds == "leg").sum() == len(drawn.candidate.legs)
    assert (kinds == "lot line").sum() == 1
    assert (kinds == "house").sum() == len(drawn.site.yard.house_m)


def test_contours_lie_on_the_ground_at_their_level(tmp_path: Path) -> None:
    drawn = draw_ramp("quarter turn right", "mm")
    path = write(drawn, tmp_path)
    features = json.loads(path.read_text(encoding="utf-8"))["features"]
    contours = [one for one in features if one["properties"]["kind"] == "contour"]
    assert len(contours) > 5
    for contour in contours:
        points = np.array(contour["geometry"]["coordinates"]) - drawn.site.origin_shift_m[:2]
        # Middles of its pieces: an end may be rounded to beyond the survey's edge.
        middles = (points[:-1] + points[1:]) / 2.0
        heights = drawn.site.ground.elevation(middles) + drawn.site.origin_shift_m[2]
        assert np.abs(heights - contour["properties"]["elevation_m"]).max() < 1e-3


def test_the_file_says_that_it_is_local(tmp_path: Path) -> None:
    told = json.loads(write(draw_ramp("straight", "mm"), tmp_path).read_text(encoding="utf-8"))
    assert told["coordinates"] == "local"
    assert "not longitude and latitude" in told["note"]
