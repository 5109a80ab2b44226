"""Kerbs and walls of made-up yards found again: where, how high, which side.

Tolerances, drift of the scanner included, over spots every 10 cm, 30 cm from things: 5 % of the true edges
is further than 10 cm from a line (a fifth in a single yard); half the spots of lines lie within 2 cm of the
true edge and 95 % within 8 cm, for corners are rounded; tops and feet are right to 1.5 cm in the middle and
to 4 cm in 95 % of the spots, the rise to 3.5 cm.  Where two steps meet, single spots are off by a whole
step: no bound on the largest.  Kerbs below 8 cm are found in part: of 6 cm at a slope of 16 % a half, of
7 cm 84 to 93 %.  Measured on the layouts chosen on, lower kerbs included: 3.7 % missed; on plan 10 mm in the
middle and 28 mm at 95 %, tops 5 and 29, feet 10 and 32 (grass), rise 5 and 21.  On those kept aside:
3.0 %; 11 and 32, 3 and 28, 9 and 32, 6 and 24.
"""

from __future__ import annotations

import numpy as np
import pytest

from optimizer.ground_scan.sort_scan import sort_scan
from optimizer.terrain.break_lines import check_break_lines
from optimizer.terrain.ground import BreakLine
from tests.ground_scan.draw_yard import LAYOUTS, draw_yard
from tests.ground_scan.judge_break_lines import JudgedLines, judge_lines
from tests.ground_scan.plain_clouds import flat, noisy
from tests.ground_scan.scan_made_yard import Scanning, scan_made_yard
from tests.ground_scan.yard_parts import MadeYard

ORIGIN = np.zeros(3)
#: Kerbs lower than this are found in part.
_SURELY_FOUND_M = 0.08


def scan_lines(yard: MadeYard, ghosts: float, drift_m: float) -> tuple[BreakLine, ...]:
    """Break lines of a scan of a yard."""
    scan = scan_made_yard(yard, Scanning(700_000, ghosts=ghosts, drift_m=drift_m))
    return sort_scan(scan.xyz_m, ORIGIN).break_lines


def check_judged(yards: list[JudgedLines]) -> None:
    """All yards within the tolerances named above."""
    missed = [float((one.missed_m >= 0.10).mean()) for one in yards]
    assert np.mean(missed) < 0.05
    assert max(missed) < 0.20
    aside, top, foot, rise = (
        np.concatenate([getattr(one, name) for one in yards])
        for name in ("aside_m", "top_off_m", "foot_off_m", "rise_off_m")
    )
    for values, half_m, most_m in ((aside, 0.02, 0.08), (top, 0.015, 0.04), (foot, 0.015, 0.04)):
        assert abs(np.median(values)) < half_m
        assert np.quantile(np.abs(values), 0.95) < most_m
    assert abs(np.median(rise)) < 0.015
    assert np.quantile(np.abs(rise), 0.95) < 0.035
    assert sum(one.invented_m for one in yards) < 0.05 * sum(one.found_m for one in yards)


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
    lines = scan_lines(yard, 0.002, 0.006)
    check_judged([judge_lines(yard, lines)])
    for line in lines:
        assert check_break_lines((line,), "scan") == ()
        assert (line.top_m >= line.foot_m).all()


@pytest.mark.slow
@pytest.mark.parametrize(
    "seeds", [range(LAYOUTS), range(100, 100 + LAYOUTS)], ids=["chosen on", "kept aside"]
)
def test_places_tops_and_feet_of_all_yards_are_within_the_tolerances(seeds: range) -> None:
    yards = [draw_yard(seed) for seed in seeds]
    scannings = [(one.seed % 4 * 0.003, one.seed // 4 % 4 * 0.004) for one in yards]
    judged = [
        judge_lines(yard, scan_lines(yard, *scanning))
        for yard, scanning in zip(yards, scannings, strict=True)
        if yard.steps and min(abs(step.rise_m) for step in yard.steps) >= _SURELY_FOUND_M
    ]
    assert len(judged) >= 16
    check_judged(judged)


@pytest.mark.parametrize("seed", [1, 11])
def test_a_wall_is_as_high_as_it_was_built(seed: int) -> None:
    yard = draw_yard(seed)
    scan = scan_made_yard(yard, Scanning(700_000, ghosts=0.002))
    lines = sort_scan(scan.xyz_m, ORIGIN).break_lines
    heights = np.concatenate([line.top_m - line.foot_m for line in lines])
    (step,) = yard.steps
    assert np.median(heights) == pytest.approx(step.rise_m, abs=0.015)
