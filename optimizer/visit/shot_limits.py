"""How far the ground may differ from the survey before a leg or the toe no longer fits."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimizer.brief.site import Site
from optimizer.catalogue.parts import BottomPad
from optimizer.plan import Candidate, Piece, SupportLeg
from optimizer.schedule_tables import measure_spare

#: A lip of 1/4 in at the tip needs no treatment (ADA 2010, 303.2): so much lower the ground may always be.
LIP_M: Final = 0.00635
#: Nobody needs to know of more.
_FARTHEST_M: Final = 0.5
_HALVINGS: Final = 24


@dataclass(frozen=True, slots=True)
class Leeway:
    """Metres that the ground may be higher and lower than surveyed; 0 where it may not."""

    higher_m: float
    lower_m: float


def measure_leg_leeway(leg: SupportLeg) -> Leeway:
    """Higher ground shortens a leg, lower ground lengthens it; its reserve is kept."""
    down_m, up_m = measure_spare(leg)
    return Leeway(max(0.0, down_m), max(0.0, up_m))


def measure_toe_leeway(site: Site, candidate: Candidate) -> Leeway:
    """At the tip.

    Higher: the hinged plate flattens until it is level.  Lower: the last run is set steeper, as far
    as the rules, the wishes and the supports below it allow, at least by a lip of 1/4 in.  On a pad: what
    the pad can still take up, either way.
    """
    pads = [piece for piece in candidate.pieces if piece.kind == "bottom_pad"]
    if pads:
        return _measure_pad(site, pads[0])
    run = [piece for piece in candidate.pieces if piece.run == find_last_run(candidate)]
    plate = run[-1]
    higher_m = _level(plate, 0, 1) - _level(plate, 2, 3)
    start, end = _middle(run[0], 0, 1), _middle(plate, 2, 3)
    plan_m = float(np.hypot(*(end - start)[:2]))
    lower_m = _find_steeper(site, candidate, float(start[2] - end[2]), plan_m)
    for leg in candidate.legs:
        if leg.piece not in {piece.id for piece in run}:
            continue
        share = math.dist((leg.x_m, leg.y_m), (float(start[0]), float(start[1]))) / plan_m
        lower_m = min(lower_m, measure_leg_leeway(leg).higher_m / max(share, 1e-6))
    return Leeway(max(0.0, higher_m), max(LIP_M, lower_m))


def find_last_run(candidate: Candidate) -> int:
    """Number of the run that lands."""
    return max(piece.run or 0 for piece in candidate.pieces)


def _find_steeper(site: Site, candidate: Candidate, rise_m: float, plan_m: float) -> float:
    """How much more the last run may descend over its plan length."""
    start = next(one for one in site.yard.starts if one.name == candidate.start)
    design = site.design_of(start)
    steepest = design.steepest if site.wishes.steepest is None else min(design.steepest, site.wishes.steepest)

    def is_allowed(more_m: float) -> bool:
        total_m = rise_m + more_m
        return (
            total_m <= steepest * plan_m + 1e-9
            and total_m <= design.rise_per_run_m + 1e-9
            and all(law.allows(total_m, plan_m) for law in design.laws)
        )

    low_m, high_m = 0.0, _FARTHEST_M
    for _ in range(_HALVINGS):
        middle_m = 0.5 * (low_m + high_m)
        low_m, high_m = (middle_m, high_m) if is_allowed(middle_m) else (low_m, middle_m)
    return low_m


def _measure_pad(site: Site, pad: Piece) -> Leeway:
    part = site.catalogue.part(pad.catalogue_id)
    if not isinstance(part, BottomPad):
        return Leeway(0.0, 0.0)
    corners = np.array(pad.corners_m)
    ground = site.ground.elevation(np.vstack((corners[:, :2], corners[:, :2].mean(axis=0)[None])))
    uneven_m = float(np.nanmax(np.abs(ground - corners[0, 2])))
    rest_m = max(0.0, part.greatest_level_difference_m - uneven_m)
    return Leeway(rest_m, rest_m)


def _middle(piece: Piece, first: int, second: int) -> NDArray[np.float64]:
    middle: NDArray[np.float64]
    middle = 0.5 * (np.array(piece.corners_m[first]) + np.array(piece.corners_m[second]))
    return middle


def _level(piece: Piece, first: int, second: int) -> float:
    return float(_middle(piece, first, second)[2])
