"""The demo scenes are sound, and each is as awkward as a scene has to be."""

import datetime
import json
import math
import tomllib
from pathlib import Path

import jsonschema
import numpy as np
import pytest
from numpy.typing import NDArray

from optimizer.brief.read_site import read_site, read_surveyed_site
from optimizer.brief.site_file import site_schema

SCENES = Path(__file__).parents[2] / "scenes"
NAMES = (
    "crowded-garden",
    "fall-to-street",
    "hillside",
    "leg-gap",
    "level-book",
    "no-room",
    "phone-scan",
    "porch-steps",
    "retaining-wall",
    "rise-away",
    "side-yard",
)


def test_every_scene_is_tested_here() -> None:
    assert tuple(sorted(folder.name for folder in SCENES.iterdir() if folder.is_dir())) == NAMES


@pytest.mark.parametrize("name", NAMES)
def test_the_scene_is_read_and_its_levels_cover_the_yard(name: str) -> None:
    site = read_site(SCENES / name)
    assert 12 <= len(site.ground.points_m) <= (1500 if name == "phone-scan" else 26)
    assert site.ground.leave_one_out_m is not None
    assert site.ground.leave_one_out_m < 0.02
    start = site.yard.starts[0]
    (before_door_m,) = site.ground.elevation((start.midpoint_m + 0.5 * start.outward)[None, :])
    assert 0.4 < start.threshold_m - before_door_m < 1.5
    assert np.abs(site.ground.points_m).max() < 30


@pytest.mark.parametrize("name", NAMES)
def test_the_ground_falls_unequally_in_x_and_y_and_the_door_faces_no_axis(name: str) -> None:
    site = read_site(SCENES / name)
    points_m = site.ground.points_m
    plane = np.column_stack((points_m[:, :2], np.ones(len(points_m))))
    (fall_x, fall_y, _), *_ = np.linalg.lstsq(plane, points_m[:, 2], rcond=None)
    assert min(abs(fall_x), abs(fall_y)) > 0.002
    assert abs(abs(fall_x) - abs(fall_y)) > 0.002
    out_x, out_y = site.yard.starts[0].outward
    turned_deg = math.degrees(math.atan2(out_y, out_x)) % 45
    assert 5 < turned_deg < 40


def test_one_scene_lies_far_from_its_survey_s_origin_and_all_are_shifted_near() -> None:
    shifts_m = [read_site(SCENES / name).origin_shift_m for name in NAMES]
    assert max(float(np.hypot(*shift[:2])) for shift in shifts_m) > 500_000
    for name in NAMES:
        assert np.abs(read_site(SCENES / name).yard.starts[0].midpoint_m).max() < 1


def test_the_levels_are_oddly_spaced_and_no_two_columns_of_them_are_alike() -> None:
    for name in NAMES:
        points_m = read_site(SCENES / name).ground.points_m[:, :2]
        away_m = np.hypot(*(points_m[:, None] - points_m[None]).transpose(2, 0, 1))
        nearest_m = np.sort(np.where(away_m > 0.0, away_m, np.inf).min(axis=1))
        assert nearest_m[-1] > 1.2 * nearest_m[0], name
        assert len(np.unique(np.round(nearest_m, 2))) > 4, name


def test_a_zone_drawn_around_something_takes_its_usual_size_and_may_say_who_waives_it() -> None:
    zones = {zone.name: zone for zone in read_site(SCENES / "crowded-garden").yard.zones}
    meter, roots = zones["before the meter"], zones["roots of the apple tree"]
    across_m, out_m = np.ptp(meter.outline_m @ _wall_axes("crowded-garden"), axis=0)
    assert across_m == pytest.approx(1.1 * 0.3048 + 2 * 0.9144)
    assert out_m == pytest.approx(0.6 * 0.3048 + 2 * 0.9144)
    assert meter.waived_by == "the electricity supplier, who may move the meter"
    assert roots.source == "stated in the site file"
    assert zones["drain cover"].waived_by == "the owner of what lies below"


def _wall_axes(name: str) -> NDArray[np.float64]:
    """(2, 2): columns along the wall and out from it."""
    out_x, out_y = read_site(SCENES / name).yard.starts[0].outward
    return np.array([[out_y, out_x], [-out_x, out_y]])


def test_the_crowded_scene_has_eight_obstacles_and_six_kinds_of_zones() -> None:
    yard = read_site(SCENES / "crowded-garden").yard
    assert len(yard.obstacles) >= 8
    assert {zone.kind for zone in yard.zones} == {
        "no_cover",
        "drip_line",
        "no_foot",
        "headroom",
        "keep_walkable",
        "escape_window",
    }


def test_the_scenes_are_written_in_both_systems_of_units() -> None:
    units = {tomllib.loads((SCENES / n / "site.toml").read_text(encoding="utf-8"))["unit"] for n in NAMES}
    assert units == {"ft", "m"}


def test_the_scenes_use_every_demo_catalogue_many_rule_sets_and_both_ways_to_survey() -> None:
    sites = [read_site(SCENES / name) for name in NAMES]
    assert {site.catalogue.id for site in sites} == {"demo-inch", "demo-millimetre", "demo-gap"}
    bound = [(one.rules.id, one.role) for site in sites for one in site.rulings.sets]
    assert {name for name, role in bound if role == "binding"} == {
        "ada-2010",
        "irc-2015",
        "ireland-tgdm-dwellings",
        "own-limits",
    }
    assert ("ada-2010", "guide") in bound
    assert any(sum(one.role == "binding" for one in site.rulings.sets) > 1 for site in sites)
    assert {site.rulings.facts.works for site in sites} >= {"new", "existing"}
    assert any(site.rulings.facts.space_limited_reason for site in sites)
    assert {site.yard.starts[0].kind for site in sites} == {"landing", "over_steps", "edge"}
    headers = {path.read_text(encoding="utf-8").splitlines()[0] for path in SCENES.glob("*/levels.csv")}
    assert {"along_wall" in header for header in headers} == {True, False}


def test_the_scenes_are_surveyed_by_spot_levels_level_books_and_a_scan() -> None:
    surveyed = [read_surveyed_site(SCENES / name).surveyed for name in NAMES]
    assert {file.kind for one in surveyed for file in one.files} == {"spots", "level_book"}
    assert sum(one.scan is not None for one in surveyed) == 1


@pytest.mark.parametrize("name", NAMES)
def test_the_scene_has_a_readme_of_five_lines(name: str) -> None:
    lines = (SCENES / name / "README.md").read_text(encoding="utf-8").splitlines()
    assert len(lines) == 5
    assert any(line.startswith("Hard: ") for line in lines)
    assert any(line.startswith("A good answer ") for line in lines)


@pytest.mark.parametrize("name", NAMES)
def test_the_scene_meets_the_published_schema(name: str) -> None:
    values = tomllib.loads((SCENES / name / "site.toml").read_text(encoding="utf-8"))
    plain = json.loads(json.dumps(values, default=datetime.date.isoformat))
    jsonschema.Draft202012Validator(json.loads(site_schema())).validate(plain)
