from __future__ import annotations

import math
import time
from dataclasses import replace

import pytest

from optimizer.brief.site import DisplayUnits
from optimizer.catalogue.demo_files import demo_catalogue_path, demo_rates_path
from optimizer.catalogue.read_catalogue import read_catalogue
from optimizer.catalogue.read_rates import read_rates
from optimizer.errors import InputError
from optimizer.rough.answer import RoughAnswer, find_rough_answer
from optimizer.rough.build_limits import build_rough_limits
from optimizer.rough.price_band import Figures, PriceBand, build_price_band
from optimizer.rough.question import (
    Estimate,
    RoughLimits,
    RoughQuestion,
    build_rise_from_steps,
)
from optimizer.rough.rough_table import draw_rough_table
from optimizer.rough.shapes import RoughShape
from optimizer.rulebook.own_limits import OwnLimits, build_own_limits
from optimizer.rulebook.read_rule_set import read_rule_set
from optimizer.rulebook.rules import RuleSet

INCH = 0.0254
FOOT = 0.3048
ADA = RoughLimits("test", 1 / 12, 30 * INCH, 60 * INCH, 60 * INCH, 60 * INCH, 60 * INCH, 36 * INCH)
BAND = PriceBand("figures of this test", "USD", Figures(100_00, 50_00, 10_00), Figures(200_00, 90_00, 30_00))
#: 27 in of threshold, landing 1/2 in below it, 3 % straight out, level along the wall.
BUNGALOW = RoughQuestion(
    rise_m=Estimate(27 * INCH, 0.5 * INCH),
    fall_out=Estimate(0.03, 0.01),
    fall_along=Estimate(0.0, 0.0),
    depth_m=None,
    width_m=None,
    drop_m=0.5 * INCH,
    display=DisplayUnits("ft-in", INCH / 8),
)


def _shape(answer: RoughAnswer, name: str) -> RoughShape:
    (found,) = [one.shape for one in answer.shapes if one.shape.name == name]
    return found


def test_a_bungalow_needs_47_in_straight_out_and_27_and_a_half_along_the_wall() -> None:
    # Our own closed form: (26.5 + 0.03 * 120) / (1 - 0.36) = 47.03 in, foot 57 ft out.
    answer = find_rough_answer(BUNGALOW, ADA, BAND)
    out = _shape(answer, "straight out")
    assert out.rise_m / INCH == pytest.approx(47.03, abs=0.01)
    assert (out.runs, out.landings) == (2, 1)
    assert out.tip_out_m / FOOT == pytest.approx(57.0, abs=0.1)
    along = _shape(answer, "along the wall")
    assert along.rise_m / INCH == pytest.approx(27.4, abs=1e-9)
    assert (along.runs, along.landings) == (1, 0)


def test_at_four_percent_the_same_door_needs_65_in_and_two_landings() -> None:
    answer = find_rough_answer(replace(BUNGALOW, fall_out=Estimate(0.04, 0.0)), ADA, BAND)
    out = _shape(answer, "straight out")
    assert out.rise_m / INCH == pytest.approx(65.0, abs=0.25)
    assert out.landings == 2
    assert out.tip_out_m / FOOT == pytest.approx(80.0, abs=0.25)


def test_on_level_ground_every_shape_takes_the_same_slope_length() -> None:
    level = replace(BUNGALOW, fall_out=Estimate(0.0, 0.0))
    answer = find_rough_answer(level, ADA, BAND)
    assert len(answer.shapes) == 5
    for one in answer.shapes:
        assert one.shape.run_plan_m / INCH == pytest.approx(12 * 26.5, abs=1e-9)


@pytest.mark.parametrize(("spare_m", "fit"), [(0.001, "fits"), (0.0, "fits"), (-0.001, "does not fit")])
@pytest.mark.parametrize("name", ["straight out", "along the wall", "switchback out", "switchback along"])
def test_a_shape_fits_when_its_depth_and_width_are_there_to_the_millimetre(
    name: str, spare_m: float, fit: str
) -> None:
    needed = _shape(find_rough_answer(BUNGALOW, ADA, BAND), name)
    wide = Estimate(needed.width_needed_m + 1.0, 0.0)
    deep = Estimate(needed.depth_needed_m + 1.0, 0.0)
    shallow = replace(BUNGALOW, depth_m=Estimate(needed.depth_needed_m + spare_m, 0.0), width_m=wide)
    narrow = replace(BUNGALOW, depth_m=deep, width_m=Estimate(needed.width_needed_m + spare_m, 0.0))
    for question in (shallow, narrow):
        assert _shape(find_rough_answer(question, ADA, BAND), name).fit == fit


