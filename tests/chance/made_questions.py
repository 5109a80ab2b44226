"""Questions without a plan: legs in two rows down an invented yard, types that overlap and leave gaps."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from optimizer.chance.layout_question import LayoutQuestion, SettingErrors, SupportSpot, SupportType, Window
from optimizer.terrain.yard import Points

SHORT = SupportType("short", 0.075, 0.330, 5200, None)
MIDDLE = SupportType("middle", 0.280, 0.790, 6900, None)
TALL = SupportType("tall", 0.635, 1.550, 10300, None)
TYPES = (SHORT, MIDDLE, TALL)
ERRORS = SettingErrors(0.004, 0.002, 0.003, 0.002)
NONE = SettingErrors(0.0, 0.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True)
class NormalGround:
    """An error model with a given mean (n,) and covariance (n, n) at given places, and nowhere else."""

    places: Points
    mean: NDArray[np.float64]
    matrix: NDArray[np.float64]

    def _find(self, xy_m: Points) -> NDArray[np.int64]:
        away = np.abs(xy_m[:, None] - self.places[None]).max(axis=2)
        assert (away.min(axis=1, initial=np.inf) < 1e-9).all()
        return away.argmin(axis=1)

    def expected(self, xy_m: Points) -> NDArray[np.float64]:
        return self.mean[self._find(xy_m)]

    def standard_error(self, xy_m: Points) -> NDArray[np.float64]:
        return np.sqrt(np.diag(self.matrix)[self._find(xy_m)])

    def covariance(self, first_xy_m: Points, second_xy_m: Points) -> NDArray[np.float64]:
        return self.matrix[np.ix_(self._find(first_xy_m), self._find(second_xy_m))]

    def sample(self, xy_m: Points, count: int, seed: int) -> NDArray[np.float64]:
        rows = self._find(xy_m)
        random = np.random.default_rng(seed)
        values, vectors = np.linalg.eigh(self.matrix[np.ix_(rows, rows)])
        root = vectors * np.sqrt(np.maximum(values, 0.0))
        return self.mean[rows] + random.standard_normal((count, len(rows))) @ root.T

    def interval(self, xy_m: Points, share: float) -> NDArray[np.float64]:
        raise NotImplementedError


def lay_feet(count: int) -> Points:
    """Feet (count, 2) in pairs a metre apart, pairs 1.2 m apart."""
    pairs = np.arange(count) // 2
    return np.column_stack([2.0 + np.arange(count) % 2, 0.6 + 1.2 * pairs])


def pick_type(height_m: float, types: Sequence[SupportType] = TYPES) -> SupportType:
    """The cheapest type that takes a height, else the one that misses by least."""
    return min(
        types, key=lambda one: (max(0.0, one.low_m - height_m, height_m - one.high_m), one.spare_cents)
    )


def ask(
    feet: Points,
    ground_m: NDArray[np.float64],
    heights_m: NDArray[np.float64],
    types: tuple[SupportType, ...] = TYPES,
    windows: tuple[Window, ...] = (),
) -> LayoutQuestion:
    """Legs of planned heights on a ground taken for the one at ``feet``, the cheapest type for each."""
    spots = []
    for i, (xy, ground, height) in enumerate(zip(feet, ground_m, heights_m, strict=True)):
        chosen = pick_type(float(height), types)
        spots.append(
            SupportSpot(
                id=f"L{i + 1:02d}",
                planned=chosen.id,
                options=tuple(one.id for one in types),
                xy_m=xy[None],
                weights=np.ones(1),
                steel_m=float(ground + height) - 0.01,
                bedding_m=0.01,
                height_m=float(height),
                low_m=chosen.low_m,
                high_m=chosen.high_m,
                hung=1.0,
                built_level_m=None,
            )
        )
    return LayoutQuestion(tuple(spots), windows, types, feet[-1], float(ground_m[-1]))


def with_spot(question: LayoutQuestion, number: int, **changes: object) -> LayoutQuestion:
    """The question with one support changed."""
    spots = list(question.supports)
    spots[number] = replace(spots[number], **changes)
    return replace(question, supports=tuple(spots))
