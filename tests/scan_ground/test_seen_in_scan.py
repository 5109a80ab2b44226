"""What stands in the yard and what cannot be told, from the scan to the plan."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
import shapely

from optimizer.brief.read_site import read_surveyed_site
from optimizer.cli import run_command
from optimizer.errors import InputError
from tests.ground_scan.plain_clouds import flat, upright
from tests.scan_ground.made_scenes import move, read_own_scan, write_scene
from tests.scenes.phone_scan_yard import THINGS, ground_level, to_survey

Out = pytest.CaptureFixture[str]
STEP_M = 0.18


def say(along: float, out: float, what: str) -> str:
    return f'[[scan.thing]]\nnear = {{ along = {along}, out = {out} }}\nwhat = "{what}"\n'


def test_every_thing_of_the_yard_is_found_once_with_its_top_and_is_an_obstacle_unless_it_is_gone(
    tmp_path: Path,
) -> None:
    scene = write_scene(tmp_path, read_own_scan(), say(7.3, 1.1, "gone"))
    read = read_surveyed_site(scene)
    drawn = [thing for thing in THINGS if (thing.along_m, thing.out_m) != (2.9, 8.1)]  # the bench is drawn
    assert len(read.seen.things) == len(drawn)
    for thing in drawn:
        place = shapely.Point(to_survey(np.array([thing.along_m]), np.array([thing.out_m]))[0])
        (found,) = [one for one in read.seen.things if shapely.Polygon(one.outline_m).contains(place)]
        assert found.above_m == pytest.approx(thing.high_m, abs=0.12)
        assert found.said == ("gone" if thing.along_m == 7.3 else "unconfirmed")
    names = {one.name for one in read.site.yard.obstacles}
    assert len(names & {one.name for one in read.seen.things}) == len(drawn) - 1
    assert any(
        "3 things are seen in the scan and taken as obstacles" in one.what for one in read.site.heights.doubts
    )


def test_an_unconfirmed_thing_before_the_door_is_not_built_through(tmp_path: Path, capsys: Out) -> None:
    rng = np.random.default_rng(4)
    # A crate of 0.6 m where the cheapest ramp of the scene runs.
    ends = ((-0.4, -0.4, 0.4, -0.4), (-0.4, 0.4, 0.4, 0.4), (-0.4, -0.4, -0.4, 0.4), (0.4, -0.4, 0.4, 0.4))
    sides = [upright(700, one, (0.0, 0.6), rng) for one in ends]
    crate = np.vstack((flat(900, (-0.4, 0.4, -0.4, 0.4), 0.6, rng), *sides))
    cloud = read_own_scan()
    place = move(np.zeros((1, 3)), -2.5, 0.9, 0.0)[0]
    inside = (np.abs(cloud[:, :2] - place[:2]) < 0.4).all(axis=1)
    scene = write_scene(tmp_path, np.vstack((cloud[~inside], crate + place)))
    told = run_command(["plan", str(scene), "--out", str(tmp_path / "with"), "--pictures", "none"])
    shown = capsys.readouterr().out
    assert told in (0, 1)
    assert "taken as obstacles until you say otherwise" in " ".join(shown.split())
    site = read_surveyed_site(scene).site
    middle = place[:2] - site.origin_shift_m[:2]
    box = shapely.box(*(middle - 0.4), *(middle + 0.4))
    plan = json.loads((tmp_path / "with" / "plan.json").read_text(encoding="utf-8"))
    assert plan["candidates"]
    for candidate in plan["candidates"]:
        for piece in candidate["pieces"]:
            outline = shapely.Polygon([corner[:2] for corner in piece["corners_m"]])
            assert outline.intersection(box).area < 0.02


def test_something_before_the_door_is_refused_with_the_words_that_settle_it(
    tmp_path: Path, capsys: Out
) -> None:
    rng = np.random.default_rng(9)
    ends = ((-0.3, -0.1, 0.3, -0.1), (-0.3, 0.3, 0.3, 0.3), (-0.3, -0.1, -0.3, 0.3), (0.3, -0.1, 0.3, 0.3))
    sides = [upright(500, one, (0.0, 0.5), rng) for one in ends]
    box = np.vstack((flat(900, (-0.3, 0.3, -0.1, 0.3), 0.5, rng), *sides))
    # The door looks along the yard's own out; a box of 0.5 m stands before it.
    turned = to_survey(box[:, 0], box[:, 1] + 0.35) - to_survey(np.zeros(1), np.zeros(1))[0]
    crate = move(np.column_stack((turned, box[:, 2])), 0.0, 0.0, 0.0)
    cloud = np.vstack((read_own_scan(), crate))
    scene = write_scene(tmp_path, cloud)
    assert run_command(["ground", str(scene), "--out", str(tmp_path / "out")]) == 3
    told = capsys.readouterr().err
    assert 'm high before start "back door"' in told
    near = told.split("near = ")[1].split(", what")[0]
    (tmp_path / "said").mkdir()
    said = f'[[scan.thing]]\nnear = {near}\nwhat = "gone"\n'
    read = read_surveyed_site(write_scene(tmp_path / "said", cloud, said))
    assert "gone" in {one.said for one in read.seen.things}


def test_a_thing_called_ground_is_ground_again(tmp_path: Path) -> None:
    cloud = read_own_scan()
    place = move(np.zeros((1, 3)), 3.2, 5.2, 0.0)[0]
    near = np.hypot(*(cloud[:, :2] - place[:2]).T) < 0.6
    cloud[near, 2] += 0.35  # a mound with steep sides, sown with grass
    scene = write_scene(tmp_path, cloud)
    before = read_surveyed_site(scene)
    at = shapely.Point(place[:2])
    inside = [one for one in before.seen.things if shapely.Polygon(one.outline_m).contains(at)]
    assert len(inside) == 1
    (tmp_path / "said").mkdir()
    after = read_surveyed_site(write_scene(tmp_path / "said", cloud, say(3.2, 5.2, "ground")))
    shift = after.site.origin_shift_m
    level = after.site.ground.elevation_at(*(place[:2] - shift[:2])) + shift[2]
    assert level == pytest.approx(float(ground_level(np.array([3.2]), np.array([5.2]))[0]) + 0.35, abs=0.05)
    middle = shapely.Point(place[:2] - shift[:2])
    assert not any(shapely.Polygon(one.outline_m).contains(middle) for one in after.site.yard.obstacles)


def test_a_terrace_is_found_woven_in_and_both_its_sides_keep_their_level(tmp_path: Path) -> None:
    cloud = read_own_scan()
    corners = to_survey(np.array([1.4, 6.9, 6.9, 1.4]), np.array([4.1, 4.1, 5.6, 5.6]))
    low = shapely.contains_xy(shapely.Polygon(corners), cloud[:, :2])
    cloud[low, 2] -= STEP_M
    read = read_surveyed_site(write_scene(tmp_path, cloud))
    woven = {line.name for line in read.site.ground.break_lines}
    lines = [line for line in read.seen.lines if line.name in woven]
    assert sum(shapely.LineString(line.xy_m).length for line in lines) > 3.0
    for line in lines:
        assert np.median(line.top_m - line.foot_m) == pytest.approx(STEP_M, abs=0.03)
    shift = read.site.origin_shift_m
    along = np.linspace(2.4, 5.9, 8)
    for out, drop in ((3.8, 0.0), (4.4, STEP_M), (4.85, STEP_M)):
        spots = to_survey(along, np.full(8, out))
        level = read.site.ground.elevation(spots - shift[:2]) + shift[2]
        assert np.abs(level - ground_level(along, np.full(8, out)) + drop).max() < 0.05


def test_a_step_from_the_wall_to_the_rim_is_woven_in(tmp_path: Path) -> None:
    cloud = read_own_scan()
    # A corner of the yard beside the wall is 18 cm lower, from the wall to the edge of the scan.
    corners = to_survey(np.array([1.9, 12.0, 12.0, 1.9]), np.array([-1.0, -1.0, 2.3, 2.3]))
    low = shapely.contains_xy(shapely.Polygon(corners), cloud[:, :2])
    marks = shapely.contains_xy(shapely.Polygon(corners), to_survey(np.array([4.4]), np.array([1.3])))
    assert marks.all()
    cloud[low, 2] -= STEP_M
    read = read_surveyed_site(write_scene(tmp_path, cloud))
    woven = {line.name for line in read.site.ground.break_lines}
    assert sum(shapely.LineString(one.xy_m).length for one in read.seen.lines if one.name in woven) > 6.0
    # G2 was levelled before the ground there sank: it contradicts the scan, and stops the ordering of legs.
    assert 'until levelled point "G2" is shot again' in read.site.heights.warning


def test_a_post_and_a_rail_square_to_the_wall_are_things(tmp_path: Path) -> None:
    rng = np.random.default_rng(12)
    turns = rng.uniform(0.0, 2.0 * np.pi, 1200)
    post = np.column_stack((0.06 * np.cos(turns), 0.06 * np.sin(turns), rng.uniform(0.0, 1.5, 1200)))
    rail = upright(4000, (0.0, 0.1, 0.0, 2.0), (0.0, 1.0), rng) + rng.normal(0.0, 0.02, (4000, 3)) * [1, 0, 0]
    turned = to_survey(rail[:, 0] + 3.4, rail[:, 1])
    level = ground_level(rail[:, 0] + 3.4, rail[:, 1])
    cloud = np.vstack(
        (read_own_scan(), move(post, -3.0, 3.3, 0.0), np.column_stack((turned, rail[:, 2] + level)))
    )
    things = read_surveyed_site(write_scene(tmp_path, cloud)).seen.things
    for along, out in ((-3.0, 3.3), (3.4, 1.2)):
        spot = shapely.Point(to_survey(np.array([along]), np.array([out]))[0])
        assert any(shapely.Polygon(one.outline_m).distance(spot) < 0.12 for one in things), (along, out)


def test_a_thing_taller_than_it_is_drawn_is_told_as_well(tmp_path: Path) -> None:
    rng = np.random.default_rng(13)
    tall = flat(3000, (-0.5, 0.5, -0.3, 0.3), 1.6, rng)
    cloud = np.vstack((read_own_scan(), move(tall, 2.9, 8.1, 0.0)))
    scene = write_scene(tmp_path, cloud)
    site = scene / "site.toml"
    text = site.read_text(encoding="utf-8")
    site.write_text(text.replace('name = "bench"\n', 'name = "bench"\ntop = 21.05\n'), encoding="utf-8")
    spot = shapely.Point(to_survey(np.array([2.9]), np.array([8.1]))[0])
    things = read_surveyed_site(scene).seen.things
    assert any(shapely.Polygon(one.outline_m).contains(spot) and one.above_m > 1.3 for one in things)


def test_two_tables_on_one_thing_are_refused(tmp_path: Path) -> None:
    said = say(7.3, 1.1, "gone") + say(7.28, 1.1, "obstacle")
    with pytest.raises(InputError, match="another table speaks of scan thing"):
        read_surveyed_site(write_scene(tmp_path, read_own_scan(), said))


def test_what_hangs_cannot_be_called_ground(tmp_path: Path) -> None:
    rng = np.random.default_rng(14)
    branch = flat(3000, (-0.6, 0.6, -0.6, 0.6), 2.4, rng)
    cloud = np.vstack((read_own_scan(), move(branch, 2.5, 4.0, 0.0)))
    with pytest.raises(InputError, match="m high and cannot be ground"):
        read_surveyed_site(write_scene(tmp_path, cloud, say(2.5, 4.0, "ground")))


def test_a_place_where_the_scan_shows_nothing_is_refused_with_the_nearest_thing(tmp_path: Path) -> None:
    scene = write_scene(tmp_path, read_own_scan(), say(0.0, 3.0, "gone"))
    with pytest.raises(InputError) as caught:
        read_surveyed_site(scene)
    assert "the scan shows nothing there; scan thing" in str(caught.value)
    assert "site.toml:" in str(caught.value)


def room(rng: np.random.Generator) -> np.ndarray:
    walls = [(-3, 0.3, 3, 0.3), (-3, 0.3, -3, 5), (3, 0.3, 3, 5), (-3, 5, 3, 5)]
    sides = [upright(9000, ends, (0.0, 2.5), rng) for ends in walls]
    return np.concatenate([flat(30_000, (-3, 3, 0.3, 5), z, rng) for z in (0.0, 2.5)] + sides)


def one_wall(rng: np.random.Generator) -> np.ndarray:
    return upright(60_000, (-3, 1, 3, 3), (0.0, 5.0), rng)


def water(rng: np.random.Generator) -> np.ndarray:
    cloud = flat(20_000, (-4, 4, 0.5, 8), 0.0, rng)
    cloud[:, 2] = -np.abs(0.8 * rng.standard_normal(len(cloud)))
    return cloud


def one_cell(rng: np.random.Generator) -> np.ndarray:
    return flat(20_000, (1.0, 1.05, 1.0, 1.05), 0.0, rng)


@pytest.mark.parametrize("make", [room, one_wall, water, one_cell])
def test_a_cloud_that_is_no_yard_ends_with_bad_input_and_nothing_is_written(
    make: object, tmp_path: Path, capsys: Out
) -> None:
    rng = np.random.default_rng(3)
    cloud = make(rng)  # type: ignore[operator]
    turned = np.column_stack((to_survey(cloud[:, 0], cloud[:, 1]), cloud[:, 2] + 20.9))
    scene = write_scene(tmp_path, turned + 0.008 * rng.standard_normal(turned.shape))
    for command in ("ground", "plan"):
        out = tmp_path / command
        assert run_command([command, str(scene), "--out", str(out)]) == 3
        assert "yard.laz" in capsys.readouterr().err
        assert not out.exists() or not list(out.iterdir())


def test_a_storey_above_is_left_out_with_a_reason(tmp_path: Path, capsys: Out) -> None:
    rng = np.random.default_rng(8)
    deck = flat(9000, (-5.5, -1.0, 5.5, 9.0), 2.6, rng)
    turned = np.column_stack((to_survey(deck[:, 0], deck[:, 1]), deck[:, 2] + 20.6))
    cloud = read_own_scan()
    scene = write_scene(tmp_path, np.vstack((cloud, turned)))
    assert run_command(["ground", str(scene), "--out", str(tmp_path / "out"), "--pictures", "none"]) == 0
    shown = " ".join(capsys.readouterr().out.split())
    assert "hangs" in shown
    site = read_surveyed_site(scene).site
    spots = to_survey(np.linspace(-5.0, -2.0, 7), np.full(7, 7.0)) - site.origin_shift_m[:2]
    level = site.ground.elevation(spots) + site.origin_shift_m[2]
    known = np.isfinite(level)
    assert np.abs(level - ground_level(np.linspace(-5.0, -2.0, 7), np.full(7, 7.0)))[known].max() < 0.06
    assert any(zone.kind == "headroom" for zone in site.yard.zones)
