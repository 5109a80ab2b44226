"""A yard built in code is the yard of the site folder that says the same; faults name the argument."""

from __future__ import annotations

import dataclasses
import datetime
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from optimizer.brief.read_site import read_site
from optimizer.brief.site import Site
from optimizer.brief.site_in_code import (
    BoundSet,
    BreakLineAt,
    JobFacts,
    ObstacleAt,
    StartAt,
    ZoneAt,
    build_site,
    default_display,
    default_rider,
    default_search,
    default_wishes,
)
from optimizer.catalogue.demo_files import demo_catalogue_path, demo_rates_path
from optimizer.catalogue.read_catalogue import read_catalogue
from optimizer.catalogue.read_rates import read_rates
from optimizer.errors import InputError
from optimizer.rulebook.own_limits import OwnLimits, build_own_limits
from optimizer.search.solve_shapes import solve_shapes
from tests.brief.site_texts import HOUSE, LOT, RULES, SPOTS, START, TOP, read, to_plan

DOOR = StartAt(
    name="door", midpoint_m=(10, 5), outward_deg=30, threshold_m=100.55, clear_width_m=0.9, swing="in",
    hinge_side="left",
)  # fmt: skip
LEVELS = [(*to_plan(along, out), 100 + round(level, 2)) for _, along, out, level in SPOTS]
YARD: dict[str, Any] = {
    "spots": [(x, y, float(f"{z:.2f}")) for x, y, z in LEVELS],
    "lot": [(-20, -20), (40, -20), (40, 40), (-20, 40)],
    "house": [(9.95, 4.9), (2.95, 17.02), (-5, 5), (13.45, -1.16)],
    "starts": [DOOR],
    "facts": JobFacts(works="new", closer="no"),
    "dated": datetime.date(2026, 1, 15),
}
#: A step across the yard, its ends at surveyed points of the rim, the foot 0.25 m below.
WALL_TOP = [(*to_plan(along, 7), 99.75) for along in (-6, 0, 6)]
WALL_FOOT = [(x, y, z - 0.25) for x, y, z in WALL_TOP]


def build(**changes: object) -> Site:
    arguments: dict[str, Any] = {**YARD, **changes}
    return build_site("yard", **arguments)


def refusal(**changes: object) -> str:
    with pytest.raises(InputError) as caught:
        build(**changes)
    return str(caught.value)


def assert_same(one: object, other: object, name: str = "site") -> None:
    """Field by field, arrays number by number; names of points and where it was read from differ."""
    if isinstance(one, np.ndarray):
        assert isinstance(other, np.ndarray), name
        assert np.array_equal(one, other), name
        assert one.flags.writeable is other.flags.writeable is False, name
    elif dataclasses.is_dataclass(one):
        assert type(one) is type(other)
        for field in dataclasses.fields(one):
            if field.name not in ("path", "point_names") and field.compare:
                inner = f"{name}.{field.name}"
                assert_same(getattr(one, field.name), getattr(other, field.name), inner)
    elif isinstance(one, tuple):
        assert isinstance(other, tuple), name
        assert len(one) == len(other), name
        for index, (left, right) in enumerate(zip(one, other, strict=True)):
            assert_same(left, right, f"{name}[{index}]")
    else:
        assert one == other, name


def test_a_plain_yard_is_the_one_of_its_folder(tmp_path: Path) -> None:
    assert_same(build(), read(tmp_path, TOP + START + HOUSE + LOT + RULES))


