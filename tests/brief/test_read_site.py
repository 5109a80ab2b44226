"""A site file says the same thing in several ways; all of them must come out as the same site."""

import json
import math
import tomllib
from pathlib import Path

import jsonschema
import numpy as np
import pytest

from optimizer.brief.read_site import read_site
from optimizer.brief.site import DisplayUnits, SearchSettings, Wishes
from optimizer.brief.site_file import site_schema
from tests.brief.site_texts import (
    FOOT_M,
    HOUSE,
    LOT,
    RULES,
    START,
    TAPE_LEVELS,
    TOP,
    levels,
    read,
    refusal,
    to_plan,
)


def test_a_site_is_read_from_its_folder_or_its_file(tmp_path: Path) -> None:
    site = read(tmp_path, TOP + START + HOUSE + LOT + RULES)
    assert read_site(tmp_path / "site.toml").origin_shift_m.tolist() == site.origin_shift_m.tolist()
    assert site.path == tmp_path / "site.toml"
    assert site.dated == "2026-01-15"


def test_the_site_frame_is_shifted_by_whole_metres_to_the_sill(tmp_path: Path) -> None:
    far = START.replace("[10, 5]", "[500010.25, 4200005.75]").replace("100.55", "-3.45")
    house = "\n[house]\noutline = [[500000, 4200000], [500005, 4200000], [500005, 4200004]]\n"
    lot = "\n[lot]\noutline = [[499980, 4199980], [500040, 4199980], [500040, 4200040], [499980, 4200040]]\n"
    site = read(tmp_path, TOP + far + house + lot + RULES, levels((500010.25, 4200005.75), -4.0))
    start = site.yard.starts[0]
    assert site.origin_shift_m.tolist() == [500010.0, 4200005.0, -4.0]
    assert start.midpoint_m.tolist() == [0.25, 0.75]
    assert start.threshold_m == pytest.approx(0.55, abs=1e-12)
    assert np.allclose(
        site.ground.points_m[1] + site.origin_shift_m, [500010.25, 4200005.75, -3.98], atol=1e-9
    )
    assert np.abs(site.yard.lot_m).max() < 64


def test_the_wall_gives_the_outward_direction_left_end_first_as_seen_from_outside(tmp_path: Path) -> None:
    (left_x, left_y), (right_x, right_y) = to_plan(1.5, 0), to_plan(-1.5, 0)
    wall = f"wall = [[{left_x!r}, {left_y!r}], [{right_x!r}, {right_y!r}]]"
    site = read(tmp_path, TOP + START.replace("outward_deg = 30", wall) + HOUSE + LOT + RULES)
    angle = math.radians(30)
    assert site.yard.starts[0].outward.tolist() == pytest.approx(
        [math.cos(angle), math.sin(angle)], abs=1e-12
    )


def test_survey_points_by_tape_lie_where_their_coordinates_would(tmp_path: Path) -> None:
    site = TOP + START + HOUSE + LOT + RULES
    assert np.allclose(
        read(tmp_path, site, TAPE_LEVELS).ground.points_m, read(tmp_path, site).ground.points_m, atol=1e-12
    )


def test_a_place_by_name_by_coordinates_and_by_tape_is_one_place(tmp_path: Path) -> None:
    x, y = to_plan(6, 5)
    for place in (f"[{x!r}, {y!r}]", '"B3"', "{ along = 6, out = 5 }", '{ along = "6000 mm", out = 5 }'):
        site = read(tmp_path, TOP + START + HOUSE + LOT + RULES + f"[destination]\nat = {place}\n")
        assert site.yard.destination_m is not None
        assert site.yard.destination_m + site.origin_shift_m[:2] == pytest.approx([x, y], abs=1e-12)


