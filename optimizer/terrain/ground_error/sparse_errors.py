"""The ground between a few shots: kriging under every roughness that the shots leave likely.

z(x) = level + fall . x + steps at break lines + bumps + relief within a foot's breadth, shots with their
own errors.  The level is unknown, the rest normal with the spreads of ``roughness``.  Every roughness
of the grid is solved for itself and weighted by its restricted likelihood, so the answer is a mixture
of normals; over the sills of one reach that mixture is what Student's t is with the sill integrated
in closed form, and its tails are as heavy.  What is told is the error of the *ground at a place*: the
relief under the foot counts, the reading of the staff does not.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimizer.errors import Fault, InputError
from optimizer.terrain.ground import BreakLine
from optimizer.terrain.ground_error.correlation import correlate, measure_distances
from optimizer.terrain.ground_error.error_model import check_count, check_places, check_share
from optimizer.terrain.ground_error.level_kriging import Kriged, krige
from optimizer.terrain.ground_error.mixtures import (
    draw_normals,
    find_quantile,
    measure_deviation,
    share_draws,
)
from optimizer.terrain.ground_error.roughness import (
    FALL,
    HALF_STEP_M,
    MICRO_REACH_M,
    Roughness,
    Shape,
    list_roughnesses,
    list_shapes,
)
from optimizer.terrain.ground_error.shots import Shots
from optimizer.terrain.ground_error.sides import cut_correlation, measure_sides
from optimizer.terrain.yard import Points

#: Roughnesses are kept, likeliest first, until this share of all is told.
_KEPT: Final = 0.998


@dataclass(frozen=True, slots=True)
class _Pair:
    """All that the covariance of two sets of places needs but the roughness.

    ``bumps``: for each of some shapes the correlations (n, m), zero across break lines.
    """

    bumps: tuple[NDArray[np.float64], ...]
    micro: NDArray[np.float64]
    shared: NDArray[np.float64]

    def covary(self, rough: Roughness, shape: int) -> NDArray[np.float64]:
        """Covariances (n, m) before any shot, the unknown level left out; ``shape`` counts in ``bumps``."""
        covariances: NDArray[np.float64] = rough.sill_m**2 * self.bumps[shape]
        covariances += rough.micro_m**2 * self.micro
        covariances += self.shared
        return covariances


@dataclass(frozen=True, slots=True)
class _Places:
    """Places with what is worked out once: ``from_middle_m`` (n, 2), ``sides`` (n, lines)."""

    xy_m: Points
    from_middle_m: Points
    sides: NDArray[np.float64]

    def pair_with(self, other: _Places, shapes: tuple[Shape, ...]) -> _Pair:
        away = measure_distances(self.xy_m, other.xy_m)
        cut = cut_correlation(self.sides, other.sides)
        shared = FALL**2 * self.from_middle_m @ other.from_middle_m.T
        shared += HALF_STEP_M**2 * self.sides @ other.sides.T
        bumps = tuple(cut * correlate(away, shape.length_m, shape.smoothness) for shape in shapes)
        return _Pair(bumps, cut * np.exp(-away / MICRO_REACH_M), shared)


@dataclass(frozen=True, slots=True)
class _Part:
    """One roughness that was kept, with its solution and the number of its shape."""

    rough: Roughness
    shape: int
    kriged: Kriged


@dataclass(frozen=True, slots=True)
class SparseErrors:
    """An ``ErrorModel`` of a survey of three to four hundred shots; see ``build_sparse_errors``.

    ``weights`` (g,) of the roughnesses that were kept, likeliest first.
    """

    shots: Shots
    lines: tuple[BreakLine, ...]
    open_beyond_m: float
    weights: NDArray[np.float64]
    _parts: tuple[_Part, ...]
    _shapes: tuple[Shape, ...]
    _known: _Places

    def expected(self, xy_m: Points) -> NDArray[np.float64]:
        """See ``ErrorModel``."""
        means, _ = self._moments(xy_m)
        expected: NDArray[np.float64] = self.weights @ means
        return expected

    def standard_error(self, xy_m: Points) -> NDArray[np.float64]:
        """See ``ErrorModel``.  Of the mixture: wider than a normal's in the tails (see ``interval``)."""
        return measure_deviation(self.weights, *self._moments(xy_m))

    def interval(self, xy_m: Points, share: float) -> NDArray[np.float64]:
        """See ``ErrorModel``."""
        check_share(share)
        means, variances = self._moments(xy_m)
        ends = [
            find_quantile(self.weights, means, variances, tail)
            for tail in (0.5 * (1.0 - share), 0.5 * (1.0 + share))
        ]
        return np.column_stack(ends)

    def covariance(self, first_xy_m: Points, second_xy_m: Points) -> NDArray[np.float64]:
        """See ``ErrorModel``."""
        first, second = self._place(check_places(first_xy_m)), self._place(check_places(second_xy_m))
        to_first, to_second = (self._known.pair_with(one, self._shapes) for one in (first, second))
        between = first.pair_with(second, self._shapes)
        total = np.zeros((len(first.xy_m), len(second.xy_m)))
        first_means, second_means = [], []
        for weight, part in zip(self.weights, self._parts, strict=True):
            kriged = part.kriged
            one = kriged.whiten(to_first.covary(part.rough, part.shape))
            other = kriged.whiten(to_second.covary(part.rough, part.shape))
            total += weight * (between.covary(part.rough, part.shape) + kriged.explain(one, other))
            first_means.append(kriged.estimate(one))
            second_means.append(kriged.estimate(other))
        off_first, off_second = (m - self.weights @ m for m in map(np.array, (first_means, second_means)))
        total += off_first.T @ (self.weights[:, None] * off_second)
        total[self._is_open(first.xy_m)] = np.nan
        total[:, self._is_open(second.xy_m)] = np.nan
        return total

    def sample(self, xy_m: Points, count: int, seed: int) -> NDArray[np.float64]:
        """See ``ErrorModel``."""
        check_count(count)
        places = check_places(xy_m)
        grounds = np.full((count, len(places)), np.nan)
        closed = ~self._is_open(places)
        if not closed.any():
            return grounds
        random = np.random.default_rng(seed)
        asked = self._place(places[closed])
        to, between = (one.pair_with(asked, self._shapes) for one in (self._known, asked))
        drawn = []
        shares = share_draws(self.weights, count, random)
        for draws, part in zip(shares.tolist(), self._parts, strict=True):
            if draws:
                kriged = part.kriged
                whitened = kriged.whiten(to.covary(part.rough, part.shape))
                covariance = between.covary(part.rough, part.shape) + kriged.explain(whitened, whitened)
                drawn.append(draw_normals(kriged.estimate(whitened), covariance, draws, random))
        # In no order, so that the first so many grounds are as good a sample as all.
        grounds[:, closed] = np.vstack(drawn)[random.permutation(count)]
        return grounds

    def _moments(self, xy_m: Points) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Means and variances (g, n) under every roughness; NaN where open."""
        asked = self._place(check_places(xy_m))
        to = self._known.pair_with(asked, self._shapes)
        own = FALL**2 * (asked.from_middle_m**2).sum(axis=1) + HALF_STEP_M**2 * (asked.sides**2).sum(axis=1)
        means, variances = [], []
        for part in self._parts:
            rough = part.rough
            whitened = part.kriged.whiten(to.covary(rough, part.shape))
            means.append(part.kriged.estimate(whitened))
            variances.append(rough.sill_m**2 + rough.micro_m**2 + own + part.kriged.explain_alone(whitened))
        both = np.array([means, variances])
        both[:, :, self._is_open(asked.xy_m)] = np.nan
        return both[0], both[1]

    def _place(self, xy_m: Points) -> _Places:
        return _place(xy_m, self.shots, self.lines)

    def _is_open(self, xy_m: Points) -> NDArray[np.bool_]:
        away = measure_distances(xy_m, self._known.xy_m).min(axis=1, initial=np.inf)
        is_open: NDArray[np.bool_] = away > self.open_beyond_m
        return is_open


def build_sparse_errors(shots: Shots, lines: tuple[BreakLine, ...], open_beyond_m: float) -> SparseErrors:
    """Solve the shots under every roughness of the grid.

    ``lines``: checked break lines, whose tops and feet are among the shots (see ``gather_shots``) or
    the levels beside them stay unknown.  Places farther than ``open_beyond_m`` from every shot are
    left open (``math.inf``: none).  Work grows with the cube of the shots: 0.02 s for 20, 0.2 s for 60.
    """
    if not open_beyond_m > 0.0:
        what = f"gaps are left open beyond {open_beyond_m} m."
        raise InputError(Fault("open_beyond_m", what, "Give a length above zero."))
    known = _place(shots.xyz_m[:, :2], shots, lines)
    shapes = list_shapes()
    pair = known.pair_with(known, shapes)
    solved: list[tuple[float, _Part]] = []
    for number, shape in enumerate(shapes):
        roughs = list(list_roughnesses(shape))
        covariances = np.stack([pair.covary(rough, number) + shots.covariance_m2 for rough in roughs])
        for rough, kriged in zip(roughs, krige(covariances, shots.xyz_m[:, 2]), strict=True):
            likely = math.log(rough.likelihood) + kriged.log_likelihood
            solved.append((likely, _Part(rough, number, kriged)))
    solved.sort(key=lambda one: -one[0])
    weights = np.exp([likely - solved[0][0] for likely, _ in solved])
    kept = int(np.searchsorted(np.cumsum(weights) / weights.sum(), _KEPT)) + 1
    weights = weights[:kept] / weights[:kept].sum()
    weights.setflags(write=False)
    parts = tuple(part for _, part in solved[:kept])
    return SparseErrors(shots, lines, open_beyond_m, weights, parts, shapes, known)


def _place(xy_m: Points, shots: Shots, lines: tuple[BreakLine, ...]) -> _Places:
    return _Places(xy_m, xy_m - shots.xyz_m[:, :2].mean(axis=0), measure_sides(lines, xy_m))
