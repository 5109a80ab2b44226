"""How one finding is made: the one comparator, the document's own unit, one plain sentence."""

from __future__ import annotations

from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from optimizer.plan import XYZ, Finding, Verdict
from optimizer.rulebook.rules import Limit
from optimizer.units import METRES_PER_UNIT, Slope, is_at_least, is_at_most, is_slope_at_most

#: Name of the rule set of the physical checks, which hold whatever document binds.
BUILD: Final = "build"
#: Two pieces that are bolted together may differ by this much (0.1 mm).
JOINT_M: Final = 1e-4
#: A re-measured ground height or place may differ from the stated one by this much (1 mm).
PLACE_M: Final = 1e-3

WORDS: Final = {"<=": "at most", "<": "less than", ">=": "at least", ">": "more than"}
_METRES: Final = dict(METRES_PER_UNIT)
_MOST_DECIMALS: Final = 6


def locate(point_m: NDArray[np.float64]) -> XYZ:
    """A ``(3,)`` point as the plain triple a finding carries."""
    return (float(point_m[0]), float(point_m[1]), float(point_m[2]))


def convert_to_document(limit: Limit, value_si: float) -> float:
    """``value_si`` (metres or a ratio) in the unit the document itself uses."""
    if limit.unit in _METRES:
        return value_si / float(_METRES[limit.unit])
    if limit.value_si != 0.0:
        return value_si * (limit.value / limit.value_si)
    return value_si


def is_within(limit: Limit, measured_si: float) -> bool:
    """Does ``measured_si`` stand in the limit's relation to its ``value_si``; at the limit counts.

    A strict limit (``<``, ``>``) is the opposite one not met.
    """
    return stands(measured_si, limit.operator, limit.value_si)


def stands(measured: float, operator: str, limit: float) -> bool:
    """Does ``measured`` stand in this relation to ``limit``; at the limit counts."""
    match operator:
        case "<=":
            return is_at_most(measured, limit)
        case ">=":
            return is_at_least(measured, limit)
        case "<":
            return not is_at_least(measured, limit)
        case _:
            return not is_at_most(measured, limit)


def judge_length(
    limit: Limit, rules: str, subject: str, what: str, measured_m: float, where_m: XYZ | None
) -> Finding:
    """A length (or a count of sides) against its limit."""
    return judge_value(limit, rules, subject, what, measured_m, limit.value_si, where_m)


def judge_value(
    limit: Limit,
    rules: str,
    subject: str,
    what: str,
    measured_m: float,
    bound_m: float,
    where_m: XYZ | None,
) -> Finding:
    """A length against ``bound_m``, which the clause derives (such as the widest run's width)."""
    measured = convert_to_document(limit, measured_m)
    bound = convert_to_document(limit, bound_m)
    verdict: Verdict = "meets" if stands(measured_m, limit.operator, bound_m) else "fails"
    shown, shown_limit = show_numbers(measured, bound, verdict)
    unit = "" if limit.unit == "count" else f" {limit.unit}"
    text = f"{subject}: {what} {shown}{unit}, {WORDS[limit.operator]} {shown_limit}{unit} asked."
    return conclude(limit, rules, subject, measured, bound, where_m, verdict, text)


def judge_slope(
    limit: Limit, rules: str, subject: str, what: str, rise_m: float, run_m: float, where_m: XYZ | None
) -> Finding:
    """A slope of ``rise_m`` over ``run_m`` in plan; compared as lengths, so exactly on counts."""
    ratio = rise_m / run_m if run_m > 0.0 else float("inf")
    if run_m <= 0.0:
        text = f"{subject}: {what} cannot be measured, it has no length in plan."
        return conclude(limit, rules, subject, None, limit.value, where_m, "cannot tell", text)
    text = (
        f"{subject}: {what} {Slope.from_ratio(ratio)}, "
        f"{WORDS[limit.operator]} {Slope.from_ratio(limit.value_si)} asked."
    )
    verdict: Verdict = "meets" if is_slope_within(limit, rise_m, run_m) else "fails"
    measured = convert_slope_to_document(limit, ratio)
    return conclude(limit, rules, subject, measured, limit.value, where_m, verdict, text)


def is_slope_within(limit: Limit, rise_m: float, run_m: float) -> bool:
    """Does a slope stand in the limit's relation to it; compared as lengths."""
    if limit.operator == "<=":
        return is_slope_at_most(rise_m, run_m, limit.value_si)
    return stands(rise_m, limit.operator, limit.value_si * run_m)


def convert_slope_to_document(limit: Limit, ratio: float) -> float | None:
    """A ratio in the document's unit; ``1:n`` units count n, which a level surface has not."""
    if limit.unit.startswith("1:") and limit.value != limit.value_si:
        return 1.0 / ratio if ratio != 0.0 else None
    return convert_to_document(limit, ratio)