def test_a_yard_with_everything_is_the_one_of_its_folder(tmp_path: Path) -> None:
    text = TOP + START + 'drop = "20 mm"\ngap = 0.03\n' + HOUSE + LOT
    text += 'setback = 0.4\nsetback_kind = "needs_relief"\nrelief_price = "250.05"\n' + RULES
    text += """
[ground]
bedding = 0.02
longest_edge = 9
[[break_line]]
name = "wall"
top = ["T0", "T1", "T2"]
foot = ["F0", "F1", "F2"]
high_side = "left"
[[obstacle]]
name = "slab"
outline = [[14, 6], [15, 6], [15, 7], [14, 7]]
top = 100.1
may_stand = true
[[zone]]
name = "valve"
kind = "no_foot"
around = [16, 9]
distance = 0.5
[[zone]]
name = "eaves"
kind = "headroom"
outline = [[12, 3], [13, 3], [13, 4]]
underside = 102.6
headroom = 2.03
[[arrival]]
outline = [[14, 4], [20, 4], [20, 12], [14, 12]]
[destination]
at = [19, 10]
[rider]
device_length = 1.3
device_width = 0.8
total_mass_kg = 210.5
propulsion = "powered"
better_hand = "right"
[wishes]
steepest = "1:14"
clear_width = 0.95
exits = ["left", "front"]
most_turns = 1
guard_above = 0.7
rail_landings_above = 0.2
shown = 2
slopes = "equal"
prefer_side = "left"
must_pass = [[15, 8]]
landing_at = [[16, 7.5]]
longest_between_rests = 7
survey_error = 0.01
steps = "wanted"
[search]
lattice = 0.2
finest_lattice = 0.1
height_step = 0.005
slope_levels = 3
flattest_share = 0.5
most_runs = 3
longest_run = 8
time_limit_s = 12.5
seed = 7
[display]
system = "m"
step = 0.01
"""
    rows = [
        f"{mark}{index},{x!r},{y!r},{z!r}"
        for mark, points in (("T", WALL_TOP), ("F", WALL_FOOT))
        for index, (x, y, z) in enumerate(points)
    ]
    spots = "\n".join(
        [
            "name,x_m,y_m,elevation_m",
            *(f"S{i},{x!r},{y!r},{z!r}" for i, (x, y, z) in enumerate(YARD["spots"])),
            *rows,
        ]
    )
    read_back = read(tmp_path, text, spots + "\n")
    wishes = replace(
        default_wishes(), steepest=1 / 14, clear_width_m=0.95, exits=("left", "front"), most_turns=1,
        guard_above_m=0.7, rail_landings_above_m=0.2, shown=2, slopes="equal", prefer_side="left",
        must_pass_m=(np.array([15, 8]),), landing_at_m=(np.array([16, 7.5]),), longest_between_rests_m=7,
        survey_error_m=0.01, steps="wanted",
    )  # fmt: skip
    search = replace(
        default_search("m"), lattice_m=0.2, finest_lattice_m=0.1, height_step_m=0.005, slope_levels=3,
        flattest_share=0.5, most_runs=3, longest_run_m=8, time_limit_s=12.5, seed=7,
    )  # fmt: skip
    built = build(
        spots=np.array(YARD["spots"]),
        starts=(replace(DOOR, drop_m=0.02, gap_m=0.03),),
        setback_m=0.4,
        setback_kind="needs_relief",
        relief_cents=25005,
        bedding_m=0.02,
        longest_edge_m=9,
        break_lines=[BreakLineAt(name="wall", top_m=WALL_TOP, foot_m=WALL_FOOT, high_side="left")],
        obstacles=[
            ObstacleAt(
                name="slab", outline_m=[(14, 6), (15, 6), (15, 7), (14, 7)], top_m=100.1, may_stand=True
            )
        ],
        zones=[
            ZoneAt(name="valve", kind="no_foot", around_m=[(16, 9)], distance_m=0.5),
            ZoneAt(
                name="eaves",
                kind="headroom",
                outline_m=np.array([(12, 3), (13, 3), (13, 4)]),
                underside_m=102.6,
                headroom_m=2.03,
            ),
        ],
        arrivals=[[(14, 4), (20, 4), (20, 12), (14, 12)]],
        destination=(19, 10),
        rider=replace(
            default_rider(),
            device_length_m=1.3,
            device_width_m=0.8,
            total_mass_kg=210.5,
            propulsion="powered",
            better_hand="right",
        ),
        wishes=wishes,
        search=search,
        display=replace(default_display("m"), system="m", step_m=0.01),
    )
    assert_same(built, read_back)
    assert built.ground.elevation_at(*(built.ground.points_m[-1, :2])) == pytest.approx(
        99.75 - built.origin_shift_m[2]
    )