def test_outlines_come_out_counter_clockwise_open_and_read_only(tmp_path: Path) -> None:
    clockwise = "[[-20, -20], [-20, 40], [40, 40], [40, -20], [-20, -20]]"
    lot = LOT.replace("[[-20, -20], [40, -20], [40, 40], [-20, 40]]", clockwise)
    ring = read(tmp_path, TOP + START + HOUSE + lot + RULES).yard.lot_m
    x, y = ring.T
    assert len(ring) == 4
    assert float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))) == 2 * 60 * 60
    assert not ring.flags.writeable


def test_a_site_in_feet_is_the_same_site(tmp_path: Path) -> None:
    """Typed lengths are exact, so the same lengths in other units are the same floats."""
    metres = TOP + START.replace("[10, 5]", "[9.144, 4.572]").replace("100.55", "30.6324") + RULES
    metres += "[house]\noutline = [[8.8392, 4.572], [8.8392, 17.0688], [-6.096, 4.572]]\n"
    metres += "[lot]\noutline = [[-30.48, -30.48], [60.96, -30.48], [60.96, 60.96]]\nsetback = 0.3048\n"
    feet = TOP.replace('"m"', '"ft"') + START.replace("[10, 5]", '[30, "15\' 0\\""]').replace(
        "100.55", "100.5"
    )
    feet = feet.replace("clear_width = 0.9", 'clear_width = "900 mm"') + RULES
    feet += '[house]\noutline = [[29, 15], ["348 in", 56], [-20, 15]]\n'
    feet += '[lot]\noutline = [[-100, -100], [200, -100], [200, 200]]\nsetback = "12 in"\n'
    spots = levels((9.144, 4.572), 30.0)
    one, other = read(tmp_path, metres, spots), read(tmp_path, feet, spots)
    for name in ("midpoint_m", "threshold_m", "drop_m", "gap_m", "clear_width_m", "outward"):
        assert np.array_equal(getattr(one.yard.starts[0], name), getattr(other.yard.starts[0], name)), name
    assert np.array_equal(one.yard.house_m[0], other.yard.house_m[0])
    assert np.array_equal(one.yard.lot_m, other.yard.lot_m)
    assert one.yard.setback_m == other.yard.setback_m == FOOT_M


def test_what_is_left_out_takes_the_documented_default(tmp_path: Path) -> None:
    site = read(tmp_path, TOP + START + HOUSE + LOT + RULES)
    start = site.yard.starts[0]
    assert (start.drop_m, start.gap_m, site.bedding_m, site.yard.setback_m) == (0.0127, 0.01905, 0.0127, 0.0)
    assert site.wishes == Wishes(
        steepest=None,
        clear_width_m=None,
        exits=("front", "left", "right"),
        most_turns=None,
        guard_above_m=0.762,
        rail_landings_above_m=0.1524,
        shown=5,
        slopes="free",
        prefer_side="either",
        must_pass_m=(),
        landing_at_m=(),
        longest_between_rests_m=None,
        survey_error_m=0.0,
        steps="none",
    )
    assert site.search == SearchSettings(0.15, 0.05, 0.0025, 5, 0.6, None, 14.0, 60.0, 1)
    assert (site.yard.setback_kind, site.yard.relief_cents) == ("hard", 0)
    assert site.display == DisplayUnits("mm", 0.001)
    assert (site.rider.device_length_m, site.rider.device_width_m, site.rider.total_mass_kg) == (
        1.1,
        0.7,
        180.0,
    )
    assert (site.yard.obstacles, site.yard.zones, site.yard.arrivals_m, site.yard.destination_m) == (
        (),
        (),
        (),
        None,
    )


