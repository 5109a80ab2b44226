"""Our ground filter against published ones, on yards whose ground is known.

* Zhang, Qi, Wan et al., 'An easy-to-use airborne LiDAR data filtering method based on cloth simulation',
  Remote Sensing 8 (2016) 501: package cloth-simulation-filter.
* Pingel, Clarke and McBride, 'An improved simple morphological filter', ISPRS J. Photogramm. 77 (2013) 21-30:
  package pysmrf.

Both tuned for yards and given statistical outlier removal (12 neighbours, 2.5 sd); ours gets the raw scan.
All run on the same points in one run; the same surface (median of each 5 cm cell, linear mesh over
gaps) is laid through what each calls ground, and judged where a ramp may stand.  Targets are our own:
geometric mean of RMSE ratios to the better of the two at most 0.9, none over 1.1; median of the ratios of
largest errors at most 0.8; at most 0.5 % of all judged cells off by more than 3 cm; 1 % of ghosts changes
the RMSE by less than 2 mm.  The scans are made up, for no openly licensed yard scan with labels is known.

The constants were chosen on the first layouts; those of ``ASIDE`` were looked at only to judge.  Measured on
the first and on those kept aside: mean ratio 0.316 and 0.319, worst 0.998 and 0.989, median of maxima 0.23
and 0.27, over 3 cm 0.13 and 0.33 % (nearly all of it where perfect labels are off as well), to perfect
labels 1.010 and 1.029, to the others after a perfect cleaning 0.965 and 0.997.
"""

from __future__ import annotations

import math
import statistics

import numpy as np
import pytest

from tests.benchmarks.measure import geometric_mean
from tests.ground_scan.draw_yard import LAYOUTS, draw_yard
from tests.ground_scan.judge_surface import prepare_judge
from tests.ground_scan.judged_yards import (
    POINTS,
    draw_judged,
    find_own_ground,
    judge_yard,
    share_over_3cm,
)
from tests.ground_scan.scan_made_yard import Scanning, scan_made_yard

ASIDE = range(100, 100 + LAYOUTS)


@pytest.mark.slow
@pytest.mark.parametrize("seeds", [range(LAYOUTS), ASIDE], ids=["chosen on", "kept aside"])
def test_the_surface_is_nearer_to_the_truth_than_that_of_published_filters(seeds: range) -> None:
    yards = [judge_yard(seed) for seed in seeds]
    print(draw_judged(yards))
    ratios = [one.rmse_ratio for one in yards]
    maxima = statistics.median(one.max_ratio for one in yards)
    to_perfect = geometric_mean([one.own.rmse_m / one.perfect.rmse_m for one in yards])
    ideal = geometric_mean([one.ideal_ratio for one in yards])
    print(f"RMSE ratio {geometric_mean(ratios):.3f}, worst {max(ratios):.3f}, maxima {maxima:.2f}", end="")
    print(f", over 3 cm {100 * share_over_3cm(yards):.3f} %, to perfect {to_perfect:.3f}, ideal {ideal:.3f}")
    assert len(yards) >= 20
    assert geometric_mean(ratios) <= 0.9
    assert max(ratios) <= 1.1
    assert maxima <= 0.8
    assert share_over_3cm(yards) <= 0.005
    # Even against the others on scans from which every ghost was taken by its label.
    assert ideal <= 1.02
    assert to_perfect <= 1.05


def test_one_yard_is_nearer_to_the_truth_than_published_filters_on_it() -> None:
    judged = judge_yard(3)
    assert judged.rmse_ratio <= 0.9
    assert judged.max_ratio <= 0.8
    assert judged.own.over_3cm <= 0.005


@pytest.mark.parametrize("seed", [1, 14, pytest.param(22, marks=pytest.mark.slow)])
def test_one_per_cent_of_ghosts_changes_the_error_by_less_than_two_millimetres(seed: int) -> None:
    yard = draw_yard(seed)
    errors = []
    for ghosts in (0.0, 0.01):
        scan = scan_made_yard(yard, Scanning(POINTS, ghosts=ghosts))
        errors.append(prepare_judge(yard, scan).judge(scan.xyz_m[find_own_ground(scan.xyz_m)]).rmse_m)
    assert abs(errors[1] - errors[0]) < 0.002


def test_the_judge_finds_a_known_error() -> None:
    yard = draw_yard(2)
    scan = scan_made_yard(yard, Scanning(200_000, drift_m=0.0))
    judge = prepare_judge(yard, scan)
    true = np.column_stack([scan.xyz_m[:, :2], yard.elevation(scan.xyz_m[:, :2])])
    plane = judge.tilt[0] + true[:, :2] @ judge.tilt[1:]
    exact = true + np.column_stack([np.zeros((len(true), 2)), plane])
    assert judge.judge(exact).rmse_m < 0.004  # medians of sloping cells
    raised = exact + np.array([0.0, 0.0, 0.05])
    assert judge.judge(raised).rmse_m == pytest.approx(0.05, abs=0.002)
    assert judge.judge(raised).over_3cm == pytest.approx(1.0, abs=0.01)
    assert math.isclose(judge.judge(exact).over_3cm, 0.0, abs_tol=0.001)
