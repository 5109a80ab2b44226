"""Surface against plan: what sections of fixed surface length carry at a given slope.

Sources and tolerances:
- A 48 in section at 1:6 drops 7.89 in, three 8 ft sections carry 607.5 mm at 1:12, 29 ft of
  surface lifts 28.90 in at 1:12: Pythagoras, our own arithmetic, to the printed digits.
- A run of 360 in with a rise of 30 in has 361.2478 in of surface: our own arithmetic, 1e-4 in.
- The 29 ft of surface are those of the public home-ramp manual of the Metropolitan Center for
  Independent Living (St Paul), p. 18.
- 19 in of rise over 9 1/2 ft of ramp is about 1:6, a 4 ft piece at 1:6 goes down about 8 in:
  common practice, no source; by trade arithmetic, which must agree with finished geometry
  within 2 %.
"""

from __future__ import annotations

import math

import pytest

from optimizer.layout.run_arithmetic import (
    estimate_drop,
    estimate_slope,
    measure_drop,
    measure_plan_length,
    measure_surface_length,
)

INCH = 0.0254


def test_a_48_in_section_at_1_in_6_drops_7_89_in() -> None:
    drop_in = measure_drop(48 * INCH, 1 / 6) / INCH
    assert drop_in == pytest.approx(7.89, abs=0.005)
    assert measure_plan_length(48 * INCH, 1 / 6) / INCH == pytest.approx(47.35, abs=0.005)


def test_three_8_ft_sections_carry_607_5_mm_at_1_in_12_and_not_609_6() -> None:
    assert measure_drop(3 * 96 * INCH, 1 / 12) * 1000 == pytest.approx(607.5, abs=0.05)
    assert estimate_drop(3 * 96 * INCH, 1 / 12) * 1000 == pytest.approx(609.6, abs=1e-9)


def test_29_ft_of_surface_lift_28_9_in_where_29_ft_of_plan_lift_29() -> None:
    surface_m = 29 * 12 * INCH
    assert measure_drop(surface_m, 1 / 12) / INCH == pytest.approx(28.90, abs=0.005)
    longer_m = measure_surface_length(surface_m, 1 / 12)
    assert measure_drop(longer_m, 1 / 12) / INCH == pytest.approx(29.0, abs=1e-9)


def test_a_30_in_run_orders_an_inch_and_a_quarter_more_deck_than_its_plan() -> None:
    surface_in = measure_surface_length(360 * INCH, 1 / 12) / INCH
    assert surface_in == pytest.approx(361.2478, abs=1e-4)


@pytest.mark.parametrize("slope", [0.0, 1 / 48, 1 / 12, 1 / 8, 1 / 6])
@pytest.mark.parametrize("surface_m", [0.61, 1.2192, 2.4384, 9.17])
def test_plan_length_and_drop_are_the_sides_of_one_right_triangle(surface_m: float, slope: float) -> None:
    plan_m, drop_m = measure_plan_length(surface_m, slope), measure_drop(surface_m, slope)
    assert math.hypot(plan_m, drop_m) == pytest.approx(surface_m, rel=1e-14)
    assert drop_m == pytest.approx(slope * plan_m, rel=1e-14, abs=0.0)
    assert measure_surface_length(plan_m, slope) == pytest.approx(surface_m, rel=1e-14)


def test_19_in_over_nine_and_a_half_feet_is_about_1_in_6_by_trade_arithmetic() -> None:
    assert estimate_slope(19 * INCH, 9.5 * 12 * INCH) == pytest.approx(1 / 6, rel=0.02)


def test_a_4_ft_piece_goes_down_about_8_in_at_1_in_6_by_trade_arithmetic() -> None:
    estimated = estimate_drop(48 * INCH, 1 / 6)
    assert estimated == pytest.approx(8 * INCH, rel=0.02)
    assert estimated == pytest.approx(measure_drop(48 * INCH, 1 / 6), rel=0.02)
    assert estimated > measure_drop(48 * INCH, 1 / 6)
