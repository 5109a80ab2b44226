"""The chances of one candidate, in one call."""

from __future__ import annotations

from dataclasses import dataclass

from optimizer.catalogue.parts import Catalogue
from optimizer.chance.ask_layout import LandingLimits, ask_layout
from optimizer.chance.joint_chance import JointChance, add_chances, measure_chances
from optimizer.chance.layout_question import SettingErrors
from optimizer.chance.sampled_layout import SampledLayout, sample_layout
from optimizer.plan import Candidate
from optimizer.terrain.ground import Ground
from optimizer.terrain.ground_error.error_model import ErrorModel

#: Grounds that a chance is counted on: its Monte Carlo error is half a per cent at most.
GROUNDS = 10_000


@dataclass(frozen=True, slots=True)
class ToldCandidate:
    """``candidate`` with its chances filled in; ``sampled`` is what spares and shots are worked out from."""

    candidate: Candidate
    chances: JointChance
    sampled: SampledLayout


def tell_chances(
    candidate: Candidate,
    catalogue: Catalogue,
    ground: Ground,
    model: ErrorModel,
    errors: SettingErrors,
    limits: LandingLimits,
    seed: int,
) -> ToldCandidate:
    """Put a candidate on 10,000 possible grounds, hung from its door as planned.

    Frame and units of the plan.  Raises as ``ask_layout`` and ``sample_layout`` do.
    """
    question = ask_layout(candidate, catalogue, ground, limits)
    sampled = sample_layout(question, model, errors, GROUNDS, seed)
    chances = measure_chances(sampled)
    return ToldCandidate(add_chances(candidate, chances), chances, sampled)
