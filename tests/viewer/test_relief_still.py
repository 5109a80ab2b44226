"""The picture of the ground: what is in it, told without drawing it."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from optimizer.brief.read_site import read_site, read_surveyed_site
from optimizer.terrain.ground_quality import find_thin_places
from viewer.control_marks import list_control_marks
from viewer.relief_still import build_foot, build_heading, is_of_scan, list_relief_meshes

SCENES = Path(__file__).parents[2] / "scenes"


def test_every_surveyed_point_has_a_peg_that_stands_on_it() -> None:
    site = read_site(SCENES / "level-book")
    (pegs,) = [mesh for mesh in list_relief_meshes(site, ()) if mesh.name == "levelled points"]
    for point in site.ground.points_m:
        away = np.hypot(*(pegs.vertices[:, :2] - point[:2]).T)
        assert away.min() < 0.06
        near = pegs.vertices[away < 0.06]
        assert near[:, 2].min() < point[2] < near[:, 2].max()


def test_thin_places_are_ringed() -> None:
    site = read_site(SCENES / "level-book")
    (rings,) = [mesh for mesh in list_relief_meshes(site, ()) if mesh.name == "thin places"]
    for place in find_thin_places(site.ground):
        away = np.hypot(*(rings.vertices[:, :2] - place[:2]).T)
        assert 0.25 < away.min() < 0.45


def test_points_of_a_scan_are_told_from_levelled_ones() -> None:
    site = read_site(SCENES / "phone-scan")
    assert list(np.flatnonzero(~is_of_scan(site))) == [0, 1, 2, 3]
    figures = dict(build_heading(site).figures)
    assert figures["levelled points"] == "4"
    assert int(figures["points of the scan"]) == len(site.ground.points_m) - 4
    assert "Rings: thin ground" in build_foot(site, ())


def test_control_points_are_named_and_a_missed_or_doubted_one_is_told() -> None:
    read = read_surveyed_site(SCENES / "phone-scan")
    marks = {one.lines[0]: one for one in list_control_marks(read)}
    assert set(marks) == {*(f"control C{number}" for number in range(1, 6)), "check K1"}
    assert marks["check K1"].lines[1] == "missed by 7 mm"
    listed = tuple(marks.values())
    (stakes,) = [one for one in list_relief_meshes(read.site, listed) if one.name == "control points"]
    middle = stakes.vertices.reshape(len(marks), -1, 3).mean(axis=1)
    assert np.allclose(middle[:, :2], [one.at_m[:2] for one in listed], atol=1e-6)
    assert "Stakes: control points" in build_foot(read.site, listed)
