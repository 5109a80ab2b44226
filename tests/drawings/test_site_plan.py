"""Distances to the lot lines and contours, each against a second way to find them."""

from __future__ import annotations

import numpy as np
import pytest

from optimizer.drawings.build_set import find_start
from optimizer.drawings.contours import ContourEvery, trace_contours
from optimizer.drawings.site_plan import choose_levels, draw_site_plan
from optimizer.terrain.frames import build_door_frame
from optimizer.units import format_length
from tests.drawings.drawn_ramps import UNITS, draw_ramp
from tests.validation.small_yards import build_ground


@pytest.mark.parametrize("units", UNITS)
@pytest.mark.parametrize("name", ["straight", "quarter turn right", "retaining wall"])
def test_each_distance_is_that_of_the_nearest_corner_to_its_line(name: str, units: str) -> None:
    """A lot is convex here, so the corner that is nearest to a line's whole length is nearest to it."""
    drawn = draw_ramp(name, units)
    start = find_start(drawn.site, drawn.candidate)
    figure = draw_site_plan(drawn.site, start, drawn.candidate, build_door_frame(start))
    deck = [one for one in drawn.candidate.pieces if one.kind != "bottom_pad"]
    corners = np.concatenate([np.array(one.corners_m)[:, :2] for one in deck])
    lot = drawn.site.yard.lot_m
    told = set()
    for here, there in zip(lot, np.roll(lot, -1, axis=0), strict=True):
        ahead = (there - here) / np.hypot(*(there - here))
        away = (corners - here) @ np.array([-ahead[1], ahead[0]])
        told.add(format_length(float(away.min()), drawn.site.display.system, drawn.site.display.step_m))
    shown = [one.text for one in figure.dimensions]
    assert shown
    assert set(shown) <= told


@pytest.mark.parametrize("slope", [0.05, 0.2])
def test_contours_of_a_plane_are_straight_and_evenly_apart(slope: float) -> None:
    """Closed form: on z = slope * x the line of level h is x = h / slope, from edge to edge."""
    corners = np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 4.0], [0.0, 4.0], [4.3, 1.7]])
    ground = build_ground(np.column_stack((corners, slope * corners[:, 0])))
    found = trace_contours(ground, ContourEvery(0.0, 0.1, 5))
    inner = [one for one in found if 0.0 < one.level_m < 10.0 * slope - 1e-9]
    assert len(inner) == round(10.0 * slope / 0.1) - 1
    for one in inner:
        assert np.abs(one.line_m[:, 0] - one.level_m / slope).max() < 1e-6
        assert one.line_m[:, 1].min() == pytest.approx(0.0, abs=1e-6)
        assert one.line_m[:, 1].max() == pytest.approx(4.0, abs=1e-6)
        assert one.is_index == (round(one.level_m / 0.1) % 5 == 0)


def test_of_many_levels_those_far_apart_are_shown() -> None:
    grid = np.stack(np.meshgrid(np.linspace(0.0, 30.0, 31), np.linspace(0.0, 20.0, 21)), axis=-1).reshape(
        -1, 2
    )
    points = np.column_stack((grid, np.zeros(len(grid))))
    chosen = choose_levels(points)
    assert len(chosen) == 40
    apart = np.hypot(*(chosen[:, None, :2] - chosen[None, :, :2]).transpose(2, 0, 1))
    assert apart[~np.eye(40, dtype=bool)].min() > 3.0
    assert choose_levels(points[:7]).tolist() == points[:7].tolist()
