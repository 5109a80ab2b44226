"""A zone is drawn, or told by what it protects; what the file leaves out is usual for its kind."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import jsonschema
import numpy as np
import pytest
import shapely

from optimizer.brief.site import Site
from optimizer.brief.site_file import site_schema
from optimizer.terrain.yard import Zone
from optimizer.terrain.zone_kinds import find_zone_rule
from tests.brief.site_texts import HOUSE, LOT, RULES, START, TOP, read, refusal, to_plan

YARD = TOP + START + HOUSE + LOT + RULES


def zone_text(kind: str, rest: str) -> str:
    return f'[[zone]]\nname = "there"\nkind = "{kind}"\n{rest}\n'


def read_zone(folder: Path, kind: str, rest: str) -> tuple[Site, Zone]:
    site = read(folder, YARD + zone_text(kind, rest))
    (zone,) = site.yard.zones
    return site, zone


def by_tape(site: Site, *corners: tuple[float, float]) -> shapely.Polygon:
    """The area with these corners by tape (along the wall, out from it), site frame."""
    return shapely.Polygon([np.array(to_plan(*corner)) - site.origin_shift_m[:2] for corner in corners])


def is_area(zone: Zone, area: shapely.Polygon) -> bool:
    return bool(shapely.Polygon(zone.outline_m).symmetric_difference(area).area < 1e-9)


@pytest.mark.parametrize(
    "around",
    [
        "{ along = 2, out = 4 }",
        "[{ along = 2, out = 4 }]",
        f"[{to_plan(2, 4)[0]!r}, {to_plan(2, 4)[1]!r}]",
        f"[[{to_plan(2, 4)[0]!r}, {to_plan(2, 4)[1]!r}]]",
    ],
)
def test_around_a_place_lies_a_square_along_the_wall_of_the_usual_size(tmp_path: Path, around: str) -> None:
    site, zone = read_zone(tmp_path, "no_cover", f"around = {around}")
    reach = 36 * 0.0254
    square = by_tape(
        site, (2 - reach, 4 - reach), (2 + reach, 4 - reach), (2 + reach, 4 + reach), (2 - reach, 4 + reach)
    )
    assert is_area(zone, square)
    assert len(zone.outline_m) == 4


def test_around_a_survey_point_is_around_its_place(tmp_path: Path) -> None:
    for around in ('"B2"', '["B2"]'):
        site, zone = read_zone(tmp_path, "no_foot", f"around = {around}\ndistance = 0.5")
        assert is_area(zone, by_tape(site, (0.5, 4.5), (1.5, 4.5), (1.5, 5.5), (0.5, 5.5)))


def test_two_texts_are_two_points_and_the_zone_lies_along_their_line(tmp_path: Path) -> None:
    site, zone = read_zone(tmp_path, "no_foot", 'around = ["B1", "B3"]\ndistance = "250 mm"')
    assert is_area(zone, by_tape(site, (-6.25, 4.75), (6.25, 4.75), (6.25, 5.25), (-6.25, 5.25)))


def test_a_line_with_a_bend_has_square_corners(tmp_path: Path) -> None:
    places = "[{ along = 0, out = 3 }, { along = 4, out = 3 }, { along = 4, out = 8 }]"
    site, zone = read_zone(tmp_path, "right_of_way", f"around = {places}\ndistance = 0.5")
    band = by_tape(site, (-0.5, 2.5), (4.5, 2.5), (4.5, 8.5), (3.5, 8.5), (3.5, 3.5), (-0.5, 3.5))
    assert is_area(zone, band)
    assert shapely.LinearRing(zone.outline_m).is_ccw
    assert not zone.outline_m.flags.writeable


CLOSED = (
    "[{ along = 1, out = 3 }, { along = 2, out = 3 }, { along = 2, out = 4 }, { along = 1, out = 4 }, "
    "{ along = 1, out = 3 }]"
)


@pytest.mark.parametrize("distance_m", [0.0, 0.4])
def test_places_closed_by_the_first_again_are_an_outline(tmp_path: Path, distance_m: float) -> None:
    site, zone = read_zone(tmp_path, "vehicle", f"around = {CLOSED}\ndistance = {distance_m}")
    low, high = 1 - distance_m, 2 + distance_m
    assert is_area(zone, by_tape(site, (low, low + 2), (high, low + 2), (high, high + 2), (low, high + 2)))


def test_a_wall_of_places_round_a_yard_forbids_the_yard_within(tmp_path: Path) -> None:
    """A zone is one outline without holes, so what a ring of places encloses belongs to it."""
    open_ring = CLOSED.replace(", { along = 1, out = 3 }]", ", { along = 1, out = 3.15 }]")
    site, zone = read_zone(tmp_path, "no_build", f"around = {open_ring}\ndistance = 0.1")
    assert shapely.Polygon(zone.outline_m).contains(by_tape(site, (1.4, 3.4), (1.6, 3.4), (1.5, 3.6)))


def test_what_is_left_out_is_usual_for_the_kind_and_a_drawn_size_is_the_files_own(tmp_path: Path) -> None:
    rule = find_zone_rule("escape_window")
    _, usual = read_zone(tmp_path, "escape_window", 'around = "B2"')
    assert (usual.reason, usual.source, usual.waived_by) == (rule.reason, rule.source, rule.waived_by)
    for drawn in ('around = "B2"\ndistance = 1', 'outline = ["A1", "A2", "B2"]'):
        _, zone = read_zone(tmp_path, "escape_window", drawn)
        assert (zone.reason, zone.source) == (rule.reason, "stated in the site file")
        assert zone.waived_by == rule.waived_by


def test_the_files_own_words_come_first(tmp_path: Path) -> None:
    words = 'reason = "cellar bedroom"\nsource = "the fire marshal"\nwaived_by = "nobody"'
    _, zone = read_zone(tmp_path, "escape_window", f'around = "B2"\n{words}')
    assert (zone.reason, zone.source, zone.waived_by) == ("cellar bedroom", "the fire marshal", "nobody")


@pytest.mark.parametrize(
    ("kind", "rest", "told"),
    [
        ("no_build", "", 'zone "there": of outline and around neither is given. Give exactly one'),
        ("no_build", 'outline = ["A1", "A2", "B2"]\naround = "B2"', "of outline and around both are given"),
        ("no_build", 'outline = ["A1", "A2", "B2"]\ndistance = 1', "an outline is the zone itself"),
        ("no_build", 'around = "B2"', 'of kind "no_build" around a point covers no area: its distance is 0'),
        ("right_of_way", 'around = ["B1", "B3"]', "around a line covers no area: its distance is 0"),
        ("no_foot", 'around = "B2"\ndistance = 0', 'of kind "no_foot" around a point covers no area'),
        ("no_foot", 'around = ["B2", "B2"]', "two places of around, one after the other, are one"),
        ("no_foot", 'around = "B22"', 'zone "there": the survey has no point "B22". Did you mean "B2"?'),
        ("no_foot", 'around = ["B2", "B33"]', 'the survey has no point "B33"'),
        ("no_foot", "around = []", "has too few entries"),
        ("no_foot", 'around = "B2"\ndistance = -1', "must be at least 0"),
        ("no_foot", "around = [1, 2, 3]", "is not a place"),
        ("no_foots", 'around = "B2"', 'Did you mean "no_foot"?'),
        ("no_foot", f"around = {CLOSED.replace('along = 2, out = 4', 'along = 0, out = 3.5')}", "touches"),
    ],
)
def test_a_zone_that_cannot_be_is_refused(tmp_path: Path, kind: str, rest: str, told: str) -> None:
    refused = refusal(tmp_path, YARD + zone_text(kind, rest))
    assert told in refused
    assert refused.startswith("site.toml:")


def test_the_published_schema_takes_both_ways_to_say_where() -> None:
    validator = jsonschema.Draft202012Validator(json.loads(site_schema()))

    def is_taken(rest: str) -> bool:
        text = YARD + zone_text("no_foot", rest)
        return validator.is_valid(json.loads(json.dumps(tomllib.loads(text), default=str)))

    assert is_taken('around = "B2"')
    assert is_taken('around = ["B1", { along = 1, out = "2 m" }, [1, 2]]\ndistance = "1 ft"')
    assert is_taken('outline = ["A1", "A2", "B2"]\nsource = "x"\nwaived_by = "y"')
    assert not is_taken("around = 3")
