"""Where one more shot helps most.

A shot somewhere narrows what is known of the ground under a leg.  Whether the leg then fits is
clearer: of the variance p (1 - p) of 'it does not fit' the shot is expected to remove a part, which is
the variance of the chance p as the shot will leave it.  The next place is the one with the
greatest sum of these parts over all legs.  No draws are made: errors count as normal with the
model's covariance, and the mean over what the shot may read is a sum over a grid.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimizer.chance.layout_question import LayoutQuestion, SettingErrors, SupportSpot
from optimizer.chance.mixed_places import gather_places, mix_places
from optimizer.errors import Fault, InputError
from optimizer.terrain.ground_error.error_model import ErrorModel, check_places
from optimizer.terrain.ground_error.nearest import Nearest
from optimizer.terrain.yard import Points

#: Outcomes of a shot in standard deviations, evenly spaced: exact to six digits for smooth chances.
_OUTCOMES: Final = np.linspace(-5.0, 5.0, 101)
#: Places looked at together.
_AT_ONCE: Final = 50
#: A shot that removes less than this part of the legs' variance is not worth a walk (own choice).
_NOTHING: Final = 0.002
#: Nearer than this to a shot already listed, another is that shot read again (own choice).
_APART_M: Final = 0.25


@dataclass(frozen=True, slots=True)
class UsefulShot:
    """A place to shoot, site frame.  ``removes``: part of the legs' failing variance, 0 to 1, that it and
    those before it in the list are expected to remove.  ``near``: the leg it tells most of.
    """

    xy_m: tuple[float, float]
    removes: float
    near: str


@dataclass(frozen=True, slots=True)
class LegShot:
    """One shot at a leg's own foot.  ``fails``: the chance that its planned type does not fit now;
    ``removes``: the part of that chance's own variance that the shot is expected to remove.
    """

    leg: str
    xy_m: tuple[float, float]
    fails: float
    removes: float


@dataclass(frozen=True, slots=True)
class _Belief:
    """Legs' heights as normals.  ``ground`` (l,) is the part of the variance that shots can remove; the
    heights depend on the levels at ``places`` (p, 2) as ``mixing`` (p, l) says.
    """

    spots: tuple[SupportSpot, ...]
    places: Points
    mixing: NDArray[np.float64]
    mean: NDArray[np.float64]
    ground: NDArray[np.float64]
    other: NDArray[np.float64]
    low: NDArray[np.float64]
    high: NDArray[np.float64]

    def fail(self, removed: NDArray[np.float64], off: NDArray[np.float64]) -> NDArray[np.float64]:
        """Chances of failing with ``removed`` variance known to lie ``off``; shapes broadcast to (..., l)."""
        # No type information in this distribution.
        from scipy import special

        spread = np.sqrt(np.maximum(self.ground + self.other - removed, 1e-12))
        middle = self.mean + off
        fails: NDArray[np.float64] = special.ndtr((self.low - middle) / spread)
        fails += special.ndtr((middle - self.high) / spread)
        return fails

    def variance(self) -> NDArray[np.float64]:
        """Variance (l,) of failing as it stands."""
        now = self.fail(np.zeros(1), np.zeros(1))
        return now * (1.0 - now)

    def expect_removed(self, removed: NDArray[np.float64]) -> NDArray[np.float64]:
        """Expected part of that variance gone when ``removed`` (..., l) of the ground's is known."""
        weights = np.exp(-0.5 * _OUTCOMES**2)
        weights /= weights.sum()
        off = _OUTCOMES.reshape(-1, *[1] * removed.ndim) * np.sqrt(removed)
        later = self.fail(removed, off)
        mean = np.tensordot(weights, later, axes=1)
        gone: NDArray[np.float64] = np.tensordot(weights, (later - mean) ** 2, axes=1)
        return gone


