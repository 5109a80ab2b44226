"""Outlines and contours as GeoJSON, in the survey's own coordinates and labelled as such."""

from __future__ import annotations

import json
from typing import Final, Literal

import numpy as np

from optimizer.brief.site import Site
from optimizer.drawings.contours import choose_every, trace_contours
from optimizer.plan import Candidate
from optimizer.terrain.yard import Points, Start

#: A tenth of a millimetre: finer says nothing.
_PLACES: Final = 4
_NOTE: Final = (
    "Local plane coordinates in metres, x and y as in the survey: not longitude and latitude, so no map "
    "services apply before the file is placed. Elevations in metres above the survey's datum."
)
_Feature = dict[str, object]


def build_geojson(site: Site, start: Start, candidate: Candidate) -> bytes:
    """A feature for each outline, leg and contour line; ``kind`` says what, ``name`` which.

    RFC 7946 means longitude and latitude; a foreign member says that these are local metres.
    """
    shift = np.asarray(site.origin_shift_m)
    yard = site.yard
    features = [_describe("lot line", "", "Polygon", yard.lot_m, shift, None)]
    features += [_describe("house", "", "Polygon", one, shift, None) for one in yard.house_m]
    features += [
        _describe("obstacle", one.name, "Polygon", one.outline_m, shift, None) for one in yard.obstacles
    ]
    features += [_describe("zone", one.name, "Polygon", one.outline_m, shift, None) for one in yard.zones]
    for contour in trace_contours(site.ground, choose_every(start.threshold_m, site.display.system)):
        level_m = contour.level_m + start.threshold_m
        features.append(_describe("contour", "", "LineString", contour.line_m, shift, level_m))
    for piece in candidate.pieces:
        corners = np.array(piece.corners_m)
        features.append(_describe(piece.kind.replace("_", " "), piece.id, "Polygon", corners, shift, None))
    space = np.array(candidate.toe.bottom_space_m)
    features.append(_describe("bottom space", "", "Polygon", space, shift, None))
    for leg in candidate.legs:
        place = np.array([[leg.x_m, leg.y_m]])
        features.append(_describe("leg", leg.id, "Point", place, shift, leg.ground_elevation_m))
    collection = {
        "type": "FeatureCollection",
        "name": f"{site.name}, {candidate.name}",
        "coordinates": "local",
        "note": _NOTE,
        "features": features,
    }
    return (json.dumps(collection, indent=1, ensure_ascii=False) + "\n").encode("utf-8")


def _describe(
    kind: str,
    name: str,
    shape: Literal["Polygon", "LineString", "Point"],
    points_m: Points,
    shift_m: Points,
    elevation_m: float | None,
) -> _Feature:
    points = _place(points_m, shift_m)
    coordinates: object = points
    if shape == "Polygon":
        coordinates = [_wind([*points, points[0]])]
    elif shape == "Point":
        (coordinates,) = points
    properties: _Feature = {"kind": kind, "name": name}
    if elevation_m is not None:
        properties["elevation_m"] = round(elevation_m + float(shift_m[2]), _PLACES)
    return {
        "type": "Feature",
        "properties": properties,
        "geometry": {"type": shape, "coordinates": coordinates},
    }


def _place(points_m: Points, shift_m: Points) -> list[list[float]]:
    """In survey coordinates, with as many axes as the points have."""
    moved = np.asarray(points_m) + shift_m[: np.shape(points_m)[1]]
    return [[round(float(value), _PLACES) + 0.0 for value in point] for point in moved]


def _wind(ring: list[list[float]]) -> list[list[float]]:
    """Counter-clockwise, as RFC 7946 asks of outer rings."""
    x, y = np.array(ring)[:, :2].T
    area = float(np.sum(x[:-1] * y[1:] - x[1:] * y[:-1]))
    return ring if area >= 0.0 else ring[::-1]
