"""Names exchanged, axes exchanged, feet for metres: seen from the misfit, and named."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import pytest

from optimizer.survey.placing.control_points import build_control
from optimizer.survey.placing.placing_report import place_by_control
from tests.survey.placing.exact_control import exact_points, with_swapped_picks


@pytest.mark.parametrize(("first", "second"), list(combinations(range(5), 2)))
def test_two_exchanged_names_are_found(first: int, second: int) -> None:
    report = place_by_control(with_swapped_picks(exact_points(5), first, second))
    assert report.placing is None
    (fault,) = report.refusals
    assert fault.what.startswith(f'"C{first + 1}" and "C{second + 1}" look exchanged')
    assert fault.where == f"control[{first}]"
    assert fault.remedy


@pytest.mark.parametrize(("first", "second"), [(0, 2), (1, 3)])
def test_exchanged_positions_are_told_from_exchanged_names(first: int, second: int) -> None:
    points = exact_points(5)
    mistaken = list(points)
    mistaken[first] = replace(points[first], plan_m=points[second].plan_m)
    mistaken[second] = replace(points[second], plan_m=points[first].plan_m)
    (fault,) = place_by_control(build_control(mistaken)).refusals
    assert fault.what.startswith(f'in plan "C{first + 1}" and "C{second + 1}" look exchanged')


@pytest.mark.parametrize(("first", "second"), [(0, 2), (1, 3)])
def test_exchanged_elevations_are_told_too(first: int, second: int) -> None:
    points = exact_points(5)
    mistaken = list(points)
    mistaken[first] = replace(points[first], elevation_m=points[second].elevation_m)
    mistaken[second] = replace(points[second], elevation_m=points[first].elevation_m)
    (fault,) = place_by_control(build_control(mistaken)).refusals
    assert fault.what.startswith(f'the elevations of "C{first + 1}" and "C{second + 1}" look exchanged')


def test_where_any_of_three_exchanges_would_do_all_are_named() -> None:
    points = exact_points(3)
    # Equal sides: whichever two are exchanged, the triangle is mirrored and exchanging any two mends it.
    corners = [(0.0, 0.0), (10.0, 0.0), (5.0, 75.0**0.5)]
    even = [
        replace(point, scan_m=(x, y, 0.0), plan_m=(x, y), elevation_m=0.0)
        for point, (x, y) in zip(points, corners, strict=True)
    ]
    report = place_by_control(with_swapped_picks(even, 0, 1))
    assert report.placing is None
    told = report.refusals[0].what
    assert all(name in told for name in ("C1", "C2", "C3"))
    assert "So would exchanging" in told


def test_a_blunder_is_no_exchange() -> None:
    points = exact_points(5)
    x, y = points[1].plan_m or (0.0, 0.0)
    points[1] = replace(points[1], plan_m=(x + 1.0, y - 0.4))
    report = place_by_control(build_control(points))
    assert not any("exchanged" in fault.what for fault in report.refusals)
    assert report.suspects[0].point == 1
    assert '"C2"' in report.refusals[0].remedy


def test_feet_for_metres_is_told_as_a_unit() -> None:
    report = place_by_control(build_control(exact_points(4, scale=0.3048)))
    assert report.placing is None
    told = next(fault for fault in report.refusals if "are 0.3048 times those in the scan" in fault.what)
    assert told.remedy == "Picked in ft, scan_x_ft, scan_y_ft and scan_z_ft, they would fit within 0 mm."
    assert not any("exchanged" in fault.what for fault in report.refusals)


def test_exchanged_axes_are_told_as_a_mirror_image() -> None:
    mirrored = [
        replace(point, plan_m=None if point.plan_m is None else point.plan_m[::-1])
        for point in exact_points(5)
    ]
    (fault,) = place_by_control(build_control(mirrored)).refusals
    assert "mirror image" in fault.what
    assert "x and y" in fault.remedy