def find_useful_shots(
    question: LayoutQuestion,
    model: ErrorModel,
    errors: SettingErrors,
    places_m: Points,
    shot_error_m: float,
    wanted: int,
) -> tuple[UsefulShot, ...]:
    """The ``wanted`` places of ``places_m`` (n, 2) whose shots tell most of the legs, one after the other.

    Each is the best given those before it, 0.25 m from them at least.  Fewer come back when no further
    shot would tell as much as 0.2 % of all there is to tell.
    ``shot_error_m``: standard error of one shot.  Legs on something built, and legs and places over
    ground left open, are left out.  Raises ``InputError`` for places or an error that are no numbers.
    """
    places = check_places(places_m)
    _check_shot_error(shot_error_m)
    belief = _believe(question, model, errors)
    places = places[np.isfinite(model.expected(places))]
    total = float(belief.variance().sum())
    if not belief.spots or not len(places) or total <= 0.0:
        return ()
    across = model.covariance(places, belief.places) @ belief.mixing
    own = model.standard_error(places) ** 2
    removed = np.zeros(len(belief.spots))
    is_free = np.ones(len(places), dtype=np.bool_)
    taken: list[tuple[NDArray[np.float64], float]] = []
    shots: list[UsefulShot] = []
    while len(shots) < wanted:
        further = np.minimum(removed + across**2 / (own + shot_error_m**2)[:, None], belief.ground)
        gains = np.where(is_free, _sum_removed(belief, further), -np.inf)
        best = int(gains.argmax())
        if gains[best] <= _sum_removed(belief, removed[None])[0] + _NOTHING * total:
            break
        told = belief.expect_removed(further[best]) - belief.expect_removed(removed)
        x, y = places[best].tolist()
        shots.append(UsefulShot((x, y), float(gains[best] / total), belief.spots[told.argmax()].id))
        removed = further[best]
        is_free &= np.hypot(*(places - places[best]).T) >= _APART_M
        # What is left to know once this shot is taken, whatever it reads.
        with_places = model.covariance(places, places[best : best + 1])[:, 0]
        for column, variance in taken:
            with_places -= column * column[best] / variance
        with_legs, variance = across[best].copy(), float(own[best]) + shot_error_m**2
        across -= np.outer(with_places, with_legs) / variance
        own = np.maximum(0.0, own - with_places**2 / variance)
        taken.append((with_places, variance))
    return tuple(shots)


def spread_places(question: LayoutQuestion, reach_m: float, spacing_m: float) -> Points:
    """Where a shot could help: every foot, and a grid of ``spacing_m`` within ``reach_m`` of one, (n, 2)."""
    feet = np.array([spot.xy_m[0] for spot in question.supports]).reshape(-1, 2)
    if not (len(feet) and reach_m >= 0.0 and spacing_m > 0.0):
        return feet
    low, high = feet.min(axis=0) - reach_m, feet.max(axis=0) + reach_m
    columns, rows = (np.arange(low[i], high[i] + spacing_m, spacing_m) for i in (0, 1))
    grid = np.stack(np.meshgrid(columns, rows), axis=-1).reshape(-1, 2)
    near = Nearest(feet).find(grid)[0] <= reach_m
    return np.vstack([feet, grid[near]])


def list_leg_shots(
    question: LayoutQuestion, model: ErrorModel, errors: SettingErrors, shot_error_m: float
) -> tuple[LegShot, ...]:
    """One shot at every leg's foot, those that tell most first; legs without a known ground left out."""
    _check_shot_error(shot_error_m)
    belief = _believe(question, model, errors)
    if not belief.spots:
        return ()
    feet = np.array([spot.xy_m[0] for spot in belief.spots])
    own = model.standard_error(feet) ** 2 + shot_error_m**2
    across = np.einsum("lp,pl->l", model.covariance(feet, belief.places), belief.mixing)
    fails, variance = belief.fail(np.zeros(1), np.zeros(1)), belief.variance()
    gone = belief.expect_removed(np.minimum(across**2 / own, belief.ground))
    shots = []
    for i in np.argsort(-gone, kind="stable").tolist():
        x, y = feet[i].tolist()
        removes = float(gone[i] / variance[i]) if variance[i] > 0.0 else 0.0
        shots.append(LegShot(belief.spots[i].id, (x, y), float(fails[i]), removes))
    return tuple(shots)


def _sum_removed(belief: _Belief, removed: NDArray[np.float64]) -> NDArray[np.float64]:
    """Over all legs, for each row of ``removed`` (n, l)."""
    parts = [
        belief.expect_removed(removed[start : start + _AT_ONCE]).sum(axis=1)
        for start in range(0, len(removed), _AT_ONCE)
    ]
    return np.concatenate(parts)


def _believe(question: LayoutQuestion, model: ErrorModel, errors: SettingErrors) -> _Belief:
    """What is known of the heights of the supports that stand on known ground."""
    kept = [
        i
        for i, spot in enumerate(question.supports)
        if spot.built_level_m is None and np.isfinite(model.expected(spot.xy_m)).all()
    ]
    spots = tuple(question.supports[i] for i in kept)
    places, index = gather_places(spots)
    mixing = mix_places(spots, index, len(places))
    steel = np.array([spot.steel_m + spot.bedding_m for spot in spots])
    hung = np.array([spot.hung for spot in spots])
    other = errors.bedding_m**2 + errors.frame_m**2 + (errors.threshold_m * hung) ** 2
    return _Belief(
        spots,
        places,
        mixing,
        steel - model.expected(places) @ mixing,
        np.einsum("pl,pq,ql->l", mixing, model.covariance(places, places), mixing),
        other,
        np.array([spot.low_m for spot in spots]),
        np.array([spot.high_m for spot in spots]),
    )


def _check_shot_error(shot_error_m: float) -> None:
    if not (np.isfinite(shot_error_m) and shot_error_m > 0.0):
        what = f"the standard error of a shot is {shot_error_m} m."
        raise InputError(Fault("shot_error_m", what, "Give metres above zero, such as 0.003."))
