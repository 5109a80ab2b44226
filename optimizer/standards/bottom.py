"""The bottom of the ramp, measured: the space beyond the tip and what it lies on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimizer.plan import Candidate
from optimizer.standards.case import CheckCase
from optimizer.standards.chain import Chain
from optimizer.standards.ground_measure import Facets
from optimizer.standards.placed import Vector

#: Length of the bottom space when the rule set states no landing length.
DEFAULT_LENGTH_M: Final = 1.2


@dataclass(frozen=True, slots=True)
class Bottom:
    """Bottom space as placed by its corners and as the problem asks it.

    ``length_m``/``width_m`` from the stated corners, ``asked_*`` from the rules and the
    section; ``levels_m`` (3, 3) the bare ground (rows down, columns left to right; NaN off
    the survey); ``bare_slope`` of that ground, ``bare_unevenness_m`` how far a probe leaves its
    plane, ``slope`` of the finished surface (a pad is judged by its own corners).
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
    tip_levels_m: Vector
    bare_tip_m: Vector


def measure_bottom(candidate: Candidate, chain: Chain, case: CheckCase, facets: Facets) -> Bottom:
    """Measure the space beyond the tip on the ground, or on the pad when one is placed."""
    plate = chain.plate
    corners = np.array(candidate.toe.bottom_space_m, dtype=np.float64)
    length_limit, turn_limit = case.rules.limit("landing_length"), case.rules.limit("landing_turn")
    asked_length = DEFAULT_LENGTH_M if length_limit is None else length_limit.value_si
    section_width = chain.runs[-1].sections[-1].part.overall_width_m
    asked_width = max(section_width, 0.0 if turn_limit is None else turn_limit.value_si)
    levels = probe_levels(plate.end_m, plate.heading, asked_length, asked_width, facets)
    bare_slope = measure_probe_slope(levels, asked_length, asked_width)
    half = plate.width_m / 2.0
    tip = [plate.end_m[:2] + lateral * plate.right for lateral in (-half, 0.0, half)]
    bare_tip = np.array([facets.elevation_at(xy) for xy in tip])
    slope, tip_levels = bare_slope, bare_tip
    if chain.pad is not None:
        pad = chain.pad
        z = pad.corners_m[:, 2]
        slope = float(
            np.hypot(
                max(abs(z[3] - z[0]), abs(z[2] - z[1])) / pad.plan_length_m, pad.fall_across_m / pad.width_m
            )
        )
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
        bare_slope=bare_slope,
        bare_unevenness_m=measure_unevenness(levels),
        slope=slope,
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


def measure_probe_slope(levels_m: Vector, length_m: float, width_m: float) -> float:
    """Steepest slope of nine probes: differences of row and column means over the sizes."""
    along = (levels_m[2].mean() - levels_m[0].mean()) / length_m
    across = (levels_m[:, 2].mean() - levels_m[:, 0].mean()) / width_m
    return float(np.hypot(along, across))


def measure_unevenness(levels_m: Vector) -> float:
    """How far any of the (3, 3) levels leaves the plane fitted to them; NaN when one is unknown."""
    places = np.array([[1.0, i, j] for i in (-1.0, 0.0, 1.0) for j in (-1.0, 0.0, 1.0)])
    flat = levels_m.reshape(-1)
    if not np.all(np.isfinite(flat)):
        return float("nan")
    plane, *_ = np.linalg.lstsq(places, flat, rcond=None)
    return float(np.abs(flat - places @ plane).max())
