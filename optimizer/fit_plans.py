"""What to load and where to shoot for one candidate of a saved plan."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np

from optimizer.brief.site import Site
from optimizer.chance.joint_chance import Chance, count_chance
from optimizer.chance.layout_question import SupportSpot
from optimizer.chance.measure_here import (
    LegShot,
    UsefulShot,
    find_useful_shots,
    list_leg_shots,
    spread_places,
)
from optimizer.chance.spare_sets import NoSpareSet, SpareSet, find_spares, measure_served
from optimizer.chance.tell_chances import GROUNDS
from optimizer.chance.winner_shots import WinnerShot, find_winner_shots
from optimizer.chance.winners import Winners, count_winners, draw_winners
from optimizer.check_again import read_plan_site
from optimizer.errors import Fault, InputError, InternalError
from optimizer.fit_chances import FitModel, ask_supports, build_fit_model, sample_supports
from optimizer.plan import Candidate, Plan
from optimizer.plan_file import read_plan
from optimizer.terrain.ground_error.shots import LEAST_ERROR_M

#: Shots that are named first.
SHOTS: Final = 3
#: Places that are tried: so far from a foot, and so far apart (own choice).
REACH_M: Final = 0.6
SPACING_M: Final = 0.3


@dataclass(frozen=True, slots=True)
class FitQuestion:
    """One candidate of a plan on its site, with what its chances are counted with."""

    plan: Plan
    site: Site
    candidate: Candidate
    model: FitModel


@dataclass(frozen=True, slots=True)
class SparesFound:
    """Spares for a ``share`` of days; ``bare`` and ``promised`` are counted on grounds that did not
    choose them: served without any spare, and with these (``None`` where no spares do).
    """

    share: float
    found: SpareSet | NoSpareSet
    bare: Chance
    promised: Chance | None


@dataclass(frozen=True, slots=True)
class ShotsFound:
    """The most useful shots, one after the other, and one at every leg; ``shot_error_m`` of each."""

    useful: tuple[UsefulShot, ...]
    at_legs: tuple[LegShot, ...]
    shot_error_m: float


@dataclass(frozen=True, slots=True)
class FootShot:
    """A shot at a foot of some candidate, site frame, and the chance that it changes which one to build."""

    candidate: str
    leg: str
    xy_m: tuple[float, float]
    changes: float


@dataclass(frozen=True, slots=True)
class WinnersFound:
    """The candidates of the plan by direct cost, and how often each is the first of these that fits.

    ``shots``: at which foot one shot may change that, and with which chance.
    """

    candidates: tuple[Candidate, ...]
    winners: Winners
    shots: tuple[FootShot, ...]


def ask_plan(path: Path, site_path: Path | None, number: int) -> FitQuestion:
    """Read a plan with its site and take one candidate, counted from 1.

    Raises ``InputError``: a file at fault, another site, no such candidate.
    """
    plan = read_plan(path)
    site = read_plan_site(plan, path, site_path)
    if not 1 <= number <= len(plan.candidates):
        count = len(plan.candidates)
        remedy = f"The plan has 1 to {count}." if count else "The plan has none: there is nothing to ask."
        raise InputError(Fault("--candidate", f"{number} is not a candidate.", remedy))
    if site.height_errors is None or site.spreads is None:
        what = "it does not say how far its levels may be off."
        raise InputError(Fault(str(site.path), what, "Read the site from its files."))
    candidate = plan.candidates[number - 1]
    model = build_fit_model(site, (candidate,), site.height_errors, site.spreads)
    return FitQuestion(plan, site, candidate, model)


def find_plan_spares(asked: FitQuestion, share: float) -> SparesFound:
    """The cheapest spares with which every support is served with a chance of ``share``.

    Chosen on one sample of grounds and tried on another.  Raises ``InputError`` as ``find_spares`` does.
    """
    seed = asked.plan.seed
    found = find_spares(sample_supports(asked.site, asked.candidate, asked.model, seed), share, seed)
    fresh = sample_supports(asked.site, asked.candidate, asked.model, seed + 1)
    bare = count_chance(measure_served(fresh, ()))
    promised = count_chance(measure_served(fresh, found.spares)) if isinstance(found, SpareSet) else None
    return SparesFound(share, found, bare, promised)


def find_plan_winners(asked: FitQuestion) -> WinnersFound:
    """How often each candidate is the cheapest that can be built with its parts, on the same grounds."""
    ordered = tuple(sorted(asked.plan.candidates, key=lambda one: one.direct_cost_cents))
    site = asked.site
    if site.height_errors is None or site.spreads is None:
        raise InternalError("chances are asked on a site whose errors are not known")
    model = build_fit_model(site, ordered, site.height_errors, site.spreads)
    questions = [ask_supports(site, one) for one in ordered]
    feet = [
        (one.name, spot)
        for one, question in zip(ordered, questions, strict=True)
        for spot in question.supports
        if spot.built_level_m is None
    ]
    at_m = np.array([spot.xy_m[0] for _, spot in feet]).reshape(-1, 2)
    drawn = draw_winners(questions, model.errors, model.setting, at_m, GROUNDS, asked.plan.seed)
    found = find_winner_shots(drawn, at_m, find_shot_error(model), SHOTS, asked.plan.seed)
    return WinnersFound(ordered, count_winners(drawn), tuple(_name_shot(feet, one) for one in found))


def _name_shot(feet: Sequence[tuple[str, SupportSpot]], shot: WinnerShot) -> FootShot:
    name, spot = feet[shot.place]
    x, y = spot.xy_m[0].tolist()
    return FootShot(name, spot.id, (x, y), shot.changes)


def find_shot_error(model: FitModel) -> float:
    """Standard error of one more shot, metres: the threshold was read as any other level."""
    return max(LEAST_ERROR_M, model.setting.threshold_m)


def find_plan_shots(asked: FitQuestion) -> ShotsFound:
    """Where one more shot tells most of whether the legs fit: anywhere near a foot, and at each foot."""
    question = ask_supports(asked.site, asked.candidate)
    setting = asked.model.setting
    shot_error_m = find_shot_error(asked.model)
    places = spread_places(question, REACH_M, SPACING_M)
    useful = find_useful_shots(question, asked.model.errors, setting, places, shot_error_m, SHOTS)
    at_legs = list_leg_shots(question, asked.model.errors, setting, shot_error_m)
    return ShotsFound(useful, at_legs, shot_error_m)