def test_an_l_is_bent_where_the_width_ends() -> None:
    width_m = 29.5 * FOOT
    question = replace(BUNGALOW, depth_m=Estimate(12.0, 0.0), width_m=Estimate(width_m, 0.0))
    corner = _shape(find_rough_answer(question, ADA, BAND), "L")
    assert corner.fit == "fits"
    assert corner.width_needed_m == pytest.approx(width_m, abs=1e-9)
    free = _shape(find_rough_answer(BUNGALOW, ADA, BAND), "L")
    assert free.width_needed_m > width_m
    assert free.total_plan_m < corner.total_plan_m


def test_without_a_width_nothing_is_said_to_fit() -> None:
    answer = find_rough_answer(replace(BUNGALOW, depth_m=Estimate(50.0, 0.0)), ADA, BAND)
    assert {one.shape.fit for one in answer.shapes} == {"not asked"}
    assert answer.best == "along the wall"


def test_ground_that_falls_too_fast_straight_out_leaves_the_other_shapes() -> None:
    answer = find_rough_answer(replace(BUNGALOW, fall_out=Estimate(0.09, 0.0)), ADA, BAND)
    assert [miss.name for miss in answer.misses] == ["straight out"]
    assert "along the wall" in [one.shape.name for one in answer.shapes]


def test_the_fall_along_the_wall_is_what_a_ramp_along_the_wall_waits_for() -> None:
    question = replace(BUNGALOW, fall_along=Estimate(0.0, 0.01))
    answer = find_rough_answer(question, ADA, BAND)
    first = answer.narrowing[0]
    assert answer.best == "along the wall"
    assert first.measurement == "fall along the wall"
    lengths = []
    for fall in (-0.01, 0.0, 0.01):
        moved = find_rough_answer(replace(question, fall_along=Estimate(fall, 0.01)), ADA, BAND)
        lengths.append(min(one.shape.total_plan_m for one in moved.shapes))
    assert first.effect_m == pytest.approx(max(lengths) - min(lengths), abs=1e-12)
    assert [one.effect_m for one in answer.narrowing] == sorted(
        (one.effect_m for one in answer.narrowing), reverse=True
    )


def test_a_well_known_fall_gives_way_to_the_next_measurement() -> None:
    answer = find_rough_answer(replace(BUNGALOW, fall_out=Estimate(0.03, 0.0)), ADA, BAND)
    first = answer.narrowing[0]
    assert first.measurement == "rise at the door"
    assert first.effect_m / INCH == pytest.approx(12 * 1.0, abs=1e-9)


def test_a_width_that_decides_whether_anything_fits_is_named() -> None:
    along = _shape(find_rough_answer(BUNGALOW, ADA, BAND), "along the wall")
    question = replace(
        BUNGALOW,
        rise_m=Estimate(27 * INCH, 0.0),
        depth_m=Estimate(1.6, 0.01),
        width_m=Estimate(along.width_needed_m + 0.2, 0.3),
    )
    answer = find_rough_answer(question, ADA, BAND)
    assert answer.best == "along the wall"
    assert answer.narrowing[0].measurement == "width along the wall"
    assert answer.narrowing[0].effect_m == math.inf
    assert "decides whether any of these shapes fits" in draw_rough_table(answer)


def test_where_nothing_fits_the_most_telling_measurement_is_still_named() -> None:
    question = replace(BUNGALOW, depth_m=Estimate(1.0, 0.1), width_m=Estimate(2.0, 0.1))
    answer = find_rough_answer(question, ADA, BAND)
    assert answer.best is None
    assert 0.0 < answer.narrowing[0].effect_m < math.inf
    assert "other shapes are not ruled out" in draw_rough_table(answer)


def test_the_price_band_counts_metres_landings_and_what_comes_once() -> None:
    (along,) = [
        one for one in find_rough_answer(BUNGALOW, ADA, BAND).shapes if one.shape.name == "along the wall"
    ]
    surface_m = 12 * 27.4 * INCH * math.hypot(1, 1 / 12)
    assert along.price.low_cents == round(10_00 + 50_00 + 100_00 * surface_m)
    assert along.price.high_cents == round(30_00 + 90_00 + 200_00 * surface_m)


def test_a_half_turn_is_priced_as_two_landings() -> None:
    answer = find_rough_answer(replace(BUNGALOW, fall_out=Estimate(0.0, 0.0)), ADA, BAND)
    price = {one.shape.name: one.price.low_cents for one in answer.shapes}
    assert price["switchback out"] - price["L"] == 50_00
    assert price["L"] - price["along the wall"] == 50_00