@pytest.mark.parametrize(
    ("unit", "system", "step_m", "lattice"),
    [
        ("ft", "ft-in", 0.003175, (0.1524, 0.0508, 0.00254)),
        ("in", "in", 0.003175, (0.1524, 0.0508, 0.00254)),
        ("cm", "mm", 0.001, (0.15, 0.05, 0.0025)),
    ],
)
def test_display_and_lattice_follow_the_unit(
    tmp_path: Path, unit: str, system: str, step_m: float, lattice: tuple[float, float, float]
) -> None:
    text = TOP.replace('"m"', f'"{unit}"') + START.replace("[10, 5]", '["10 m", "5 m"]')
    text = text.replace("100.55", '"100.55 m"').replace("clear_width = 0.9", 'clear_width = "0.9 m"') + RULES
    text += '[house]\noutline = [["9.9 m", "5 m"], ["9.9 m", "15 m"], ["0 m", "5 m"]]\n'
    text += '[lot]\noutline = [["-50 m", "-50 m"], ["50 m", "-50 m"], ["50 m", "50 m"], ["-50 m", "50 m"]]\n'
    site = read(tmp_path, text)
    assert (site.display.system, site.display.step_m) == (system, step_m)
    search = site.search
    assert (search.lattice_m, search.finest_lattice_m, search.height_step_m) == lattice


def test_a_mass_in_pounds_is_kilograms_inside(tmp_path: Path) -> None:
    site = read(tmp_path, TOP + START + HOUSE + LOT + RULES + "[rider]\ntotal_mass_lb = 300\n")
    assert site.rider.total_mass_kg == 300 * 0.45359237


def test_own_limits_are_the_numbers_given(tmp_path: Path) -> None:
    rules = '[rules]\nset = "own-limits"\n[rules.own]\nsteepest = "1:10"\nclear_width = "900 mm"\n'
    limits = read(tmp_path, TOP + START + HOUSE + LOT + rules).rulings.sets[0].rules
    assert limits.id == "own-limits"
    slope, width = limits.limit("running_slope"), limits.limit("clear_width")
    assert slope is not None
    assert width is not None
    assert (slope.value_si, width.value_si, width.value, width.unit) == (0.1, 0.9, 900.0, "mm")


@pytest.mark.parametrize(
    ("rules", "told"),
    [
        ('[rules]\nset = "own-limits"\n', '"own-limits" needs numbers'),
        ('[rules]\nset = "ada-2010"\n[rules.own]\nsteepest = "1:10"\n', "has its own numbers"),
    ],
)
def test_own_numbers_belong_to_own_limits_only(tmp_path: Path, rules: str, told: str) -> None:
    assert told in refusal(tmp_path, TOP + START + HOUSE + LOT + rules)


STEP = """
[[break_line]]
name = "wall"
top = ["W1", "W2"]
foot = ["V1", "V2"]
high_side = "right"
"""
STEP_LEVELS = TAPE_LEVELS + "W1,-6,7,99.9\nW2,6,7,99.8\nV1,-6,7,99.5\nV2,6,7,99.45\n"


def test_a_step_has_its_top_on_the_high_side(tmp_path: Path) -> None:
    site = read(tmp_path, TOP + START + HOUSE + LOT + RULES + STEP, STEP_LEVELS)
    shift = site.origin_shift_m
    near, beyond = np.array(to_plan(0, 6.999)) - shift[:2], np.array(to_plan(0, 7.001)) - shift[:2]
    above, below = site.ground.elevation(np.array([near, beyond])) + shift[2]
    assert above == pytest.approx(99.85, abs=1e-3)
    assert below == pytest.approx(99.475, abs=1e-3)


