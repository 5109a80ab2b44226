"""What a sorted scan states of its own error, against the truth of made-up yards, where a ramp may stand.

Targets are our own: over at least 20 surfaces the interval of 95 % covers 93 to 99 % of the cells on
average and 80 % at worst, that of 68 % covers 65 to 85 %.  Rims of things and filled holes are among the
cells, and are judged by themselves too, where the lower bounds alone are asked: too wide a statement about
a hole harms nobody.  The figures stated were chosen on the first layouts, those of ``ASIDE`` only judge.
Measured: 77 and 98.5 % on the first, 76 and 98.4 % on those kept aside, the worst of 48 yards 98.0 %;
holes of both 91 and 97.5 %, 89 and 97.8 %.  Wider than asked for a scanner with 2 cm of noise: 99.3 %.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from optimizer.ground_scan.sort_scan import sort_scan
from tests.ground_scan.draw_yard import LAYOUTS, draw_yard
from tests.ground_scan.judge_errors import LIKELY, SURE, StatedCells, gather_stated
from tests.ground_scan.scan_made_yard import Scanning, scan_made_yard

ASIDE = range(100, 100 + LAYOUTS)
_GHOSTS = (0.0, 0.002, 0.005, 0.010)


def _judge(seed: int, scanning: Scanning) -> StatedCells:
    yard = draw_yard(seed)
    scan = scan_made_yard(yard, replace(scanning, ghosts=_GHOSTS[seed % 4]))
    return gather_stated(yard, sort_scan(scan.xyz_m, np.zeros(3)))


def _shares(yards: list[StatedCells]) -> NDArray[np.float64]:
    """Covered by the likely and by the sure interval, by yards (n, 2)."""
    return np.array([[one.share_within(errors) for errors in (LIKELY, SURE)] for one in yards])


def _join(yards: list[StatedCells]) -> StatedCells:
    return StatedCells(
        np.concatenate([one.off_m for one in yards]),
        np.concatenate([one.error_m for one in yards]),
        np.concatenate([one.unseen_m for one in yards]),
        np.concatenate([one.is_rim for one in yards]),
    )


def _check(yards: list[StatedCells]) -> None:
    shares, every = _shares(yards), _join(yards)
    likely, sure = shares.mean(axis=0)
    groups = {"rims": every.is_rim & (every.unseen_m == 0.0), "holes": every.unseen_m > 0.0}
    print(f"covered {100 * likely:.1f} and {100 * sure:.1f} %, worst {100 * shares[:, 1].min():.1f} %")
    assert 0.65 <= likely <= 0.85
    assert 0.93 <= sure <= 0.99
    assert shares[:, 1].min() >= 0.80
    for name, group in groups.items():
        inside = [every.share_within(errors, group) for errors in (LIKELY, SURE)]
        print(f"{name}: {group.sum()} cells, {100 * inside[0]:.1f} and {100 * inside[1]:.1f} %")
        assert group.sum() > 50 * len(yards)
        assert inside[0] >= 0.65
        assert inside[1] >= 0.93


@pytest.mark.slow
@pytest.mark.parametrize("seeds", [range(LAYOUTS), ASIDE], ids=["chosen on", "kept aside"])
def test_the_truth_lies_within_the_stated_errors_as_often_as_they_say(seeds: range) -> None:
    assert len(seeds) >= 20
    _check([_judge(seed, Scanning(700_000, drift_m=0.0)) for seed in seeds])


def test_the_truth_lies_within_the_stated_errors_on_a_few_yards() -> None:
    yards = [_judge(seed, Scanning(250_000, drift_m=0.0)) for seed in (3, 10, 104)]
    _check(yards)
    # The bounds would tell: neither half nor twice the statement passes them.
    for times, passes in ((0.5, False), (1.0, True), (2.0, False)):
        scaled = [replace(one, error_m=times * one.error_m) for one in yards]
        likely, sure = _shares(scaled).mean(axis=0)
        assert bool(0.65 <= likely <= 0.85 and 0.93 <= sure <= 0.99) is passes


@pytest.mark.slow
@pytest.mark.parametrize(
    "scanning",
    [
        Scanning(400_000, noise_m=0.006, drift_m=0.0),
        Scanning(400_000, noise_m=0.020, drift_m=0.0),
        Scanning(150_000, drift_m=0.0),
        Scanning(1_500_000, drift_m=0.0),
    ],
    ids=["half the noise", "more noise", "thin", "dense"],
)
def test_other_scanners_are_told_as_truly(scanning: Scanning) -> None:
    shares = _shares([_judge(seed, scanning) for seed in (2, 7, 15, 20, 104, 111)])
    assert 0.65 <= shares[:, 0].mean() <= 0.85
    assert 0.93 <= shares[:, 1].mean() <= 0.995  # for six yards of one scanner, half a per cent is left


@pytest.mark.slow
@pytest.mark.parametrize("drift_m", [0.006, 0.012])
def test_drift_comes_on_top_of_the_stated_errors_by_its_square(drift_m: float) -> None:
    alone = [_judge(seed, Scanning(400_000, drift_m=drift_m)) for seed in (2, 7, 15, 20, 104, 111)]
    both = [replace(one, error_m=np.hypot(one.error_m, drift_m)) for one in alone]
    shares = _shares(both)
    assert 0.65 <= shares[:, 0].mean() <= 0.85
    assert 0.93 <= shares[:, 1].mean() <= 0.99
    assert shares[:, 1].min() >= 0.80
    assert _shares(alone)[:, 0].mean() < 0.70  # without it they promise too much
