"""The bottom of the ramp, measured: the space beyond the tip and what it lies on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimizer.plan import Candidate
from optimizer.rulebook.design_limits import LandingNeed
from optimizer.standards.chain import Chain
from optimizer.standards.ground_measure import Facets
from optimizer.standards.placed import Vector

#: How findings call the space beyond the tip.
BOTTOM: Final = "bottom space"


@dataclass(frozen=True, slots=True)
class Bottom:
    """Bottom space as placed by its corners and as the problem asks it.

    ``length_m``/``width_m`` from the stated corners, ``asked_*`` from the binding rule sets and
    the section; ``levels_m`` (3, 3) the bare ground (rows down, columns left to right; NaN off
    the survey); ``bare_slope`` of that ground, ``bare_unevenness_m`` how far a probe leaves its
    plane.  ``slope`` of the finished surface in its steepest direction, ``slope_along`` and
    ``slope_across`` the way (a pad is judged by its own corners); ``slope_error``,
    ``along_error``, ``across_error`` one standard error of each (see ``estimate_errors``).
    ``tip_levels_m`` (3,): finished surface under the tip's left corner, middle and right corner;
    ``bare_tip_m`` (3,) the ground there.
    """

    corners_m: Vector
    middle_m: Vector
    length_m: float
    width_m: float
    asked_length_m: float
    asked_width_m: float
    levels_m: Vector
    bare_slope: float
    bare_unevenness_m: float
    slope: float
    slope_along: float
    slope_across: float
    slope_error: float
    along_error: float
    across_error: float
    tip_levels_m: Vector
    bare_tip_m: Vector


def measure_bottom(
    candidate: Candidate, chain: Chain, need: LandingNeed, facets: Facets, level_error_m: float | None
) -> Bottom:
    """Measure the space beyond the tip on the ground, or on the pad when one is placed.

    ``need``: the space that all binding rule sets together ask.  ``level_error_m``: one standard
    deviation of a surveyed level, ``None`` when nobody knows it (slopes then count as exact).
    """
    plate = chain.plate
    corners = np.array(candidate.toe.bottom_space_m, dtype=np.float64)
    asked_length = need.length_m
    asked_width = max(chain.runs[-1].sections[-1].part.overall_width_m, need.width_m)
    levels = probe_levels(plate.end_m, plate.heading, asked_length, asked_width, facets)
    bare = measure_probe_slopes(levels, asked_length, asked_width)
    half = plate.width_m / 2.0
    tip = [plate.end_m[:2] + lateral * plate.right for lateral in (-half, 0.0, half)]
    bare_tip = np.array([facets.elevation_at(xy) for xy in tip])
    slopes, tip_levels = bare, bare_tip
    errors = estimate_errors(bare, asked_length, asked_width, level_error_m)
    if chain.pad is not None:
        pad = chain.pad
        z = pad.corners_m[:, 2]
        slopes = Slopes(
            float(max(abs(z[3] - z[0]), abs(z[2] - z[1]))) / pad.plan_length_m,
            pad.fall_across_m / pad.width_m,
        )
        errors = (0.0, 0.0, 0.0)
        a, b, c = pad.surface_plane()
        tip_levels = np.array([a * xy[0] + b * xy[1] + c for xy in tip])
    return Bottom(
        corners_m=corners,
        middle_m=corners.mean(axis=0),
        length_m=float(min(_distance(corners, 0, 3), _distance(corners, 1, 2))),
        width_m=float(min(_distance(corners, 0, 1), _distance(corners, 3, 2))),
        asked_length_m=asked_length,
        asked_width_m=asked_width,
        levels_m=levels,
        bare_slope=bare.steepest,
        bare_unevenness_m=measure_unevenness(levels),
        slope=slopes.steepest,
        slope_along=slopes.along,
        slope_across=slopes.across,
        slope_error=errors[0],
        along_error=errors[1],
        across_error=errors[2],
        tip_levels_m=tip_levels,
        bare_tip_m=bare_tip,
    )


def _distance(corners: Vector, first: int, second: int) -> float:
    return float(np.hypot(*(corners[second] - corners[first])[:2]))


def probe_levels(
    tip_m: Vector, heading: NDArray[np.float64], length_m: float, width_m: float, facets: Facets
) -> Vector:
    """Bare ground at the 3 x 3 points of the bottom space."""
    right = np.array([heading[1], -heading[0]])
    return np.array(
        [
            [
                facets.elevation_at(tip_m[:2] + along * heading + lateral * right)
                for lateral in (-width_m / 2.0, 0.0, width_m / 2.0)
            ]
            for along in (0.0, length_m / 2.0, length_m)
        ]
    )


@dataclass(frozen=True, slots=True)
class Slopes:
    """Slopes of a plane along the way and across it, rise over plan run, 0 or more."""

    along: float
    across: float

    @property
    def steepest(self) -> float:
        """In its steepest direction."""
        return float(np.hypot(self.along, self.across))


def measure_probe_slopes(levels_m: Vector, length_m: float, width_m: float) -> Slopes:
    """Slopes of the plane fitted to nine probes: differences of row and column means over the sizes."""
    along = (levels_m[2].mean() - levels_m[0].mean()) / length_m
    across = (levels_m[:, 2].mean() - levels_m[:, 0].mean()) / width_m
    return Slopes(float(abs(along)), float(abs(across)))


def estimate_errors(
    slopes: Slopes, length_m: float, width_m: float, level_error_m: float | None
) -> tuple[float, float, float]:
    """One standard error of the steepest slope, the slope along and the slope across.

    Nine levels each wrong by ``s`` on their own: the means of two rows of three differ by
    ``s sqrt(2/3)``, so the slope along is wrong by ``s sqrt(2/3) / length`` and the one across by
    ``s sqrt(2/3) / width``; the steepest by both, each by its share (first order; on level ground
    by the greater).  Levels of one survey are often wrong together, which tilts a small place
    less: the estimate errs to the cautious side.
    """
    if level_error_m is None:
        return (0.0, 0.0, 0.0)
    spread = level_error_m * float(np.sqrt(2.0 / 3.0))
    along, across = spread / length_m, spread / width_m
    steepest = slopes.steepest
    if steepest <= 0.0:
        return (max(along, across), along, across)
    both = float(np.hypot(slopes.along * along, slopes.across * across)) / steepest
    return (both, along, across)


def measure_unevenness(levels_m: Vector) -> float:
    """How far any of the (3, 3) levels leaves the plane fitted to them; NaN when one is unknown."""
    places = np.array([[1.0, i, j] for i in (-1.0, 0.0, 1.0) for j in (-1.0, 0.0, 1.0)])
    flat = levels_m.reshape(-1)
    if not np.all(np.isfinite(flat)):
        return float("nan")
    plane, *_ = np.linalg.lstsq(places, flat, rcond=None)
    return float(np.abs(flat - places @ plane).max())