def test_a_foot_beside_its_top_is_refused(tmp_path: Path) -> None:
    told = refusal(
        tmp_path, TOP + START + HOUSE + LOT + RULES + STEP, STEP_LEVELS.replace("V2,6,", "V2,5.9,")
    )
    assert 'break_line "wall": the foot "V2" lies 0.100 m beside its top "W2" in plan.' in told


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('foot = ["V1", "V2"]', 'foot = ["V1"]', "has too few entries"),
        ('foot = ["V1", "V2"]\n', "", "neither a crease nor a step"),
        ('high_side = "right"\n', "", "a step needs its high side"),
        ('top = ["W1", "W2"]', 'top = ["W1", "W2", "W1"]', "top has 3 points and foot 2"),
        ('"W1", "W2"]\n', '"W1", "W2"]\npoints = ["A1", "A2"]\n', "neither a crease nor a step"),
        ('"W1"', '"W11"', 'the survey has no point "W11". Did you mean "W1"?'),
    ],
)
def test_a_half_given_step_is_refused(tmp_path: Path, old: str, new: str, told: str) -> None:
    assert told in refusal(tmp_path, TOP + START + HOUSE + LOT + RULES + STEP.replace(old, new), STEP_LEVELS)


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("outward_deg = 30\n", "", "of outward_deg and wall neither is given"),
        ("outward_deg = 30\n", 'outward_deg = 30\nwall = ["A1", "A3"]\n', "wall both are given"),
        ("outward_deg = 30\n", "wall = [[1, 1], [1, 1]]\n", "the two places of wall are one"),
        ('swing = "in"\n', "", "a door needs swing"),
        ('kind = "landing"', 'kind = "edge"', "an edge has no door"),
        ("midpoint = [10, 5]", "midpoint = { along = 0, out = 0 }", "cannot be measured from itself"),
        ("midpoint = [10, 5]", "midpoint = [10, 5, 0]", "[10, 5, 0] is not a place"),
        ("midpoint = [10, 5]", "midpoint = { along = 1 }", 'the key "out" is missing'),
        ("midpoint = [10, 5]", "midpoint = { along = 1, outt = 2 }", 'Did you mean "out"?'),
        ("threshold = 100.55", "threshold = 110.55", "is 10.530 m above the nearest ground (0 to 3 m"),
    ],
)  # fmt: skip
def test_a_start_that_cannot_be_is_refused(tmp_path: Path, old: str, new: str, told: str) -> None:
    assert told in refusal(tmp_path, TOP + START.replace(old, new) + HOUSE + LOT + RULES)


def test_the_first_start_cannot_be_a_point_measured_from_it(tmp_path: Path) -> None:
    start = START.replace("midpoint = [10, 5]", 'midpoint = "A2"')
    told = refusal(tmp_path, TOP + start + HOUSE + LOT + RULES, TAPE_LEVELS)
    assert 'site.toml:11: start "door": the first start cannot be measured from itself' in told
    assert read(tmp_path, TOP + start + HOUSE + LOT + RULES).yard.starts[0].midpoint_m.tolist() == [0.0, 0.0]


@pytest.mark.parametrize(
    ("table", "told"),
    [
        ('kind = "headroom"\nheadroom = 2\n', 'a zone of kind "headroom" needs underside'),
        ('kind = "no_foot"\nunderside = 102\n', 'a zone of kind "no_foot" has none'),
    ],
)
def test_only_overhead_zones_have_an_underside(tmp_path: Path, table: str, told: str) -> None:
    zone = f'[[zone]]\nname = "porch"\nreason = "roof"\noutline = ["A1", "A2", "B2"]\n{table}'
    assert told in refusal(tmp_path, TOP + START + HOUSE + LOT + RULES + zone)


def test_feet_may_stand_only_on_something_with_a_top(tmp_path: Path) -> None:
    obstacle = '[[obstacle]]\nname = "slab"\noutline = ["B1", "B2", "C2"]\nmay_stand = true\n'
    assert "its top is not given" in refusal(tmp_path, TOP + START + HOUSE + LOT + RULES + obstacle)


def test_a_name_given_twice_is_refused(tmp_path: Path) -> None:
    obstacle = '[[obstacle]]\nname = "bed"\noutline = ["B1", "B2", "C2"]\n'
    told = refusal(tmp_path, TOP + START + HOUSE + LOT + RULES + obstacle + obstacle)
    assert 'the name "bed" is given to two tables [[obstacle]]' in told


def test_a_point_name_in_two_survey_files_is_refused(tmp_path: Path) -> None:
    (tmp_path / "more.csv").write_text("name,x_m,y_m,elevation_m\nB2,1,1,100\n", encoding="utf-8")
    told = refusal(
        tmp_path, TOP.replace('"levels.csv"', '"levels.csv", "more.csv"') + START + HOUSE + LOT + RULES
    )
    assert told.startswith('more.csv:2: the name "B2" is taken by the point at levels.csv:6.')


