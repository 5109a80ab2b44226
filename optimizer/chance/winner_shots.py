"""Where one more shot may change which layout is the one to build.

The one to build is the layout that is most often the cheapest that fits (``winners``), or none.  Possible
grounds are sorted by what a shot at a place would read on them; where, among grounds of about one reading,
another wins clearly more often, that reading changes the choice.  The share of such grounds is the chance
that the shot changes it; one of less than a per cent or so is not seen.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimizer.chance.winners import DrawnWinners
from optimizer.errors import Fault, InputError
from optimizer.terrain.yard import Points

#: Grounds to either side that count as of one reading, of 10,000 (own choice).
_BESIDE: Final = 200
#: A lead of fewer standard errors is chance.
_LEAD: Final = 3.0
#: A shot that changes the choice less often is not worth a walk (own choice).
_NOTHING: Final = 0.005
#: Nearer than this to a shot already listed, another is that shot read again (own choice).
_APART_M: Final = 0.25


@dataclass(frozen=True, slots=True)
class WinnerShot:
    """``place``: its row in the places asked for.  ``changes``: the chance that what it reads makes
    another layout, or none, the one that most often wins.
    """

    place: int
    changes: float


def find_winner_shots(
    drawn: DrawnWinners, at_m: Points, shot_error_m: float, wanted: int, seed: int
) -> tuple[WinnerShot, ...]:
    """The ``wanted`` places of ``at_m`` (n, 2) whose shots, each on its own, most often change the choice.

    ``drawn`` carries the levels at ``at_m``; open places are left out.  Places are 0.25 m apart at least,
    and change it with 0.5 % or more.  Raises ``InputError`` for a shot's standard error (m) not above zero.
    """
    if not (np.isfinite(shot_error_m) and shot_error_m > 0.0):
        what = f"the standard error of a shot is {shot_error_m} m."
        raise InputError(Fault("shot_error_m", what, "Give metres above zero, such as 0.003."))
    random = np.random.default_rng((seed, 2))
    noise = shot_error_m * random.standard_normal(drawn.levels_m.shape)
    changes = np.array([_measure_change(drawn, column) for column in (drawn.levels_m + noise).T])
    shots: list[WinnerShot] = []
    for place in np.argsort(-changes, kind="stable").tolist():
        if len(shots) == wanted or changes[place] < _NOTHING:
            break
        apart = [np.hypot(*(at_m[place] - at_m[one.place])) for one in shots]
        if min(apart, default=np.inf) >= _APART_M:
            shots.append(WinnerShot(place, float(changes[place])))
    return tuple(shots)


def _measure_change(drawn: DrawnWinners, readings_m: NDArray[np.float64]) -> float:
    """Share of the grounds whose reading (grounds,) makes another the one to build."""
    if np.isnan(readings_m).any():
        return 0.0
    grounds = len(readings_m)
    order = np.argsort(readings_m, kind="stable")
    wins = drawn.winner[order][:, None] == np.arange(drawn.layouts + 1)
    now = int(wins.sum(axis=0).argmax())
    running = np.vstack([np.zeros((1, wins.shape[1]), dtype=np.int64), wins.cumsum(axis=0)])
    beside = max(1, _BESIDE * grounds // 10_000)
    number = np.arange(grounds)
    near = running[np.minimum(number + beside + 1, grounds)] - running[np.maximum(number - beside, 0)]
    best, mine = near.max(axis=1), near[:, now]
    return float((best - mine > _LEAD * np.sqrt(best + mine)).mean())