@pytest.mark.parametrize("catalogue_id", ["demo-inch", "demo-millimetre", "demo-gap"])
def test_the_demo_band_is_a_band(catalogue_id: str) -> None:
    rates_id = "demo-rates-eur" if catalogue_id == "demo-millimetre" else "demo-rates-usd"
    limits = build_rough_limits(build_own_limits(OwnLimits(1 / 12, "in", clear_width_m=0.85)))
    rates = read_rates(demo_rates_path(rates_id))
    band = build_price_band(read_catalogue(demo_catalogue_path(catalogue_id)), rates, limits)
    for low, high in zip(
        (band.low.run_per_m_cents, band.low.landing_cents, band.low.once_cents),
        (band.high.run_per_m_cents, band.high.landing_cents, band.high.once_cents),
        strict=True,
    ):
        assert 0 < low < high
    assert rates.dated.isoformat() in band.label


def test_a_width_that_no_section_has_is_refused() -> None:
    limits = replace(ADA, clear_width_m=3.0)
    rates = read_rates(demo_rates_path("demo-rates-usd"))
    with pytest.raises(InputError, match=r"3\.000 m clear"):
        build_price_band(read_catalogue(demo_catalogue_path("demo-inch")), rates, limits)


def test_the_ada_set_gives_its_own_figures() -> None:
    limits = build_rough_limits(read_rule_set("ada-2010"))
    assert limits.slope == 1 / 12
    for length_m, inches in (
        (limits.rise_per_run_m, 30),
        (limits.door_m, 60),
        (limits.landing_m, 60),
        (limits.turn_m, 60),
        (limits.bottom_m, 60),
        (limits.clear_width_m, 36),
    ):
        assert length_m / INCH == pytest.approx(inches, abs=1e-9)


def test_a_limit_on_the_length_of_a_run_limits_its_rise() -> None:
    limits = build_rough_limits(build_own_limits(OwnLimits(1 / 10, "mm", length_per_run_m=6.0)))
    assert limits.rise_per_run_m == pytest.approx(0.6, rel=1e-12)


def test_rules_without_a_slope_are_refused() -> None:
    with pytest.raises(InputError, match="running slope"):
        build_rough_limits(RuleSet("empty", "Empty", "1", (), (), ""))


def test_steps_times_riser_is_the_rise_and_each_riser_may_be_off() -> None:
    rise = build_rise_from_steps(4, 7 * INCH)
    assert rise.value / INCH == pytest.approx(28.0, rel=1e-12)
    assert rise.within / INCH == pytest.approx(1.0, rel=1e-12)
    with pytest.raises(InputError) as caught:
        build_rise_from_steps(0, -1.0)
    assert len(caught.value.faults) == 2


def test_all_impossible_numbers_are_named_at_once() -> None:
    question = replace(
        BUNGALOW,
        rise_m=Estimate(3.1, 0.0),
        fall_out=Estimate(math.nan, 0.0),
        fall_along=Estimate(0.6, -0.1),
        depth_m=Estimate(0.0, 0.0),
        width_m=Estimate(math.inf, 0.0),
        drop_m=-0.1,
    )
    with pytest.raises(InputError) as caught:
        find_rough_answer(question, ADA, BAND)
    assert len(caught.value.faults) == 7


@pytest.mark.parametrize("rise_m", [0.0, -0.2, 3.0 + 1e-9, math.nan])
def test_a_rise_that_is_out_of_range_is_asked_back(rise_m: float) -> None:
    with pytest.raises(InputError, match="rise"):
        find_rough_answer(replace(BUNGALOW, rise_m=Estimate(rise_m, 0.0), drop_m=0.0), ADA, BAND)


def test_a_steep_own_slope_is_said_to_lie_outside_the_access_limits() -> None:
    steep = build_rough_limits(build_own_limits(OwnLimits(1 / 6, "in")))
    text = draw_rough_table(find_rough_answer(BUNGALOW, steep, BAND))
    assert "outside the published access limits" in text
    assert "outside the published" not in draw_rough_table(find_rough_answer(BUNGALOW, ADA, BAND))


def test_the_table_names_shapes_band_and_measurement_and_claims_no_approval() -> None:
    answer = find_rough_answer(BUNGALOW, ADA, BAND)
    text = draw_rough_table(answer)
    for one in answer.shapes:
        assert one.shape.name in text
    assert "figures of this test" in text
    assert f"Measure first: {answer.narrowing[0].measurement}" in text
    assert "not an approval" in text
    assert "3' 11\"" in text


def test_a_rough_answer_takes_well_under_a_second() -> None:
    question = replace(BUNGALOW, depth_m=Estimate(12.0, 0.3), width_m=Estimate(9.0, 0.3))
    started_s = time.perf_counter()
    find_rough_answer(question, ADA, BAND)
    assert time.perf_counter() - started_s < 0.5
