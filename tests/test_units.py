"""Typed lengths, slopes and money are exact; a limit met to a micrometre is met."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimizer.errors import InputError
from optimizer.units import (
    TOLERANCE_M,
    LengthSystem,
    Slope,
    format_length,
    format_money,
    is_at_least,
    is_at_most,
    is_slope_at_most,
    parse_length,
    parse_money,
    parse_slope,
    round_half_up,
)

EIGHTH_IN_M = 0.003175
WHERE = "site.toml:7"
PRIME, DOUBLE_PRIME, MINUS = "\u2032", "\u2033", "\u2212"


@pytest.mark.parametrize(
    ("text", "unit", "length_m"),
    [
        ("4.42 m", None, 4.42),
        ("350 mm", None, 0.35),
        ("350mm", None, 0.35),
        ("35 cm", None, 0.35),
        ("27 in", None, 0.6858),
        ('27"', None, 0.6858),
        ("14 ft", None, 4.2672),
        ("14'", None, 4.2672),
        ("14' 6 1/2\"", None, 4.4323),
        ("14'-6 1/2\"", None, 4.4323),
        ("14'6\"", None, 4.4196),
        ("14 ft 6 1/2 in", None, 4.4323),
        (f"14{PRIME} 6 1/2{DOUBLE_PRIME}", None, 4.4323),
        ('6 1/2"', None, 0.1651),
        ("6-1/2 in", None, 0.1651),
        ("1/2 in", None, 0.0127),
        ("-1' 6\"", None, -0.4572),
        (f"{MINUS}0.5 m", None, -0.5),
        ("+.5 m", None, 0.5),
        ("  0.5  m ", None, 0.5),
        (4.42, "m", 4.42),
        (27, "in", 0.6858),
        ("6 1/2", "in", 0.1651),
        ("0.1", "m", 0.1),
        ("350 mm", "ft", 0.35),
        (0, "mm", 0.0),
    ],
)
def test_a_length_is_read_exactly(text: str | float, unit: str | None, length_m: float) -> None:
    assert parse_length(text, unit, WHERE) == length_m


@pytest.mark.parametrize(
    ("text", "unit", "complaint"),
    [
        ("4.42", None, "no unit"),
        (5, None, "no unit"),
        (5.5, None, "no unit"),
        ("5 yd", None, "unknown unit"),
        (5, "yd", "not known"),
        (math.nan, "m", "not a finite length"),
        (math.inf, "m", "not a finite length"),
        ("nan", "m", "not a length"),
        ("inf m", None, "not a length"),
        ("", "m", "not a length"),
        ("m", None, "not a length"),
        ("4,42 m", None, "not a length"),
        ("1 2 m", None, "not a length"),
        ("--4", "m", "not a length"),
        ("14' 6", None, "not a length"),
        ("1.5' 6\"", None, "not a length"),
        ("1/0 in", None, "not a length"),
        ("6 9/8 in", None, "not a length"),
        ("14' 13\"", None, "12 inches or more"),
        ("14' 12\"", None, "12 inches or more"),
        (True, "m", "not a length"),
    ],
)
def test_a_length_that_would_have_to_be_guessed_is_refused(
    text: str | float, unit: str | None, complaint: str
) -> None:
    with pytest.raises(InputError) as caught:
        parse_length(text, unit, WHERE)
    (fault,) = caught.value.faults
    assert fault.where == WHERE
    assert complaint in fault.what
    assert fault.remedy
    shown = "yd" if unit == "yd" else str(text)
    assert shown in fault.what


@given(ticks=st.integers(-80_000_000, 80_000_000))
def test_typed_lengths_are_whole_ticks_of_an_eighth_thousandth_of_a_millimetre(ticks: int) -> None:
    typed = f"{ticks / 8000:.6f}"  # an eighth of a micrometre ends within six decimals
    assert parse_length(typed, "mm", WHERE) == float(Fraction(ticks, 8_000_000))


@given(sixty_fourths=st.integers(0, 64 * 12 * 100))
def test_feet_inches_and_their_decimal_inches_are_the_same_float(sixty_fourths: int) -> None:
    feet, rest = divmod(sixty_fourths, 64 * 12)
    inches, parts = divmod(rest, 64)
    composed = f"{feet}' {inches} {parts}/64\"" if parts else f"{feet}' {inches}\""
    decimal = f"{sixty_fourths / 64:.6f} in"
    exact_m = float(Fraction(sixty_fourths, 64) * Fraction(254, 10000))
    assert parse_length(composed, None, WHERE) == parse_length(decimal, None, WHERE) == exact_m


@pytest.mark.parametrize(
    ("length_m", "system", "step_m", "text"),
    [
        (4.4323, "ft-in", EIGHTH_IN_M, "14' 6 1/2\""),
        (11.99 * 0.0254, "ft-in", EIGHTH_IN_M, "1' 0\""),
        (-11.99 * 0.0254, "ft-in", EIGHTH_IN_M, "-1' 0\""),
        (23.99 * 0.0254, "ft-in", EIGHTH_IN_M, "2' 0\""),
        (0.1651, "ft-in", EIGHTH_IN_M, '6 1/2"'),
        (0.0127, "ft-in", EIGHTH_IN_M, '1/2"'),
        (0.0, "ft-in", EIGHTH_IN_M, '0"'),
        (0.6985, "in", EIGHTH_IN_M, "27 1/2 in"),
        (EIGHTH_IN_M / 2, "in", EIGHTH_IN_M, "1/8 in"),
        (-EIGHTH_IN_M / 2, "in", EIGHTH_IN_M, "-1/8 in"),
        (0.6985, "in", 0.00254, "27.5 in"),
        (0.0254 / 16, "in", 0.0254 / 16, "1/16 in"),
        (0.35049, "mm", 0.001, "350 mm"),
        (0.3505, "mm", 0.001, "351 mm"),
        (0.3505, "mm", 0.0005, "350.5 mm"),
        (-0.0001, "mm", 0.001, "0 mm"),
        (4.42, "m", 0.001, "4.420 m"),
        (4.42, "m", 0.01, "4.42 m"),
        (math.nan, "m", 0.01, "unknown"),
    ],
)
def test_a_length_is_shown_in_the_readers_units(
    length_m: float, system: LengthSystem, step_m: float, text: str
) -> None:
    assert format_length(length_m, system, step_m) == text


@given(steps=st.integers(-9000, 9000), system=st.sampled_from(["ft-in", "in"]))
def test_a_length_on_the_step_survives_showing_and_reading(steps: int, system: LengthSystem) -> None:
    length_m = float(steps * Fraction(3175, 1_000_000))
    assert parse_length(format_length(length_m, system, EIGHTH_IN_M), None, WHERE) == length_m


@given(length_m=st.floats(-50, 50), system=st.sampled_from(["ft-in", "in", "mm", "m"]))
def test_a_shown_length_is_off_by_half_a_step_at_most(length_m: float, system: LengthSystem) -> None:
    step_m = EIGHTH_IN_M if system in ("ft-in", "in") else 0.001
    shown_m = parse_length(format_length(length_m, system, step_m), None, WHERE)
    assert abs(shown_m - length_m) <= step_m / 2 + 1e-12


@pytest.mark.parametrize(
    ("ratio", "text"),
    [
        (1 / 12, "1:12 (8.3 %)"),
        (1 / 11.96, "1:11.96 (8.4 %)"),
        (1 / 11.9996, "1:11.99 (8.3 %)"),
        (1 / 12.004, "1:12 (8.3 %)"),
        (1 / 12.5, "1:12.5 (8.0 %)"),
        (0.05, "1:20 (5.0 %)"),
        (-1 / 12, "-1:12 (-8.3 %)"),
        (0.0, "level"),
        (2.0, "1:0.5 (200.0 %)"),
    ],
)
def test_a_slope_prints_so_that_rounding_hides_no_limit(ratio: float, text: str) -> None:
    assert str(Slope.from_ratio(ratio)) == text


@given(limit=st.integers(500, 4800), percent=st.floats(2e-4, 0.5))
def test_a_slope_steeper_than_a_limit_never_prints_as_the_limit(limit: int, percent: float) -> None:
    steeper = str(Slope.from_ratio(1 / (limit / 100 * (1 - percent / 100))))
    assert float(steeper.split(" ", maxsplit=1)[0].removeprefix("1:")) < limit / 100


@given(ratio=st.floats(-2, 2))
def test_a_slope_keeps_its_ratio(ratio: float) -> None:
    assert Slope.from_ratio(ratio).ratio == ratio


def test_one_in_twelve_is_the_same_slope_however_it_is_made() -> None:
    assert Slope.from_ratio(1 / 12) == Slope(1, 12)


@pytest.mark.parametrize(
    ("text", "ratio"),
    [("1:12", 1 / 12), ("1 : 12", 1 / 12), ("1:12.5", 0.08), ("8.3 %", 0.083), ("8.3%", 0.083), ("0 %", 0.0)],
)
def test_a_slope_is_read_exactly(text: str, ratio: float) -> None:
    assert parse_slope(text, WHERE) == ratio


def test_a_slope_in_degrees_is_its_tangent() -> None:
    assert parse_slope("4.8 deg", WHERE) == pytest.approx(math.tan(4.8 * math.pi / 180), rel=1e-15)


@pytest.mark.parametrize("text", ["12", "0.083", 0.083, 12, "1:0", "90 deg", "-1:12", "1/12", "", "steep"])
def test_a_slope_without_its_kind_is_refused(text: str | float) -> None:
    with pytest.raises(InputError) as caught:
        parse_slope(text, WHERE)
    assert caught.value.faults[0].where == WHERE
    assert str(text) in caught.value.faults[0].what


@pytest.mark.parametrize(
    ("text", "cents"),
    [
        ("1234.50", 123450),
        ("12.5", 1250),
        (12.25, 1225),
        (0.29, 29),
        (7, 700),
        ("-3.10", -310),
        ("655.36", 65536),
    ],
)
def test_money_is_read_to_the_cent(text: str | float, cents: int) -> None:
    assert parse_money(text, WHERE) == cents


@pytest.mark.parametrize(
    "text", ["12.345", 12.345, "1,234.50", "12,50", "USD 5", "5 USD", "", math.nan, math.inf, True, "1e3"]
)
def test_money_that_is_no_whole_number_of_cents_is_refused(text: str | float) -> None:
    with pytest.raises(InputError) as caught:
        parse_money(text, WHERE)
    assert caught.value.faults[0].where == WHERE


@pytest.mark.parametrize(
    ("cents", "text"),
    [
        (123450, "1,234.50 USD"),
        (5, "0.05 USD"),
        (-123450, "-1,234.50 USD"),
        (100_000_007, "1,000,000.07 USD"),
    ],
)
def test_money_prints_with_its_currency(cents: int, text: str) -> None:
    assert format_money(cents, "USD") == text


@pytest.mark.parametrize(
    ("value", "whole"),
    [
        (0.5, 1),
        (1.5, 2),
        (2.5, 3),
        (-0.5, 0),
        (-1.5, -1),
        (0.49999999999999994, 0),
        (Fraction(5, 2), 3),
        (Fraction(5, 2) - Fraction(1, 10**30), 2),
        (7.0, 7),
    ],
)
def test_halves_are_rounded_up(value: float | Fraction, whole: int) -> None:
    assert round_half_up(value) == whole


def test_a_limit_on_a_length_is_met_inside_and_exactly_on_and_missed_just_off() -> None:
    assert is_at_most(0.9, 1.0)
    assert is_at_most(1.0, 1.0)
    assert is_at_most(1.0 + 0.9 * TOLERANCE_M, 1.0)
    assert not is_at_most(1.0 + 1.1 * TOLERANCE_M, 1.0)
    assert is_at_least(1.1, 1.0)
    assert is_at_least(1.0 - 0.9 * TOLERANCE_M, 1.0)
    assert not is_at_least(1.0 - 1.1 * TOLERANCE_M, 1.0)


def test_a_thousand_ramps_at_exactly_the_limit_all_meet_it() -> None:
    """Dividing first fails a good part of them, which is why the comparator exists."""
    naive_failures = 0
    for millimetres in range(1, 1001):
        rise_m, run_m = millimetres / 1000, 12 * millimetres / 1000
        naive_failures += rise_m / run_m > 1 / 12
        assert is_slope_at_most(rise_m, run_m, 1 / 12)
        assert not is_slope_at_most(rise_m + 2e-6, run_m, 1 / 12)
        assert is_slope_at_most(rise_m - 2e-6, run_m, 1 / 12)
    assert naive_failures > 100
