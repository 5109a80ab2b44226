"""How flights of steps are read, and the invented ones of the demo catalogues."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from optimizer.catalogue.demo_files import DEMO_CATALOGUES, demo_catalogue_path
from optimizer.catalogue.parts import Catalogue, StockLevel
from optimizer.catalogue.read_catalogue import read_catalogue
from optimizer.units import is_at_least, is_at_most
from tests.catalogue.test_read_catalogue import TINY, the_fault, written

INCH = 0.0254
FLIGHT = """\
[[step_flight]]
id = "flight"
name = "flight"
weight_kg = 30
price = "450.00"
labour_min = 40
risers = 4
going = 11
width = 40
rise_min = 20
rise_max = 31
frame_depth = 3
foot_level_difference = 2
rail_panel = "panel"
rated_load_kg = 450

[stock]
"""


def with_flight(old: str = "", new: str = "") -> str:
    assert old in FLIGHT
    return TINY.replace("[stock]\n", FLIGHT.replace(old, new) if old else FLIGHT)


@pytest.fixture(params=DEMO_CATALOGUES)
def demo(request: pytest.FixtureRequest) -> Catalogue:
    return read_catalogue(demo_catalogue_path(request.param))


def test_a_flight_is_read_in_metres_and_has_a_tread_less_than_risers(tmp_path: Path) -> None:
    (flight,) = read_catalogue(written(tmp_path, with_flight())).step_flights
    assert (flight.risers, flight.going_m, flight.width_m) == (4, 11 * INCH, pytest.approx(40 * INCH))
    assert (flight.rise_min_m, flight.rise_max_m) == pytest.approx((20 * INCH, 31 * INCH))
    assert flight.frame_depth_m == pytest.approx(3 * INCH)
    assert flight.foot_level_difference_m == pytest.approx(2 * INCH)
    assert flight.plan_length_m == pytest.approx(33 * INCH)
    assert (flight.rail_panel, flight.rated_load_kg, flight.price_cents) == ("panel", 450.0, 45000)


def test_a_catalogue_needs_no_flights(tmp_path: Path) -> None:
    assert read_catalogue(written(tmp_path, TINY)).step_flights == ()


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("risers = 4", "risers = 1", "risers"),
        ("risers = 4", "risers = 4.5", "risers"),
        ("going = 11", "going = 0", "going"),
        ("rise_max = 31", "rise_max = 20", "not above rise_min"),
        ("rise_max = 31", "rise_max = 19", "not above rise_min"),
        ("frame_depth = 3", "frame_depth = 5.1", "would stand in the ground"),
        ("foot_level_difference = 2", "foot_level_difference = -1", "foot_level_difference"),
        ('rail_panel = "panel"', 'rail_panel = "panels"', "which is no rail_panel of this catalogue"),
        ('rail_panel = "panel"', 'rail_panel = "leg"', "which is a leg, not a rail_panel"),
        ('id = "flight"', 'id = "plate"', "already that of the transition_plate"),
        ("rated_load_kg = 450", "", "neither is given"),
        ("going = 11", "going = 11\ntread = 11", "tread"),
    ],
)
def test_a_flight_with_a_fault_is_refused_by_name_and_line(
    tmp_path: Path, old: str, new: str, says: str
) -> None:
    fault = the_fault(tmp_path, with_flight(old, new))
    assert says in fault
    assert "step_flight" in fault


@pytest.mark.parametrize("depth", ["4.9", "5"])
def test_a_frame_may_be_as_deep_as_the_lowest_riser(tmp_path: Path, depth: str) -> None:
    text = with_flight("frame_depth = 3", f"frame_depth = {depth}")
    assert read_catalogue(written(tmp_path, text)).step_flights[0].frame_depth_m > 0.12


def test_every_fault_of_a_flight_comes_out_at_once(tmp_path: Path) -> None:
    text = with_flight("going = 11\nwidth = 40", "going = 0\nwidth = 0")
    with pytest.raises(Exception, match=r"going(.|\n)*width"):
        read_catalogue(written(tmp_path, text))


def test_a_flight_out_of_stock_is_not_chosen_among(demo: Catalogue) -> None:
    first, *others = demo.step_flights
    assert replace(demo, stock=(StockLevel(first.id, 0),)).in_stock().step_flights == tuple(others)
    assert replace(demo, stock=(StockLevel(first.id, 1),)).in_stock().step_flights == demo.step_flights


def test_demo_flights_keep_the_sizes_they_are_meant_for(demo: Catalogue) -> None:
    """IRC R311.7.5.1 and R311.7.5.2, from memory: risers to 7 3/4 in, treads from 10 in."""
    assert demo.step_flights
    for flight in demo.step_flights:
        assert is_at_most(flight.rise_max_m / flight.risers, 7.75 * INCH)
        assert is_at_least(flight.going_m, 10 * INCH)
        assert is_at_least(flight.width_m, 36 * INCH)
        assert flight.frame_depth_m < flight.rise_min_m / flight.risers


def test_the_infill_beside_a_demo_flight_is_one_that_runs_use(demo: Catalogue) -> None:
    """A flight leaves about as much of an edge free as a run does."""
    for flight in demo.step_flights:
        assert abs(flight.width_m - demo.sections[0].overall_width_m) < 3 * INCH


@pytest.mark.parametrize("demo_id", ["demo-inch", "demo-millimetre"])
def test_the_flights_serve_every_deck_from_11_to_60_inches(demo_id: str) -> None:
    flights = read_catalogue(demo_catalogue_path(demo_id)).step_flights
    for tenths in range(110, 600):
        rise_m = tenths / 10 * INCH
        assert any(one.rise_min_m <= rise_m <= one.rise_max_m for one in flights), tenths
