import json
import math
import tomllib
from pathlib import Path

import jsonschema
import pytest

from optimizer.catalogue.demo_files import (
    DEMO_CATALOGUES,
    demo_catalogue_path,
    demo_rates_path,
    find_catalogue,
    find_rates,
)
from optimizer.catalogue.parts import Catalogue, Leg, LowSupport, RailPanel
from optimizer.catalogue.read_catalogue import catalogue_schema, read_catalogue
from optimizer.errors import InputError
from optimizer.units import TOLERANCE_M, is_at_least, is_at_most

INCH_M = 0.0254
MILLIMETRE_M = 0.001


@pytest.fixture(params=DEMO_CATALOGUES)
def catalogue(request: pytest.FixtureRequest) -> Catalogue:
    return read_catalogue(demo_catalogue_path(request.param))


def usable_heights(catalogue: Catalogue) -> list[tuple[float, float]]:
    """Heights some support serves, ends in metres, overlapping ranges joined, lowest first."""
    ranges = sorted(
        [(leg.min_m + leg.reserve_m, leg.max_m - leg.reserve_m) for leg in catalogue.legs]
        + [(low.min_m, low.max_m) for low in catalogue.low_supports]
    )
    joined = [ranges[0]]
    for low, high in ranges[1:]:
        if low <= joined[-1][1]:
            joined[-1] = (joined[-1][0], max(high, joined[-1][1]))
        else:
            joined.append((low, high))
    return joined


def hinge_window(catalogue: Catalogue, slope: float, plate_m: float) -> float:
    """Play in metres of the hinge above level ground with this plate (negative: it cannot be laid)."""
    lowest = min(section.frame_depth_m for section in catalogue.sections) + min(
        low.min_m for low in catalogue.low_supports
    )
    return plate_m * slope / math.hypot(1.0, slope) - lowest


@pytest.mark.parametrize("demo_id", DEMO_CATALOGUES)
def test_a_demo_catalogue_carries_the_id_it_is_found_by(demo_id: str) -> None:
    assert read_catalogue(demo_catalogue_path(demo_id)).id == demo_id


@pytest.mark.parametrize("demo_id", DEMO_CATALOGUES)
def test_a_demo_catalogue_obeys_the_published_schema(demo_id: str) -> None:
    values = tomllib.loads(demo_catalogue_path(demo_id).read_text(encoding="utf-8"))
    jsonschema.validate(values, json.loads(catalogue_schema()))


def test_millimetre_sections_have_no_common_divisor_over_10_mm() -> None:
    sections = read_catalogue(demo_catalogue_path("demo-millimetre")).sections
    lengths_mm = [section.pitch_m / MILLIMETRE_M for section in sections]
    assert all(abs(length - round(length)) < 1e-9 for length in lengths_mm)
    assert math.gcd(*(round(length) for length in lengths_mm)) <= 10


def test_the_gap_catalogue_leaves_heights_that_no_support_serves() -> None:
    (_, below), (above, top) = usable_heights(read_catalogue(demo_catalogue_path("demo-gap")))
    assert below == pytest.approx(14 * INCH_M, abs=TOLERANCE_M)
    assert above == pytest.approx(22 * INCH_M, abs=TOLERANCE_M)
    assert top == pytest.approx(40 * INCH_M, abs=TOLERANCE_M)


def test_the_gap_can_be_spanned_by_the_longest_section_alone_at_one_in_twelve() -> None:
    gap = read_catalogue(demo_catalogue_path("demo-gap"))
    (_, below), (above, _) = usable_heights(gap)
    run_of_one_drop = math.hypot(12.0, 1.0)  # surface length that drops one unit at 1:12
    spans = [section.id for section in gap.sections if section.pitch_m >= run_of_one_drop * (above - below)]
    assert spans == ["section-114"]


@pytest.mark.parametrize("demo_id", ["demo-inch", "demo-millimetre"])
def test_the_other_catalogues_serve_every_height_up_to_60_inches(demo_id: str) -> None:
    heights = usable_heights(read_catalogue(demo_catalogue_path(demo_id)))
    assert len(heights) == 1
    assert heights[0][0] <= 0.25 * INCH_M + TOLERANCE_M
    assert heights[0][1] >= 60 * INCH_M


@pytest.mark.parametrize("slope", [1 / 12, 1 / 16])
def test_the_hinge_has_an_inch_of_play_with_the_longest_plate(catalogue: Catalogue, slope: float) -> None:
    longest = max(plate.length_m for plate in catalogue.transition_plates)
    assert hinge_window(catalogue, slope, longest) > 0.024


def test_every_plate_can_be_laid_at_one_in_twelve(catalogue: Catalogue) -> None:
    assert (
        min(hinge_window(catalogue, 1 / 12, plate.length_m) for plate in catalogue.transition_plates) > 0.004
    )


def test_a_reserve_of_25_mm_is_kept_by_every_leg(catalogue: Catalogue) -> None:
    assert all(leg.reserve_m >= 0.025 - TOLERANCE_M for leg in catalogue.legs)


def test_legs_over_about_two_feet_are_braced(catalogue: Catalogue) -> None:
    """Common practice, no source."""
    assert all(0.59 < leg.brace_above_m < 0.62 for leg in catalogue.legs)


