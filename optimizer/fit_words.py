"""Chances and heights with their plus-minus, as words for tables."""

from __future__ import annotations

import math
from fractions import Fraction
from typing import Final

from optimizer.brief.site import DisplayUnits, Site
from optimizer.chance.heights_with_errors import find_step, round_to_step
from optimizer.plan import Candidate, FitRecord, Plan, SupportLeg
from optimizer.units import TOLERANCE_M, LengthSystem, format_length, format_money

#: Plus-minus in standard errors: about 95 %.
TWO: Final = 2.0
_KINDS: Final = {"plate": "plate", "clearance": "clearance", "bottom": "place at the bottom"}
#: Stands behind a chance that is less than the site wishes.
BELOW: Final = "*"
#: Legs named as the least sure: so many, each below that chance.
NAMED: Final = 3
DOUBTFUL: Final = 0.995


def show_chance(share: float | None) -> str:
    """``97.3``, per cent; what is not all or nothing is never printed as such."""
    if share is None:
        return "open"
    if 0.0 < share < 0.0005:
        return "<0.1"
    if 0.9995 <= share < 1.0:
        return ">99.9"
    return f"{100.0 * share:.1f}"


def show_height(site: Site, leg: SupportLeg) -> tuple[str, str]:
    """The planned height and its plus-minus in display units, rounded to what the plus-minus carries.

    The plus-minus is two standard errors; without an error the height stands as it is.
    """
    return _show_height(site.display, leg)


def _show_height(display: DisplayUnits, leg: SupportLeg) -> tuple[str, str]:
    if leg.height_error_m is None:
        return format_length(leg.height_m, display.system, display.step_m), "open"
    return _round_both(display, leg.height_m, TWO * leg.height_error_m)


def show_leg_height(site: Site, leg: SupportLeg) -> str:
    """``803 mm ± 12 mm``; the height alone where no error is told."""
    return _join_height(site.display, leg)


def show_tallest_leg(plan: Plan, candidate: Candidate) -> str:
    """The tallest leg's height as ``show_leg_height``, in the plan's units; ``none`` without legs."""
    legs = [leg for leg in candidate.legs if leg.kind == "leg"]
    if not legs:
        return "none"
    display = DisplayUnits(plan.display_units, plan.display_step_m)
    return _join_height(display, max(legs, key=lambda leg: leg.height_m))


def _join_height(display: DisplayUnits, leg: SupportLeg) -> str:
    height, plus_minus = _show_height(display, leg)
    return height if leg.height_error_m is None else f"{height} ± {plus_minus}"


def show_rise(plan: Plan, site: Site, candidate: Candidate) -> str:
    """The rise at the tip with the plus-minus of the ground's levels, where that is known."""
    doubt_m = find_doubt_m(plan)
    if doubt_m is None:
        return format_length(candidate.rise_m, site.display.system, site.display.step_m)
    return " ± ".join(_round_both(site.display, candidate.rise_m, doubt_m))


def find_doubt_m(plan: Plan) -> float | None:
    """Plus-minus of a height: twice the rough error of the ground; ``None`` when that is not known."""
    error_m = plan.ground.leave_one_out_m
    return None if error_m is None else TWO * error_m


def _round_both(display: DisplayUnits, height_m: float, plus_minus_m: float) -> tuple[str, str]:
    """A height rounded to what its plus-minus carries, and that."""
    step_m = _find_step_m(display, plus_minus_m)
    shown = round_to_step(height_m, Fraction(step_m))
    return format_length(shown, display.system, step_m), _round_up(display, plus_minus_m)


def show_plus_minus(site: Site, plus_minus_m: float) -> str:
    """A plus-minus in display units, rounded up: never as nothing at all."""
    return _round_up(site.display, plus_minus_m)


def _round_up(display: DisplayUnits, plus_minus_m: float) -> str:
    step_m = _find_step_m(display, plus_minus_m)
    up_m = max(1, math.ceil((plus_minus_m - TOLERANCE_M) / step_m)) * step_m
    return format_length(up_m, display.system, step_m)


