"""The scanned scene against the yard it was made from, and its two files against each other."""

from __future__ import annotations

import math
import shutil
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np

from optimizer.brief.read_site import SurveyedSite, read_surveyed_site
from optimizer.brief.thin_places import list_thin_places
from optimizer.terrain.ground_quality import find_thin_places
from tests.scenes.answered_scenes import SCENES
from tests.scenes.phone_scan_yard import ground_level, scan_points, to_survey, write_files

FOLDER = SCENES / "phone-scan"


@cache
def read_scene() -> SurveyedSite:
    return read_surveyed_site(FOLDER)


def test_the_ground_is_that_of_the_yard_and_its_stated_error_is_honest() -> None:
    site = read_scene().site
    rng = np.random.default_rng(3)
    along, out = rng.uniform(-7.5, 8.0, 20_000), rng.uniform(0.3, 9.0, 20_000)
    found_m = site.ground.elevation(to_survey(along, out) - site.origin_shift_m[:2]) + site.origin_shift_m[2]
    assert np.isfinite(found_m).all()
    off_m = found_m - ground_level(along, out)
    usual_m = float(np.sqrt(np.mean(off_m**2)))
    assert usual_m < 0.010
    assert np.abs(off_m).max() < 0.06  # at the rims of shrubs
    assert np.mean(np.abs(off_m) > 0.03) < 0.005
    stated_m = site.ground.leave_one_out_m
    assert stated_m is not None
    assert 0.5 * usual_m < stated_m < 2.0 * usual_m


def test_the_ground_reaches_the_foot_of_the_wall_where_the_landing_stands() -> None:
    site = read_scene().site
    along = np.linspace(-5.5, 4.5, 200)
    for out_m in (0.0, 0.05, 0.2):
        out = np.full(200, out_m)
        found_m = site.ground.elevation(to_survey(along, out) - site.origin_shift_m[:2])
        off_m = found_m + site.origin_shift_m[2] - ground_level(along, out)
        assert np.isfinite(off_m).all()
        assert np.abs(off_m).max() < 0.04


def test_even_ground_with_few_points_is_not_thin_but_what_a_thing_hides_is() -> None:
    site = read_scene().site
    seen = site.heights.seen_m
    assert seen is not None
    assert len(find_thin_places(site.ground)) > 20
    assert len(list_thin_places(site)) == 0
    # As if nothing had been seen within 1.2 m of one of them.
    place = find_thin_places(site.ground)[0, :2] + site.origin_shift_m[:2]
    kept = np.hypot(*(seen - place).T) > 1.2
    blind = replace(site, heights=replace(site.heights, seen_m=seen[kept]))
    found = list_thin_places(blind)[:, :2] + site.origin_shift_m[:2]
    assert len(found) > 0
    assert np.hypot(*(found - place).T).max() < 1.2


def test_the_search_gets_few_enough_points() -> None:
    assert len(read_scene().site.ground.points_m) <= 1500


def test_the_mesh_file_of_the_same_scan_gives_the_same_ground(tmp_path: Path) -> None:
    shutil.copytree(FOLDER, tmp_path / "glb")
    path = tmp_path / "glb" / "site.toml"
    text = path.read_text(encoding="utf-8")
    assert text.count('"yard.laz"') == text.count('up = "z"') == 1
    text = text.replace('"yard.laz"', '"yard.glb"').replace('up = "z"', 'up = "y"')
    path.write_text(text, encoding="utf-8")
    laz, glb = read_scene(), read_surveyed_site(tmp_path / "glb")
    assert laz.scan_ground is not None
    assert glb.scan_ground is not None
    xy = laz.scan_ground.xyz_m[:, :2] - laz.site.origin_shift_m[:2]
    off_m = laz.site.ground.elevation(xy) - glb.site.ground.elevation(xy)
    # LAZ rounds to a millimetre and each cell has its own few points, so vertices differ within the bound.
    assert float(np.nanpercentile(np.abs(off_m), 95)) < laz.scan_ground.vertices.bound_m


def test_levels_that_did_not_make_the_ground_agree_with_it() -> None:
    ground = read_scene().scan_ground
    assert ground is not None
    assert [one.name for one in ground.met] == ["G1", "G2", "G3", "G4"]
    assert math.sqrt(np.mean([one.off_m**2 for one in ground.met])) < 0.010


def test_no_point_of_the_scan_is_taken_beside_a_levelled_one() -> None:
    read = read_scene()
    assert read.scan_ground is not None
    levels = read.surveyed.spots[0].xyz_m
    away = read.scan_ground.xyz_m[:, None, :2] - levels[None, :, :2]
    assert np.hypot(away[..., 0], away[..., 1]).min() > 0.5


def test_the_files_of_the_scene_are_those_its_generator_makes(tmp_path: Path) -> None:
    write_files(tmp_path)
    for name in ("control.csv", "book.csv"):
        assert (tmp_path / name).read_bytes() == (FOLDER / name).read_bytes()
    assert (tmp_path / "yard.glb").read_bytes() == (FOLDER / "yard.glb").read_bytes()
    assert sum((FOLDER / name).stat().st_size for name in ("yard.laz", "yard.glb")) < 1_000_000
    assert len(scan_points()) > 30_000