def test_sizes_meet_the_ada_limits_they_are_meant_for(catalogue: Catalogue) -> None:
    """ADA 2010: 405.5 (36 in), 405.7.3 and 405.7.4 (60 in), 505.10.1 (12 in), 405.9.2 (4 in)."""
    for section in catalogue.sections:
        assert is_at_least(section.clear_width_m, 36 * INCH_M)
        assert is_at_least(section.curb_height_m, 4 * INCH_M)
    for landing in catalogue.landings:
        assert is_at_least(landing.clear_length_m, 60 * INCH_M)
        assert is_at_least(landing.curb_height_m, 4 * INCH_M)
        if landing.uses != {"straight"}:
            assert is_at_least(landing.clear_width_m, 60 * INCH_M)
    for end in catalogue.rail_ends:
        assert is_at_least(end.extension_m, 12 * INCH_M)
    for pad in catalogue.bottom_pads:
        assert is_at_least(min(pad.length_m, pad.width_m), 60 * INCH_M)


def test_rails_meet_the_ada_limits_of_height_and_grip(catalogue: Catalogue) -> None:
    """ADA 2010: 505.4 (34 to 38 in), 505.7.1 (1 1/4 to 2 in)."""
    for panel in catalogue.rail_panels:
        assert is_at_least(panel.height_m, 34 * INCH_M)
        assert is_at_most(panel.height_m, 38 * INCH_M)
        assert is_at_least(panel.grip_diameter_m, 1.25 * INCH_M)
        assert is_at_most(panel.grip_diameter_m, 2 * INCH_M)
        assert panel.largest_opening_m < 4 * INCH_M


def test_every_use_of_a_landing_and_two_lanes_are_served(catalogue: Catalogue) -> None:
    width_m = min(section.overall_width_m for section in catalogue.sections)
    assert {use for landing in catalogue.landings for use in landing.uses} == {
        "door",
        "straight",
        "quarter",
        "half",
    }
    for landing in catalogue.landings:
        lanes_m = 2 * width_m + catalogue.piece_gap_m if "half" in landing.uses else width_m
        assert is_at_least(landing.width_m, lanes_m)
    assert all(is_at_least(plate.width_m, width_m) for plate in catalogue.transition_plates)


def test_rail_panels_are_as_long_as_the_edges_they_stand_on(catalogue: Catalogue) -> None:
    def length_m(part_id: str) -> float:
        panel = catalogue.part(part_id)
        assert isinstance(panel, RailPanel)
        return panel.length_m

    assert all(length_m(section.rail_panel) == section.pitch_m for section in catalogue.sections)
    assert all(length_m(plate.rail_panel) == plate.length_m for plate in catalogue.transition_plates)
    for landing in catalogue.landings:
        assert length_m(landing.rail_length_edge) == landing.length_m
        assert length_m(landing.rail_width_edge) == landing.width_m
        if landing.rail_inner_loop is not None:
            lanes_m = 2 * catalogue.sections[0].overall_width_m
            assert length_m(landing.rail_inner_loop) == pytest.approx(
                landing.width_m - lanes_m, abs=TOLERANCE_M
            )


def test_a_landing_may_stand_against_the_wall(catalogue: Catalogue) -> None:
    """A corner leg's foot and its edge distance stay within the landing's own outline."""
    for landing in catalogue.landings:
        for leg in (catalogue.part(leg_id) for leg_id in landing.legs):
            assert isinstance(leg, Leg)
            foot = next(foot for foot in catalogue.feet if foot.id == leg.foot)
            assert foot.plate_m / math.sqrt(2) + foot.edge_distance_m < landing.leg_inset_m


def test_feet_stand_both_outside_and_under_the_deck(catalogue: Catalogue) -> None:
    supports: tuple[Leg | LowSupport, ...] = (*catalogue.legs, *catalogue.low_supports)
    assert {support.lateral_offset_m > 0 for support in supports} == {True, False}


def test_a_section_of_four_feet_weighs_what_aluminium_of_its_kind_weighs() -> None:
    """Common practice, no source: about 25 to 30 kg."""
    section = next(
        s for s in read_catalogue(demo_catalogue_path("demo-inch")).sections if s.id == "section-48"
    )
    assert 25.0 < section.weight_kg < 30.0


def test_a_demo_id_is_found_from_any_folder(tmp_path: Path) -> None:
    assert find_catalogue("demo-inch", tmp_path) == demo_catalogue_path("demo-inch")
    assert find_rates("demo-rates-usd", tmp_path) == demo_rates_path("demo-rates-usd")


def test_a_path_is_taken_from_the_folder_of_the_site_file(tmp_path: Path) -> None:
    (tmp_path / "mine").mkdir()
    path = tmp_path / "mine" / "parts.toml"
    path.write_text("", encoding="utf-8")
    assert find_catalogue("mine/parts.toml", tmp_path) == path
    assert find_rates("mine/parts.toml", tmp_path) == path
    assert find_catalogue(str(path), Path("elsewhere")) == path


def test_a_name_that_is_no_file_lists_the_demo_ids(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r'site\.toml:4: catalogue = "demo-inches".*demo-inch, demo-mill'):
        find_catalogue("demo-inches", tmp_path, "site.toml:4")
    with pytest.raises(InputError, match=r'rates: rates = "mine".*demo-rates-usd'):
        find_rates("mine", tmp_path)
    with pytest.raises(InputError, match="is no demo catalogue"):
        demo_catalogue_path("demo-feet")
    with pytest.raises(InputError, match="is no demo rates"):
        demo_rates_path("demo-feet")
