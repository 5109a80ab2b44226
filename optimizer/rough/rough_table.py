"""The rough answer as text, for a person on the telephone."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Final

from optimizer.rough.answer import Narrowing, PricedShape, RoughAnswer
from optimizer.rough.price_band import PriceRange
from optimizer.rough.question import Estimate
from optimizer.rulebook.own_limits import STEEPEST_PUBLISHED
from optimizer.units import Slope, format_length

_HEADINGS = (
    ("", "", "", "landings", "rise", "runs", "", "total", "needs", "needs", ""),
    ("shape", "fits", "runs", "between", "at tip", "in plan", "slope", "length", "out", "along", "prices"),
)
#: Nothing here is known better than this, whatever the display step: 1/2 in or 1 cm.
_COARSE_IN_M: Final = 0.0127
_COARSE_M: Final = 0.01


def draw_rough_table(answer: RoughAnswer) -> str:
    """Question, shapes, what would narrow the answer most, and what it is not."""
    return "\n".join(
        (
            *_draw_question(answer),
            "",
            *_draw_rows([*_HEADINGS, *(_row(one, answer) for one in answer.shapes)]),
            *(f"{miss.name}: {miss.reason}" for miss in answer.misses),
            "",
            *_draw_best(answer),
            *_draw_notes(answer),
        )
    )


def _length(length_m: float, answer: RoughAnswer) -> str:
    display = answer.question.display
    coarse_m = _COARSE_IN_M if display.system in ("ft-in", "in") else _COARSE_M
    return format_length(length_m, display.system, max(coarse_m, display.step_m))


def _percent(estimate: Estimate) -> str:
    return f"{estimate.value * 100:.1f} % (within {estimate.within * 100:.1f})"


def _distance(estimate: Estimate | None, answer: RoughAnswer) -> str:
    if estimate is None:
        return "not given"
    return f"{_length(estimate.value, answer)} (within {_length(estimate.within, answer)})"


def _draw_question(answer: RoughAnswer) -> Iterator[str]:
    question, limits = answer.question, answer.limits
    per_run = "no limit on one run"
    if math.isfinite(limits.rise_per_run_m):
        per_run = f"at most {_length(limits.rise_per_run_m, answer)} of rise in one run"
    if limits.laws:
        slope = f"slope by the length and rise of a run, at most {Slope.from_ratio(limits.slope)}"
    else:
        slope = f"slope {Slope.from_ratio(limits.slope)}, {per_run}"
    yield f"Rough answer by {limits.rules}: {slope}."
    if limits.not_asked:
        yield f"Not answered: {', '.join(limits.not_asked)}; the stricter answer is taken (--fact)."
    yield (
        f"Rise at the door {_distance(question.rise_m, answer)}, "
        f"landing {_length(question.drop_m, answer)} below it; "
        f"ground falls {_percent(question.fall_out)} out, {_percent(question.fall_along)} along the wall."
    )
    yield (
        f"Free ground: {_distance(question.depth_m, answer)} out from the wall, "
        f"{_distance(question.width_m, answer)} along it from the middle of the door."
    )


def _row(priced: PricedShape, answer: RoughAnswer) -> tuple[str, ...]:
    shape = priced.shape
    return (
        shape.name,
        {"fits": "yes", "does not fit": "no", "not asked": "?"}[shape.fit],
        str(shape.runs),
        str(shape.landings),
        _length(shape.rise_m, answer),
        _length(shape.run_plan_m, answer),
        str(Slope.from_ratio(shape.rise_m / shape.run_plan_m)).split(" ", maxsplit=1)[0],
        _length(shape.total_plan_m, answer),
        _length(shape.depth_needed_m, answer),
        _length(shape.width_needed_m, answer),
        _draw_price(priced.price, answer.band.currency),
    )


def _draw_price(price: PriceRange, currency: str) -> str:
    """Whole hundreds: a band has no cents."""
    low, high = (round(cents / 10_000) * 100 for cents in (price.low_cents, price.high_cents))
    return f"{low:,} to {high:,} {currency}"


def _draw_rows(rows: Sequence[Sequence[str]]) -> Iterator[str]:
    widths = [max(len(row[column]) for row in rows) for column in range(len(_HEADINGS[0]))]
    for row in rows:
        first, *rest = (
            cell.ljust(width) if column < 2 else cell.rjust(width)
            for column, (cell, width) in enumerate(zip(row, widths, strict=True))
        )
        yield "  ".join((first, *rest)).rstrip()


def _draw_best(answer: RoughAnswer) -> Iterator[str]:
    if answer.best is None:
        yield "None of these shapes fits the free ground given; other shapes are not ruled out."
    elif all(one.shape.fit != "fits" for one in answer.shapes):
        yield f"Shortest, if the ground it needs is free: {answer.best}."
    else:
        yield f"Shortest that fits: {answer.best}."
    first = answer.narrowing[0]
    if first.effect_m > 0.0:
        yield f"Measure first: {first.measurement}. {_effect(first, answer)}"


def _effect(narrowing: Narrowing, answer: RoughAnswer) -> str:
    estimate = narrowing.estimate
    known = _percent(estimate) if narrowing.measurement.startswith("fall") else _distance(estimate, answer)
    if narrowing.longest_m is None or narrowing.shortest_m is None:
        return f"It is known as {known}, and that decides whether any of these shapes fits."
    return (
        f"It is known as {known}, and that alone moves the total length between "
        f"{_length(narrowing.shortest_m, answer)} and {_length(narrowing.longest_m, answer)}, "
        f"{_length(narrowing.effect_m, answer)} in all."
    )


def _draw_notes(answer: RoughAnswer) -> Iterator[str]:
    yield f"Price bands are rough, by the metre and the landing, from {answer.band.label}."
    yield (
        "Total length: door landing, runs, landings between, level space beyond the tip; "
        "plan lengths on even ground, without plates."
    )
    if answer.limits.slope > STEEPEST_PUBLISHED + 1e-9:
        yield "This slope is steeper than 1:12 and lies outside the published access limits."
    yield "A first answer, not a check and not an approval; the authority having jurisdiction decides."
