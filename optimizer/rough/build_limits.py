"""The figures that the closed forms need, from a rule set and what was answered on the telephone."""

from __future__ import annotations

from dataclasses import dataclass, replace

from optimizer.brief.ask_facts import Asked, list_questions_of
from optimizer.brief.bind_rules import bind_alone
from optimizer.errors import Fault, InputError
from optimizer.rough.question import CLEAR_WIDTH_M, LANDING_M, RoughLimits
from optimizer.rulebook.build_design_limits import build_design_limits
from optimizer.rulebook.design_limits import LandingNeed
from optimizer.rulebook.facts import JobFacts
from optimizer.rulebook.rules import Limit, RuleSet
from optimizer.rulebook.run_law import RunLaw

#: The leaf of a door where nobody has measured it (common practice, no source).
_LEAF_M = 0.9


def build_rough_limits(rules: RuleSet, facts: JobFacts | None = None) -> RoughLimits:
    """The figures of a rule set; raises ``InputError`` when it limits no running slope.

    A question that was not answered gets the stricter answer, and ``RoughLimits.not_asked`` names it.
    """
    answered = JobFacts() if facts is None else facts
    if not any(limit.quantity in ("running_slope", "run_law") for limit in rules.limits):
        raise InputError(
            Fault("rules", f'"{rules.id}" has no limit on the running slope.', "Name a slope, such as 1:12.")
        )
    kept = tuple(replace(limit, when=()) for limit in rules.limits if _may_bind(limit, answered))
    design = build_design_limits(bind_alone(replace(rules, limits=kept)), "in", _LEAF_M)
    clear_width_m = design.clear_width_m or CLEAR_WIDTH_M
    landing_m = design.landing_straight.length_m or LANDING_M
    bottom_m = design.bottom.length_m
    turn_m = max(landing_m, clear_width_m, _side(design.landing_quarter), _side(design.landing_half))
    door_m = max(
        landing_m, clear_width_m, bottom_m, _side(design.landing_door), _side(design.landing_door_turn)
    )
    even = _find_even(design.laws)
    return RoughLimits(
        rules=f"{rules.title}, {rules.edition}",
        slope=design.steepest if even is None else even.slope,
        rise_per_run_m=design.rise_per_run_m if even is None else even.rise_m,
        door_m=door_m,
        landing_m=landing_m,
        turn_m=turn_m,
        bottom_m=bottom_m,
        clear_width_m=clear_width_m,
        laws=design.laws if even is None else (),
        not_asked=_list_open(rules, answered),
    )


def _side(need: LandingNeed) -> float:
    return max(need.length_m, need.width_m)


@dataclass(frozen=True, slots=True)
class _Even:
    """One slope for runs of whatever length, and the rise one run may take."""

    slope: float
    rise_m: float


def _find_even(laws: tuple[RunLaw, ...]) -> _Even | None:
    """The one slope, when every law is that simple; else ``None``."""
    alone = [law.allowances[0] for law in laws if len(law.allowances) == 1]
    if len(alone) < len(laws) or any(
        one.above_m > 0.0 or one.slope_at_above != one.slope_at_longest for one in alone
    ):
        return None
    slope = min(one.slope_at_longest for one in alone)
    return _Even(slope, min(min(one.greatest_rise_m, one.longest_m * slope) for one in alone))


def _may_bind(limit: Limit, facts: JobFacts) -> bool:
    """Whether a limit binds as far as is known; what would only allow more waits for its answer."""
    known = [(getattr(facts, one.fact, None), one.values) for one in limit.when]
    if any(answer is not None and answer not in values for answer, values in known):
        return False
    is_open = any(answer is None for answer, _ in known)
    return not (is_open and limit.law is not None and limit.law.widens)


def _list_open(rules: RuleSet, facts: JobFacts) -> tuple[Asked, ...]:
    """Questions of limits that still may bind, not answered; a door's closer and latch do not matter here."""
    open_limits = tuple(
        limit
        for limit in rules.limits
        if all(
            getattr(facts, one.fact, None) is None or getattr(facts, one.fact) in one.values
            for one in limit.when
        )
    )
    asked = list_questions_of(open_limits)
    return tuple(one for one in asked if one not in ("closer", "latch") and getattr(facts, one) is None)