def test_the_search_gives_both_the_same_answer(tmp_path: Path) -> None:
    text = TOP + START + HOUSE + LOT + RULES + "[search]\nmost_runs = 2\n[wishes]\nclear_width = 0.9\n"
    built = build(
        search=replace(default_search("m"), most_runs=2), wishes=replace(default_wishes(), clear_width_m=0.9)
    )
    one, other = solve_shapes(built), solve_shapes(read(tmp_path, text))
    assert one.status == other.status == "optimal_on_lattice"
    assert [shape.cost_cents for shape in one.shapes] == [shape.cost_cents for shape in other.shapes]


def test_the_defaults_are_those_of_a_site_that_says_nothing(tmp_path: Path) -> None:
    site = read(tmp_path, TOP + START + HOUSE + LOT + RULES)
    assert (default_wishes(), default_rider()) == (site.wishes, site.rider)
    assert (default_search("m"), default_display("m")) == (site.search, site.display)
    inches = default_search("in")
    assert (inches.lattice_m, inches.height_step_m) == (0.1524, 0.00254)
    assert default_display("ft").system == "ft-in"


def test_parts_rates_and_rules_may_be_given_themselves() -> None:
    parts, rates = (
        read_catalogue(demo_catalogue_path("demo-gap")),
        read_rates(demo_rates_path("demo-rates-usd")),
    )
    rules = build_own_limits(OwnLimits(steepest=0.1, unit="mm"), "rules")
    site = build(catalogue=parts, rates=rates, rules=rules)
    assert site.catalogue is parts
    assert site.rates is rates
    assert site.rulings.sets == (BoundSet(rules, "binding", "authority"),)
    assert build(catalogue=demo_catalogue_path("demo-gap")).catalogue == parts


def test_without_a_date_the_site_carries_that_of_the_rates() -> None:
    site = build(dated=None)
    assert site.dated == site.rates.dated.isoformat()


