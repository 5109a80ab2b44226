"""The chance of each leg and of all together, with what the sampling leaves open."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from optimizer.chance.layout_question import Kind
from optimizer.chance.sampled_layout import SampledLayout
from optimizer.plan import Candidate


@dataclass(frozen=True, slots=True)
class Chance:
    """A probability by sampling and its Monte Carlo standard error."""

    share: float
    standard_error: float


@dataclass(frozen=True, slots=True)
class LegChance:
    """One support.  ``height_m`` expected, with its standard error; ``planned_m`` as in the plan.

    ``is_near_end``: within two standard errors of an end of its type's range with the reserve kept.
    ``chance`` is ``None`` (and the heights NaN) over ground that was left open.
    """

    id: str
    leg_type: str
    planned_m: float
    height_m: float
    standard_error_m: float
    chance: Chance | None
    is_near_end: bool


@dataclass(frozen=True, slots=True)
class JointChance:
    """A whole layout.  ``legs_fit``: every support takes its planned type; ``all_holds``: and clearance,
    plate and bottom are as planned too.  ``None`` where ``open_ids`` names ground left open.
    """

    legs: tuple[LegChance, ...]
    legs_fit: Chance | None
    all_holds: Chance | None
    kinds: tuple[tuple[Kind, Chance], ...]
    open_ids: tuple[str, ...]


def measure_chances(sampled: SampledLayout) -> JointChance:
    """Count the grounds on which each support, all supports and all conditions hold."""
    legs = []
    for column, spot in enumerate(sampled.question.supports):
        heights = sampled.heights_m[:, column]
        error = float(heights.std())
        height = float(heights.mean())
        is_known = not math.isnan(height)
        # A single ground tells no error.
        near = is_known and is_near_end(height, error, spot.low_m, spot.high_m)
        chance = count_chance(sampled.fits[:, column]) if is_known else None
        legs.append(LegChance(spot.id, spot.planned, spot.height_m, height, error, chance, near))
    fit = np.logical_and.reduce(sampled.fits, axis=1)
    hold = np.logical_and.reduce(sampled.holds, axis=1)
    kinds = dict.fromkeys(window.kind for window in sampled.question.windows)
    open_supports = any(one.chance is None for one in legs)
    return JointChance(
        tuple(legs),
        None if open_supports else count_chance(fit),
        None if sampled.open_ids else count_chance(fit & hold),
        tuple((kind, count_chance(sampled.all_hold(kind))) for kind in kinds),
        sampled.open_ids,
    )


def count_chance(holds: NDArray[np.bool_]) -> Chance:
    """Share of the grounds (n,) that hold.

    The standard error is that of the share with two of each added (A. Agresti and B. A. Coull,
    American Statistician 52 (1998) 119, from memory), so it is not nothing when all hold.
    """
    count, good = len(holds), int(np.count_nonzero(holds))
    steadied = (good + 2.0) / (count + 4.0)
    return Chance(good / count, math.sqrt(steadied * (1.0 - steadied) / count))


def is_near_end(height_m: float, standard_error_m: float, low_m: float, high_m: float) -> bool:
    """Whether a height lies within two standard errors of an end of its range, or outside it."""
    return min(height_m - low_m, high_m - height_m) <= 2.0 * standard_error_m


def add_chances(candidate: Candidate, chances: JointChance) -> Candidate:
    """The candidate with ``fit_chance`` of each leg and of all together filled in."""
    told = {one.id: None if one.chance is None else one.chance.share for one in chances.legs}
    legs = tuple(leg.model_copy(update={"fit_chance": told[leg.id]}) for leg in candidate.legs)
    joint = None if chances.legs_fit is None else chances.legs_fit.share
    return candidate.model_copy(update={"legs": legs, "fit_chance": joint})
