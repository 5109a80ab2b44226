"""Every layout filtered by ours and by the published filters in one run, and judged alike."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from optimizer.ground_scan.sort_scan import sort_scan
from optimizer.ground_scan.sorted_scan import GROUND as FOUND_GROUND
from tests.ground_scan.draw_yard import draw_yard
from tests.ground_scan.judge_surface import Judgement, prepare_judge
from tests.ground_scan.other_filters import clean_by_neighbours, filter_by_cloth, filter_by_morphology
from tests.ground_scan.scan_made_yard import Scanning, scan_made_yard
from tests.ground_scan.yard_parts import GHOST, GROUND

POINTS = 700_000
_GHOSTS = (0.0, 0.002, 0.005, 0.010)
_DRIFTS_M = (0.0, 0.004, 0.008, 0.012)


@dataclass(frozen=True, slots=True)
class JudgedYard:
    """One yard; ``cells`` judged.  The others once after cleaning as used, once after a perfect one."""

    seed: int
    slope: float
    ghosts: float
    cells: int
    perfect: Judgement
    own: Judgement
    cloth: Judgement
    morphology: Judgement
    cloth_ideal: Judgement
    morphology_ideal: Judgement

    @property
    def rmse_ratio(self) -> float:
        """Ours to the better of the two."""
        return self.own.rmse_m / min(self.cloth.rmse_m, self.morphology.rmse_m)

    @property
    def max_ratio(self) -> float:
        """Largest error of ours to the smaller of theirs."""
        return self.own.max_m / min(self.cloth.max_m, self.morphology.max_m)

    @property
    def ideal_ratio(self) -> float:
        """As ``rmse_ratio`` when every ghost was taken away from the others by its label."""
        return self.own.rmse_m / min(self.cloth_ideal.rmse_m, self.morphology_ideal.rmse_m)


def scanning_of(seed: int) -> Scanning:
    """Ghosts and drift run through their ranges independently of each other."""
    return Scanning(POINTS, drift_m=_DRIFTS_M[(seed // 4) % 4], ghosts=_GHOSTS[seed % 4])


def find_own_ground(xyz_m: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Ground points by our filter, raw scan in."""
    return sort_scan(xyz_m, np.zeros(3)).kinds == FOUND_GROUND


def judge_yard(seed: int) -> JudgedYard:
    """Scan the yard of a seed and judge every filter on it."""
    yard, scanning = draw_yard(seed), scanning_of(seed)
    scan = scan_made_yard(yard, scanning)
    judge = prepare_judge(yard, scan)
    xyz = scan.xyz_m
    cleaned, ideal = xyz[clean_by_neighbours(xyz)], xyz[scan.label != GHOST]

    def judged(
        points: NDArray[np.float64], find: Callable[[NDArray[np.float64]], NDArray[np.bool_]]
    ) -> Judgement:
        return judge.judge(points[find(points)])

    return JudgedYard(
        seed=seed,
        slope=yard.slope,
        ghosts=scanning.ghosts,
        cells=int(judge.zone.sum()),
        perfect=judge.judge(xyz[scan.label == GROUND]),
        own=judged(xyz, find_own_ground),
        cloth=judged(cleaned, filter_by_cloth),
        morphology=judged(cleaned, filter_by_morphology),
        cloth_ideal=judged(ideal, filter_by_cloth),
        morphology_ideal=judged(ideal, filter_by_morphology),
    )


def draw_judged(yards: Sequence[JudgedYard]) -> str:
    """The yards as a table, cm."""
    lines = [f"{'seed':>4}{'slope':>6}{'ghosts':>7}   RMSE/max cm: perfect, ours, cloth, SMRF, both ideal"]
    for one in yards:
        parts = (one.perfect, one.own, one.cloth, one.morphology, one.cloth_ideal, one.morphology_ideal)
        numbers = "".join(f"  {100 * part.rmse_m:5.2f}/{100 * part.max_m:4.1f}" for part in parts)
        ratios = f"  ratio {one.rmse_ratio:.2f}, max {one.max_ratio:.2f}, ideal {one.ideal_ratio:.2f}"
        over = f"  over 3 cm {100 * one.own.over_3cm:.2f} ({100 * one.perfect.over_3cm:.2f}) %"
        lines.append(f"{one.seed:4}{one.slope:6.2f}{one.ghosts:7.3f}{numbers}{ratios}{over}")
    return "\n".join(lines)


def share_over_3cm(yards: Sequence[JudgedYard]) -> float:
    """Share of all judged cells of all yards."""
    return sum(one.own.over_3cm * one.cells for one in yards) / sum(one.cells for one in yards)