def test_a_point_of_a_break_line_that_is_a_spot_is_not_surveyed_twice() -> None:
    line = [YARD["spots"][3], YARD["spots"][4], YARD["spots"][5]]
    site = build(break_lines=[BreakLineAt(name="crease", points_m=line)])
    assert len(site.ground.points_m) == len(YARD["spots"])


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"spots": [(0, 0), (1, 1)]}, "spots: it has the shape (2, 2). Give rows of three numbers"),
        ({"spots": [(0, 0, 1), (1, 1)]}, "spots: its rows are not of one length."),
        ({"spots": [("a", "b", "c")]}, "spots: it holds something that is not a number."),
        ({"spots": [*YARD["spots"][:-1], (19, 8, float("nan"))]}, 'spots[8]: point "spots[8]" has a coord'),
        ({"spots": YARD["spots"][:2]}, "spots: the ground has 2 survey points."),
        ({"house": [(0, 0), (1, 1)]}, "house: "),
        ({"house": [(0, 0, 0), (1, 1, 0), (2, 0, 0)]}, "house[0]: "),
        ({"lot": [(0, 0), (9, 9), (9, 0), (0, 9)]}, "lot: lot: the outline crosses or touches itself"),
        ({"setback_m": -0.1}, "setback_m: "),
        ({"setback_m": 40}, "setback_m: the setback of 40.000 m leaves nothing of the lot."),
        ({"relief_cents": 100}, "relief_cents: lot: "),
        ({"relief_cents": 1.5, "setback_m": 1, "setback_kind": "needs_relief"}, "relief_cents: lot: "),
        ({"starts": []}, "starts: start = [] has too few entries."),
        ({"starts": DOOR}, "starts: this is a StartAt. Give a list of StartAt."),
        ({"starts": [{"name": "door"}]}, "starts[0]: this is a dict. Give a StartAt."),
        ({"starts": [replace(DOOR, threshold_m=float("inf"))]}, "starts[0].threshold_m: "),
        ({"starts": [replace(DOOR, clear_width_m=0.0)]}, "starts[0].clear_width_m: "),
        ({"starts": [replace(DOOR, swing=None)]}, "starts[0].swing: "),
        ({"starts": [replace(DOOR, outward_deg=None)]}, "starts[0].wall_m: "),
        ({"starts": [replace(DOOR, threshold_m=110.0)]}, 'starts[0]: the threshold of start "door"'),
        ({"obstacles": [ObstacleAt(name="a", outline_m=[(0, 0)])]}, "obstacles[0].outline_m: "),
        ({"zones": [ZoneAt(name="a", kind="no_foot")]}, "zones[0].around_m: "),
        (
            {"break_lines": [BreakLineAt(name="a", points_m=[(0, 0)])]},
            "break_lines[0].points_m: it has the shape (1, 2).",
        ),
        (
            {"break_lines": [BreakLineAt(name="a", top_m=WALL_TOP, foot_m=WALL_FOOT)]},
            "break_lines[0].high_side: ",
        ),
        (
            {
                "break_lines": [
                    BreakLineAt(name="a", top_m=WALL_TOP, foot_m=WALL_FOOT[::-1], high_side="left")
                ]
            },
            "break_lines[0].foot_m[0]: ",
        ),
        ({"arrivals": [[(0, 0), (1, 1), (2, 2)]]}, "arrivals[0]: "),
        ({"destination": (1, 2, 3)}, "destination: "),
        ({"catalogue": "demo-inches"}, 'catalogue: catalogue = "demo-inches" names no file'),
        ({"rates": "demo-rates-eur"}, 'rates: the rates "demo-rates-eur" are in EUR'),
        ({"rules": "ada"}, 'rules: "ada" is no known rule set.'),
        ({"rules": "own-limits"}, 'rules: "own-limits" has no numbers of its own.'),
        ({"rider": replace(default_rider(), total_mass_kg=0.0)}, "rider.total_mass_kg: "),
        ({"wishes": replace(default_wishes(), shown=0)}, "wishes.shown: "),
        ({"wishes": replace(default_wishes(), steepest=float("nan"))}, "wishes.steepest: "),
        ({"wishes": replace(default_wishes(), must_pass_m=((99, 99),))}, "wishes.must_pass_m[0]: "),
        ({"wishes": default_search("m")}, "wishes: this is a SearchSettings. Give a Wishes."),
        (
            {"search": replace(default_search("m"), finest_lattice_m=0.04)},
            "search.finest_lattice_m: search: finest_lattice = 0.04 m does not divide",
        ),
        ({"bedding_m": float("nan")}, "bedding_m: "),
        ({"longest_edge_m": 0.5}, "longest edge"),
    ],
)
def test_bad_input_is_refused_at_its_argument(changes: dict[str, Any], said: str) -> None:
    refused = refusal(**changes)
    assert said in refused, refused


def test_every_fault_is_told_at_once() -> None:
    refused = refusal(setback_m=-1, rules="ada", catalogue="none", starts=[replace(DOOR, clear_width_m=-1)])
    for argument in ("setback_m: ", "rules: ", "catalogue: ", "starts[0].clear_width_m: "):
        assert f"\n{argument}" in f"\n{refused}"


def test_places_in_faults_are_in_the_coordinates_given() -> None:
    assert "(99.000, 99.000) m" in refusal(wishes=replace(default_wishes(), must_pass_m=((99, 99),)))


def test_a_folder_still_tells_file_and_line(tmp_path: Path) -> None:
    (tmp_path / "levels.csv").write_text("name,x_m,y_m,elevation_m\nA,0,0,0\n")
    (tmp_path / "site.toml").write_text(TOP + START + HOUSE + LOT + "setback = -1\n" + RULES)
    with pytest.raises(InputError, match=r"site\.toml:\d+: lot: setback"):
        read_site(tmp_path)