def _find_step_m(display: DisplayUnits, plus_minus_m: float) -> float:
    step = find_step(plus_minus_m, "in" if display.system in ("ft-in", "in") else "mm")
    return max(float(step), display.step_m)


def list_near_ends(candidate: Candidate) -> str:
    """Which supports want another shot; empty where none does, or errors are not told."""
    names = ", ".join(leg.id for leg in candidate.legs if leg.is_near_end)
    if not names:
        return ""
    return f"Within two standard errors of an end of its usable range: {names}; shoot again before ordering."


def show_fit(candidate: Candidate) -> str:
    """The chance that all legs fit, marked where it is below the wish."""
    return show_chance(candidate.fit_chance) + (BELOW if candidate.reaches_fit is False else "")


def list_fit_lines(plan: Plan) -> list[str]:
    """What the column of chances says, and what the wish for one costs."""
    fit = plan.fit
    if fit is None or not plan.candidates:
        return []
    errors = [one.fit_standard_error for one in plan.candidates if one.fit_standard_error is not None]
    counted = f", to +/- {100.0 * TWO * max(errors):.1f} % at most" if errors else ""
    lines = [
        f'"Legs fit": chance that all legs fit as planned, on {fit.grounds} possible grounds '
        f"(seed {fit.seed}){counted}.",
        *_describe_holds(plan.candidates[0]),
    ]
    if any(one.fit_chance is None for one in plan.candidates):
        lines.append('"open": some foot stands where the ground was not surveyed.')
    return lines + _describe_wish(plan, fit)


def _describe_holds(candidate: Candidate) -> list[str]:
    """What the second number is, and what of the first candidate is least likely to hold."""
    if candidate.holds_chance is None or not candidate.hold_chances:
        return []
    weakest = min(candidate.hold_chances, key=lambda one: one.chance)
    return [
        '"All holds": that clearance, plate and the place at the bottom are as planned too, without setting '
        f"anything anew; of {candidate.name} the {_KINDS[weakest.kind]} holds with "
        f"{show_chance(weakest.chance)} %."
    ]


def _describe_wish(plan: Plan, fit: FitRecord) -> list[str]:
    if fit.at_least is None:
        return []
    wish = f"fit_at_least = {fit.at_least:g}"
    if fit.extra_cents is None:
        best = max(plan.candidates, key=lambda one: -1.0 if one.fit_chance is None else one.fit_chance)
        lines = [
            f"{wish}: none of the candidates found reaches it ({BELOW}); {best.name} comes nearest with "
            f"{show_chance(best.fit_chance)} %."
        ]
        if fit.widest_m is not None:
            width = _show_width(plan, fit.widest_m)
            lines.append(f"Nor does any found whose supports would fit for ground up to {width} off.")
        return [*lines, _tell_doubtful(best)]
    if fit.extra_cents == 0:
        return [f"{wish}: the cheapest of the candidates found reaches it."]
    extra = format_money(fit.extra_cents, plan.currency)
    lines = [
        f"{wish}: those that reach it stand first, {BELOW} marks the others; it costs {extra} more than the "
        "cheapest, among the candidates found."
    ]
    if fit.width_m is not None:
        width = _show_width(plan, fit.width_m)
        lines.append(
            f"{plan.candidates[0].name} was searched for it: its supports fit for ground up to {width} "
            "higher or lower. That no other reaches it for less is not proven."
        )
    return lines


def _tell_doubtful(candidate: Candidate) -> str:
    """Which legs to shoot again, the least sure first; a joint chance below all of theirs names none."""
    known = [(one.fit_chance, one.id) for one in candidate.legs if one.fit_chance is not None]
    doubtful = sorted(one for one in known if one[0] < DOUBTFUL)[:NAMED]
    where = ", ".join(f"{name} ({show_chance(share)} %)" for share, name in doubtful)
    least = f"Its least sure: {where}. " if where else ""
    return f"{least}Shoot again where evenfall measure-here says."


def _show_width(plan: Plan, width_m: float) -> str:
    systems: dict[str, LengthSystem] = {"ft-in": "in", "in": "in", "mm": "mm", "m": "mm"}
    return format_length(width_m, systems[plan.display_units], plan.display_step_m)
