"""Kerbs and walls of made-up yards found again: where, how high, which side."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from optimizer.ground_scan.sort_scan import sort_scan
from optimizer.terrain.break_lines import check_break_lines
from tests.ground_scan.draw_yard import draw_yard
from tests.ground_scan.plain_clouds import flat, noisy
from tests.ground_scan.scan_made_yard import Scanning, scan_made_yard
from tests.ground_scan.yard_parts import outline

ORIGIN = np.zeros(3)


@pytest.mark.parametrize(("rise", "found"), [(0.02, 0), (0.06, 1), (0.15, 1), (0.60, 1)])
def test_a_straight_step_is_one_line_of_its_height_or_none_when_too_low(rise: float, found: int) -> None:
    rng = np.random.default_rng(4)
    low, high = flat(250_000, (0, 10, 0, 5), 1.0, rng), flat(250_000, (0, 10, 5, 10), 1.0 + rise, rng)
    lines = sort_scan(noisy(np.concatenate([low, high]), rng), ORIGIN).break_lines
    assert len(lines) == found
    for line in lines:
        assert np.abs(line.xy_m[:, 1] - 5.0).max() < 0.06
        assert np.ptp(line.xy_m[:, 0]) > 9.0
        assert line.top_m == pytest.approx(1.0 + rise, abs=0.012)
        assert line.foot_m == pytest.approx(1.0, abs=0.012)
        assert line.high_side == ("left" if line.xy_m[-1, 0] > line.xy_m[0, 0] else "right")


@pytest.mark.parametrize("seed", [1, 2, 3, 4, 8])
def test_steps_of_made_yards_are_found_where_they_lie(seed: int) -> None:
    yard = draw_yard(seed)
    scan = scan_made_yard(yard, Scanning(700_000, ghosts=0.002))
    lines = sort_scan(scan.xyz_m, ORIGIN).break_lines
    found = shapely.MultiLineString([line.xy_m for line in lines])
    edges = [shapely.LineString(edge) for step in yard.steps for edge in outline(step, yard.size_m)]
    spots = np.concatenate(
        [shapely.get_coordinates(e.interpolate(np.arange(0.3, e.length - 0.3, 0.1))) for e in edges]
    )
    inner = (spots > 0.5).all(axis=1) & (spots < np.array(yard.size_m) - 0.5).all(axis=1)
    spots = spots[inner & yard.is_free(spots, 0.3)]
    away = shapely.distance(shapely.points(spots), found)
    assert (away < 0.10).mean() > 0.85  # of what stands free
    assert np.median(away) < 0.03
    true = shapely.MultiLineString(edges)
    invented = found.difference(true.buffer(0.35)).length
    assert invented < 0.05 * found.length
    for line in lines:
        assert check_break_lines((line,), "scan") == ()
        assert (line.top_m >= line.foot_m).all()


@pytest.mark.parametrize("seed", [1, 11])
def test_a_wall_is_as_high_as_it_was_built(seed: int) -> None:
    yard = draw_yard(seed)
    scan = scan_made_yard(yard, Scanning(700_000, ghosts=0.002))
    lines = sort_scan(scan.xyz_m, ORIGIN).break_lines
    heights = np.concatenate([line.top_m - line.foot_m for line in lines])
    (step,) = yard.steps
    assert np.median(heights) == pytest.approx(step.rise_m, abs=0.015)