def test_faults_of_a_far_survey_are_told_in_its_own_coordinates(tmp_path: Path) -> None:
    start = START.replace("[10, 5]", "[500010, 4200005]")
    rest = "\n[house]\noutline = [[500000, 4200000], [500005, 4200000], [500005, 4200004]]\n" + RULES
    lot = "\n[lot]\noutline = [[499980, 4199980], [500040, 4199980], [500040, 4200040], [499980, 4200040]]\n"
    spots = levels((500010, 4200005)) + "D1,500010,4200005,100.9\n"
    told = refusal(tmp_path, TOP + start + rest + lot, spots)
    assert told.startswith(
        'levels.csv:3: points "A2", "D1" are in one place, (500010.000, 4200005.000) m, but'
    )


def test_the_published_schema_takes_the_file_and_refuses_an_unknown_key() -> None:
    schema = json.loads(site_schema())
    text = TOP + START + HOUSE + LOT + RULES + STEP + '[destination]\nat = { along = 1, out = "2 m" }\n'
    values = json.loads(json.dumps(tomllib.loads(text), default=str))
    validator = jsonschema.Draft202012Validator(schema)
    assert not list(validator.iter_errors(values))
    assert list(validator.iter_errors({**values, "survy": 1}))
    assert list(validator.iter_errors({**values, "destination": {"at": [1]}}))


def test_elevations_of_tops_and_undersides_are_above_the_survey_s_datum(tmp_path: Path) -> None:
    extra = '[[obstacle]]\nname = "bed"\noutline = ["B1", "B2", "C2"]\ntop = 100.25\nmay_stand = true\n'
    extra += '[[zone]]\nname = "porch"\nkind = "headroom"\nreason = "roof"\noutline = ["A1", "A2", "B2"]\n'
    extra += "underside = 102.75\nheadroom = 2.05\n"
    site = read(tmp_path, TOP + START + HOUSE + LOT + RULES + extra)
    (bed,), (porch,), datum_m = site.yard.obstacles, site.yard.zones, float(site.origin_shift_m[2])
    assert datum_m == 100.0
    assert (bed.top_m, bed.may_stand) == (0.25, True)
    assert (porch.underside_m, porch.headroom_m) == (2.75, 2.05)


def test_a_stated_longest_edge_leaves_points_further_apart_unjoined(tmp_path: Path) -> None:
    told = refusal(tmp_path, f"{TOP}{START}{HOUSE}{LOT}{RULES}[ground]\nlongest_edge = 3\n")
    assert "its neighbours are further than 3 m away" in told


def test_a_stated_outline_bounds_the_surveyed_ground(tmp_path: Path) -> None:
    names = '["A1", "A2", "A3", "B3", "B2", "B1"]'
    site = read(tmp_path, f"{TOP}{START}{HOUSE}{LOT}{RULES}[ground]\noutline = {names}\n")
    inside, outside = (np.array(to_plan(0, out)) - site.origin_shift_m[:2] for out in (4.9, 5.1))
    known = np.isfinite(site.ground.elevation(np.array([inside, outside])))
    assert known.tolist() == [True, False]


def test_a_crease_keeps_the_triangles_on_either_side_of_it(tmp_path: Path) -> None:
    """Four corners of a saddle: the ridge decides which way the square is cut."""
    crease = '[[break_line]]\nname = "ridge"\npoints = ["A1", "B2"]\n'
    site = read(tmp_path, TOP + START + HOUSE + LOT + RULES + crease)
    half_way = np.array(to_plan(-2.5, 2.5)) - site.origin_shift_m[:2]
    (level,) = site.ground.elevation(half_way[None, :])
    assert level + site.origin_shift_m[2] == pytest.approx(100 + (0.06 - 0.19) / 2, abs=1e-9)
    assert [line.name for line in site.ground.break_lines] == ["ridge"]
