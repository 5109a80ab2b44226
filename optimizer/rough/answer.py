"""A first answer: shapes that fit, a price band, and the measurement that would narrow it most."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Literal

from optimizer.rough.price_band import PriceBand, PriceRange, estimate_price
from optimizer.rough.question import Estimate, RoughLimits, RoughQuestion, check_question
from optimizer.rough.shapes import RoughMiss, RoughShape, ShapeName, find_shapes

Measurement = Literal[
    "rise at the door",
    "fall straight out",
    "fall along the wall",
    "depth out from the wall",
    "width along the wall",
]


@dataclass(frozen=True, slots=True)
class PricedShape:
    """A shape with its price band."""

    shape: RoughShape
    price: PriceRange


@dataclass(frozen=True, slots=True)
class Narrowing:
    """What a measurement's stated uncertainty does to the length of the best ramp.

    ``shortest_m``/``longest_m`` are total plan lengths over both ends; ``None`` when at one
    end no shape fits (or none exists): then this measurement decides whether there is one.
    """

    measurement: Measurement
    estimate: Estimate
    base_m: float | None
    shortest_m: float | None
    longest_m: float | None

    @property
    def effect_m(self) -> float:
        """Largest change of length; infinite when an end has no ramp and another has."""
        lengths = (self.base_m, self.shortest_m, self.longest_m)
        known = [length_m for length_m in lengths if length_m is not None]
        if not known:
            return 0.0
        return float("inf") if len(known) < len(lengths) else max(known) - min(known)


@dataclass(frozen=True, slots=True)
class RoughAnswer:
    """Shapes shortest first (those that fit before those that do not), then the misses.

    ``best`` is the shortest that is not known to be too large; ``narrowing`` lists every
    measurement given, the most useful first (when nothing fits, by its effect on the
    shortest ramp on open ground).
    """

    question: RoughQuestion
    limits: RoughLimits
    band: PriceBand
    shapes: tuple[PricedShape, ...]
    misses: tuple[RoughMiss, ...]
    best: ShapeName | None
    narrowing: tuple[Narrowing, ...]


def find_rough_answer(question: RoughQuestion, limits: RoughLimits, band: PriceBand) -> RoughAnswer:
    """Solve every shape by its closed form; raises ``InputError`` for impossible numbers."""
    check_question(question)
    solved = find_shapes(question, limits)
    shapes = sorted(
        (one for one in solved if isinstance(one, RoughShape)),
        key=lambda one: (one.fit == "does not fit", one.total_plan_m),
    )
    best = _find_best(shapes)
    return RoughAnswer(
        question=question,
        limits=limits,
        band=band,
        shapes=tuple(PricedShape(shape, estimate_price(shape, band)) for shape in shapes),
        misses=tuple(one for one in solved if isinstance(one, RoughMiss)),
        best=None if best is None else best.name,
        narrowing=_find_narrowing(question, limits, None if best is None else best.total_plan_m),
    )


def _find_best(shapes: list[RoughShape]) -> RoughShape | None:
    candidates = [shape for shape in shapes if shape.fit != "does not fit"]
    return min(candidates, key=lambda shape: shape.total_plan_m, default=None)


def _best_length_m(question: RoughQuestion, limits: RoughLimits) -> float | None:
    best = _find_best([one for one in find_shapes(question, limits) if isinstance(one, RoughShape)])
    return None if best is None else best.total_plan_m


def _find_narrowing(
    question: RoughQuestion, limits: RoughLimits, base_m: float | None
) -> tuple[Narrowing, ...]:
    found = []
    for measurement, estimate in _list_estimates(question):
        lengths = [base_m]
        for value in (estimate.value - estimate.within, estimate.value + estimate.within):
            moved = _replace_estimate(question, measurement, replace(estimate, value=value))
            lengths.append(_best_length_m(moved, limits))
        known = [length_m for length_m in lengths if length_m is not None]
        longest_m = max(known) if len(known) == len(lengths) else None
        found.append(Narrowing(measurement, estimate, base_m, min(known, default=None), longest_m))
    if base_m is None and all(one.effect_m == 0.0 for one in found) and question != _open_ground(question):
        # Nothing fits either way: say what would narrow the shortest on open ground.
        opened = _open_ground(question)
        return _find_narrowing(opened, limits, _best_length_m(opened, limits))
    return tuple(sorted(found, key=lambda one: -one.effect_m))


def _open_ground(question: RoughQuestion) -> RoughQuestion:
    return replace(question, depth_m=None, width_m=None)


def _list_estimates(question: RoughQuestion) -> Iterator[tuple[Measurement, Estimate]]:
    yield "rise at the door", question.rise_m
    yield "fall straight out", question.fall_out
    yield "fall along the wall", question.fall_along
    if question.depth_m is not None:
        yield "depth out from the wall", question.depth_m
    if question.width_m is not None:
        yield "width along the wall", question.width_m


def _replace_estimate(question: RoughQuestion, measurement: Measurement, estimate: Estimate) -> RoughQuestion:
    match measurement:
        case "rise at the door":
            return replace(question, rise_m=estimate)
        case "fall straight out":
            return replace(question, fall_out=estimate)
        case "fall along the wall":
            return replace(question, fall_along=estimate)
        case "depth out from the wall":
            return replace(question, depth_m=estimate)
        case "width along the wall":
            return replace(question, width_m=estimate)