def judge_need(
    limit: Limit,
    rules: str,
    subject: str,
    measured_m: float,
    where_m: XYZ | None,
    what: str,
    missing: str | None,
    thing: str,
) -> Finding:
    """A trigger ('no rail is needed while measured operator limit').

    ``missing`` says which required ``thing`` is not there, ``None`` when nothing is missing.
    """
    measured = convert_to_document(limit, measured_m)
    bound = convert_to_document(limit, limit.value_si)
    if is_within(limit, measured_m):
        shown, shown_limit = show_numbers(measured, bound, "meets")
        text = (
            f"{subject}: {what} {shown} {limit.unit} asks for no {thing} "
            f"({WORDS[limit.operator]} {shown_limit} {limit.unit})."
        )
        return conclude(limit, rules, subject, measured, bound, where_m, "does not apply", text)
    shown, shown_limit = show_numbers(measured, bound, "fails")
    text = f"{subject}: {what} {shown} {limit.unit} (limit {shown_limit} {limit.unit}) asks for a {thing}; "
    text += "it is there." if missing is None else f"{missing}."
    verdict: Verdict = "meets" if missing is None else "fails"
    return conclude(limit, rules, subject, measured, bound, where_m, verdict, text)


def tell_unmeasured(limit: Limit, rules: str, subject: str, why: str, where_m: XYZ | None) -> Finding:
    """The clause was looked at but the thing could not be measured."""
    return conclude(
        limit, rules, subject, None, limit.value, where_m, "cannot tell", f"{subject}: cannot tell, {why}."
    )


def tell_inapplicable(limit: Limit, rules: str, subject: str, why: str, where_m: XYZ | None) -> Finding:
    """The clause was looked at and does not concern this thing."""
    return conclude(limit, rules, subject, None, limit.value, where_m, "does not apply", f"{subject}: {why}.")


def conclude(
    limit: Limit,
    rules: str,
    subject: str,
    measured: float | None,
    bound: float | None,
    where_m: XYZ | None,
    verdict: Verdict,
    text: str,
) -> Finding:
    """The finding of one clause; ``measured`` and ``bound`` in the document's own unit.

    A number nobody has read in the document passes nothing and fails nothing.
    """
    if limit.how_known == "memory" and verdict in ("meets", "fails"):
        verdict = "cannot tell"
        text += " The limit is known from memory only."
    return Finding(
        rules=rules,
        clause=limit.clause,
        measured=measured,
        operator=limit.operator,
        limit=bound,
        unit=limit.unit,
        where_m=where_m,
        subject=subject,
        verdict=verdict,
        text=text,
        how_known=limit.how_known,
    )


def show_numbers(measured: float, limit: float, verdict: Verdict) -> tuple[str, str]:
    """Both numbers, with so many decimals that a failure never prints as its own limit."""
    shown, shown_limit = "", ""
    for decimals in range(2, _MOST_DECIMALS + 1):
        shown, shown_limit = f"{measured:.{decimals}f}", f"{limit:.{decimals}f}"
        if verdict == "meets" or shown != shown_limit:
            break
    return _trim(shown), _trim(shown_limit)


def _trim(number: str) -> str:
    trimmed = number.rstrip("0").rstrip(".")
    return "0" if trimmed == "-0" else trimmed


def judge_build(
    clause: str,
    subject: str,
    what: str,
    measured: float,
    operator: Literal["<=", ">="],
    limit: float,
    unit: str,
    where_m: XYZ | None,
) -> Finding:
    """A physical measure against the limit of one of our own ``build`` clauses."""
    if not np.isfinite(measured):
        return Finding(
            rules=BUILD,
            clause=clause,
            measured=None,
            operator=operator,
            limit=limit,
            unit=unit,
            where_m=where_m,
            subject=subject,
            verdict="fails",
            text=f'{subject}: "{what}" cannot be measured here.',
            how_known="build",
        )
    verdict: Verdict = "meets" if stands(measured, operator, limit) else "fails"
    shown, shown_limit = show_numbers(measured, limit, verdict)
    word = f" {unit}" if unit else ""
    return Finding(
        rules=BUILD,
        clause=clause,
        measured=measured,
        operator=operator,
        limit=limit,
        unit=unit,
        where_m=where_m,
        subject=subject,
        verdict=verdict,
        text=f"{subject}: {what} {shown}{word}, {WORDS[operator]} {shown_limit}{word}.",
        how_known="build",
    )


def judge_deviation(
    clause: str, subject: str, what: str, deviation_m: float, limit_m: float, where_m: XYZ | None
) -> Finding:
    """How far something lies from where it must be, shown in millimetres."""
    return judge_build(clause, subject, what, deviation_m * 1000.0, "<=", limit_m * 1000.0, "mm", where_m)


def tell_undecided(clause: str, subject: str, why: str, where_m: XYZ | None) -> Finding:
    """A fact of ours that somebody else decides: ``why`` says what is asked and of whom."""
    return Finding(
        rules=BUILD,
        clause=clause,
        measured=None,
        operator="",
        limit=None,
        unit="",
        where_m=where_m,
        subject=subject,
        verdict="cannot tell",
        text=f"{subject}: {why}.",
        how_known="build",
    )


def judge_fact(clause: str, subject: str, says: str, fault: str | None, where_m: XYZ | None) -> Finding:
    """A yes-or-no fact: ``says`` is the sentence when it holds, ``fault`` the one when not."""
    return Finding(
        rules=BUILD,
        clause=clause,
        measured=None,
        operator="",
        limit=None,
        unit="",
        where_m=where_m,
        subject=subject,
        verdict="meets" if fault is None else "fails",
        text=f"{subject}: {says if fault is None else fault}.",
        how_known="build",
    )
