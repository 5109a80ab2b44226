"""The chances that every leg fits and that all holds as planned, filled in for all candidates of a plan.

Legs and low supports, clearance, plate and the place at the bottom are put on the same possible grounds.
The wish, and with it the order, is about the legs: a part that is not on the van stops the work, a plate a
little steeper than planned is set anew.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from optimizer.brief.height_errors import HeightErrors, SettingSpreads, build_error_model
from optimizer.brief.site import Site
from optimizer.chance.ask_layout import LandingLimits, ask_layout
from optimizer.chance.joint_chance import JointChance, add_chances, measure_chances
from optimizer.chance.layout_question import LayoutQuestion, SettingErrors
from optimizer.chance.sampled_layout import SampledLayout, sample_layout
from optimizer.chance.tell_chances import GROUNDS
from optimizer.errors import InternalError
from optimizer.plan import Candidate, FitRecord, HoldChance, SupportLeg
from optimizer.terrain.ground_error.error_model import ErrorModel
from optimizer.terrain.yard import Points

#: A lip of 1/4 in at the tip needs no treatment (ADA 2010, 303.2).
LIP_M: Final = 0.00635


@dataclass(frozen=True, slots=True)
class FitModel:
    """What chances on a site are counted with."""

    errors: ErrorModel
    setting: SettingErrors


@dataclass(frozen=True, slots=True)
class FitTold:
    """Candidates with their chances, those that reach the wish first and named anew, and the record."""

    candidates: tuple[Candidate, ...]
    record: FitRecord | None


def tell_fit(site: Site, candidates: Sequence[Candidate]) -> FitTold:
    """Put every candidate on the same number of possible grounds.

    Candidates come in the order of their direct cost.  A site whose errors are not known, or without a
    candidate, tells nothing.  Raises as ``ask_layout`` and ``build_error_model`` do.
    """
    if site.height_errors is None or site.spreads is None or not candidates:
        return FitTold(tuple(candidates), None)
    model = build_fit_model(site, candidates, site.height_errors, site.spreads)
    told = [fill_chances(one, sample_whole(site, one, model, site.search.seed)) for one in candidates]
    wished = site.wishes.fit_at_least
    record = FitRecord(
        grounds=GROUNDS,
        seed=site.search.seed,
        reading_m=site.spreads.reading_m,
        bedding_m=site.spreads.bedding_m,
        frame_m=site.spreads.frame_m,
        at_least=wished,
        extra_cents=None,
    )
    if wished is None:
        return FitTold(tuple(told), record)
    marked = [one.model_copy(update={"reaches_fit": reaches(one, wished)}) for one in told]
    reaching = [one for one in marked if one.reaches_fit]
    ordered = (*reaching, *(one for one in marked if not one.reaches_fit))
    extra = None
    if reaching:
        extra = min(one.price_cents for one in reaching) - min(one.price_cents for one in marked)
    return FitTold(
        tuple(one.model_copy(update={"name": f"candidate {n}"}) for n, one in enumerate(ordered, start=1)),
        record.model_copy(update={"extra_cents": extra}),
    )


def reaches(candidate: Candidate, wished: float) -> bool:
    """Whether the chance counted is as much as wished; one that is not known is not."""
    return candidate.fit_chance is not None and candidate.fit_chance >= wished


def build_fit_model(
    site: Site, candidates: Sequence[Candidate], errors: HeightErrors, spreads: SettingSpreads
) -> FitModel:
    """The ground's errors near the feet of some candidates, and those of setting.

    The threshold, steps and slabs are read off the staff like any level.
    """
    feet = gather_feet(candidates)
    model = build_error_model(errors, site.ground, site.origin_shift_m, feet)
    setting = SettingErrors(spreads.bedding_m, spreads.frame_m, spreads.reading_m, spreads.reading_m)
    return FitModel(model, setting)


def gather_feet(candidates: Sequence[Candidate]) -> Points:
    """Where supports stand (k, 2), site frame."""
    return np.array([(leg.x_m, leg.y_m) for one in candidates for leg in one.legs]).reshape(-1, 2)


def ask_whole(site: Site, candidate: Candidate) -> LayoutQuestion:
    """Every condition of a candidate.  ``InternalError`` for a start that the site does not have."""
    for start in site.yard.starts:
        if start.name == candidate.start:
            design = site.design_of(start)
            limits = LandingLimits(design.steepest, design.landing_slope, LIP_M)
            return ask_layout(candidate, site.catalogue, site.ground, limits)
    raise InternalError(f"{candidate.name} starts at {candidate.start!r}, which the site does not have")


def ask_supports(site: Site, candidate: Candidate) -> LayoutQuestion:
    """The conditions of the supports alone, as spares and shots ask them."""
    return dataclasses.replace(ask_whole(site, candidate), windows=())


def sample_whole(site: Site, candidate: Candidate, model: FitModel, seed: int) -> SampledLayout:
    """All conditions on 10,000 possible grounds."""
    return sample_layout(ask_whole(site, candidate), model.errors, model.setting, GROUNDS, seed)


def sample_supports(site: Site, candidate: Candidate, model: FitModel, seed: int) -> SampledLayout:
    """Heights of the supports on 10,000 possible grounds."""
    return sample_layout(ask_supports(site, candidate), model.errors, model.setting, GROUNDS, seed)


def fill_chances(candidate: Candidate, sampled: SampledLayout) -> Candidate:
    """The candidate with the chances, their Monte Carlo errors and the errors of its heights."""
    chances = measure_chances(sampled)
    filled = add_chances(candidate, chances)
    joint = None if chances.legs_fit is None else chances.legs_fit.standard_error
    whole = chances.all_holds
    return filled.model_copy(
        update={
            "legs": _fill_legs(filled, chances),
            "fit_standard_error": joint,
            "holds_chance": None if whole is None else whole.share,
            "holds_standard_error": None if whole is None else whole.standard_error,
            "hold_chances": () if whole is None else _tell_holds(chances),
        }
    )


def _tell_holds(chances: JointChance) -> tuple[HoldChance, ...]:
    """Each kind alone; over ground left open the counts say nothing, and this is not asked."""
    return tuple(HoldChance(kind=kind, chance=one.share) for kind, one in chances.kinds if kind != "slope")


def _fill_legs(candidate: Candidate, chances: JointChance) -> tuple[SupportLeg, ...]:
    legs = []
    for leg, told in zip(candidate.legs, chances.legs, strict=True):
        if told.chance is None:
            legs.append(leg)
            continue
        # About the height as planned: what the plan's ground lies off the expected one counts in.
        error = math.hypot(told.standard_error_m, told.height_m - told.planned_m)
        legs.append(
            leg.model_copy(
                update={
                    "fit_standard_error": told.chance.standard_error,
                    "height_error_m": error,
                    "is_near_end": told.is_near_end,
                }
            )
        )
    return tuple(legs)
