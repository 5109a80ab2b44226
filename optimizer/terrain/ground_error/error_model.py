"""What every model of the ground's error answers, and the places it may be asked about."""

from __future__ import annotations

from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from optimizer.errors import Fault, InputError
from optimizer.terrain.yard import Points


class ErrorModel(Protocol):
    """The ground as it may be, given what was surveyed.  Metres, site frame.

    Where the ground was left open (a hole or a gap beyond the stated limit) every answer is NaN.
    Places that are not finite pairs raise ``InputError``.
    """

    def expected(self, xy_m: Points) -> NDArray[np.float64]:
        """Elevations (n,) to expect at ``xy_m`` (n, 2)."""
        ...

    def standard_error(self, xy_m: Points) -> NDArray[np.float64]:
        """Standard errors (n,) of the elevations at ``xy_m`` (n, 2)."""
        ...

    def covariance(self, first_xy_m: Points, second_xy_m: Points) -> NDArray[np.float64]:
        """Covariances (n, m), square metres, between two sets of places (n, 2) and (m, 2)."""
        ...

    def sample(self, xy_m: Points, count: int, seed: int) -> NDArray[np.float64]:
        """Elevations (count, n) at ``xy_m`` (n, 2) of ``count`` possible grounds; same seed, same grounds."""
        ...

    def interval(self, xy_m: Points, share: float) -> NDArray[np.float64]:
        """Lower and upper elevations (n, 2) that hold the ground with probability ``share``, equal tails."""
        ...


def check_places(xy_m: Points) -> Points:
    """The places as floats (n, 2); ``InputError`` naming the rows that are not two finite numbers."""
    places = np.asarray(xy_m, dtype=np.float64)
    if places.ndim != 2 or places.shape[1] != 2:
        what = f"the array has the shape {places.shape}."
        raise InputError(Fault("places", what, "Give one row of x and y in metres a place."))
    bad = np.flatnonzero(~np.isfinite(places).all(axis=1))
    if len(bad):
        remedy = "Give finite metres in the site frame."
        raise InputError(*(Fault(f"places[{i}]", f"x, y are {places[i].tolist()}.", remedy) for i in bad))
    return places


def check_count(count: int) -> None:
    """``InputError`` when fewer than one ground is asked for."""
    if count < 1:
        raise InputError(Fault("count", f"{count} grounds are asked for.", "Ask for one or more."))


def check_share(share: float) -> None:
    """``InputError`` when a probability is not between 0 and 1, both left out."""
    if not 0.0 < share < 1.0:
        remedy = "Give a probability above 0 and below 1, such as 0.95."
        raise InputError(Fault("share", f"the share is {share}.", remedy))


def measure_error_about(model: ErrorModel, xy_m: Points, drawn_m: NDArray[np.float64]) -> NDArray[np.float64]:
    """Errors (n,), root mean square, of another surface's elevations ``drawn_m`` (n,) at ``xy_m`` (n, 2).

    A drawn surface need not pass through what the model expects; how far it lies off counts in.
    """
    away = model.expected(xy_m) - drawn_m
    about: NDArray[np.float64] = np.hypot(model.standard_error(xy_m), away)
    return about
