"""Price against walking length as a picture (SVG): what no other option beats, joined by a line.

Black, white and one blue, with words on every point, so that a copier and a colour-blind reader lose nothing.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final
from xml.sax.saxutils import escape

from optimizer.compare.options import Comparison, Option
from optimizer.units import format_length, format_money

_WIDE, _HIGH = 900, 560
_LEFT, _RIGHT, _TOP, _BOTTOM = 120, 40, 70, 80
_LETTER, _LINE = 7.4, 17.0
_BLUE: Final = "#1f5fa8"
#: Radius of a point for the greatest footprint, pixels; areas are in proportion.
_LARGEST: Final = 26.0


@dataclass(frozen=True, slots=True)
class _Axis:
    """Values ``low`` to ``high`` on pixels ``start`` to ``end``, a tick every ``step``."""

    low: float
    high: float
    step: float
    start: float
    end: float

    def at(self, value: float) -> float:
        return self.start + (value - self.low) / (self.high - self.low) * (self.end - self.start)

    def ticks(self) -> list[float]:
        count = round((self.high - self.low) / self.step)
        return [self.low + number * self.step for number in range(count + 1)]


@dataclass(frozen=True, slots=True)
class _Box:
    x: float
    y: float
    wide: float
    high: float

    def overlaps(self, other: _Box) -> bool:
        return (
            self.x < other.x + other.wide
            and other.x < self.x + self.wide
            and self.y < other.y + other.high
            and other.y < self.y + self.high
        )


def draw_chart(comparison: Comparison) -> str:
    """The whole picture; one point an option, its area the footprint."""
    plan, options = comparison.plan, comparison.options
    unit_m = 0.3048 if plan.display_units in ("ft-in", "in") else 1.0
    walks = [one.candidate.walking_length_m / unit_m for one in options]
    prices = [one.candidate.price_cents / 100.0 for one in options]
    x = _spread(walks, _LEFT, _WIDE - _RIGHT)
    y = _spread(prices, _HIGH - _BOTTOM, _TOP)
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{_WIDE}" height="{_HIGH}" '
        f'viewBox="0 0 {_WIDE} {_HIGH}" font-family="DejaVu Sans, Arial, sans-serif" font-size="13">',
        f'<rect width="{_WIDE}" height="{_HIGH}" fill="white"/>',
        _text(_LEFT, 28, f"{plan.site.name}: price against walking length", "bold", 17),
        _text(_LEFT, 50, "Area of a point: footprint. Filled and joined: beaten by no other in all three."),
        *_draw_axes(x, y, "ft" if unit_m < 1.0 else "m", plan.currency),
        *_join_unbeaten(options, x, y, unit_m),
    ]
    largest = max(one.candidate.footprint_m2 for one in options)
    circles = []
    for one in options:
        radius = max(5.0, _LARGEST * math.sqrt(one.candidate.footprint_m2 / largest))
        at = (x.at(one.candidate.walking_length_m / unit_m), y.at(one.candidate.price_cents / 100.0))
        circles.append((at, radius))
        fill = _BLUE if not one.beaten_by else "white"
        parts.append(
            f'<circle cx="{at[0]:.1f}" cy="{at[1]:.1f}" r="{radius:.1f}" fill="{fill}" fill-opacity="0.35" '
            f'stroke="{_BLUE}" stroke-width="1.6"/>'
        )
    taken = [_Box(c[0][0] - c[1], c[0][1] - c[1], 2 * c[1], 2 * c[1]) for c in circles]
    for one, (at, radius) in zip(options, circles, strict=True):
        parts += _label(one, comparison, at, radius, taken)
    return "\n".join([*parts, "</svg>"]) + "\n"


def _spread(values: Sequence[float], start: float, end: float) -> _Axis:
    """An axis with round ticks and room for the points and their words beyond the values."""
    low, high = min(values), max(values)
    span = max(high - low, 0.1 * abs(high), 1e-6)
    rough = 1.8 * span / 5.0
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(power * nice for nice in (1.0, 2.0, 2.5, 5.0, 10.0) if power * nice >= rough)
    first = math.floor((low - 0.35 * span) / step) * step
    last = math.ceil((high + 0.45 * span) / step) * step
    return _Axis(max(0.0, first), last, step, start, end)


def _draw_axes(x: _Axis, y: _Axis, unit: str, currency: str) -> list[str]:
    parts = []
    for value in x.ticks():
        at = x.at(value)
        parts.append(f'<path d="M{at:.1f} {y.start} V{y.end}" stroke="#dddddd"/>')
        parts.append(_text(at, y.start + 20, f"{value:g}", anchor="middle"))
    for value in y.ticks():
        at = y.at(value)
        parts.append(f'<path d="M{x.start} {at:.1f} H{x.end}" stroke="#dddddd"/>')
        parts.append(_text(x.start - 8, at + 4, f"{value:,.0f}", anchor="end"))
    middle = (x.start + x.end) / 2.0
    parts.append(_text(middle, _HIGH - 28, f"walking length, {unit}", anchor="middle"))
    parts.append(
        f'<text transform="translate(28 {(y.start + y.end) / 2.0:.0f}) rotate(-90)" text-anchor="middle">'
        f"total price, {escape(currency)}</text>"
    )
    parts.append(f'<path d="M{x.start} {y.end} V{y.start} H{x.end}" stroke="black" fill="none"/>')
    return parts


def _join_unbeaten(options: Sequence[Option], x: _Axis, y: _Axis, unit_m: float) -> list[str]:
    unbeaten = sorted(
        (one.candidate for one in options if not one.beaten_by), key=lambda one: one.walking_length_m
    )
    if len(unbeaten) < 2:
        return []
    points = " ".join(
        f"{x.at(one.walking_length_m / unit_m):.1f},{y.at(one.price_cents / 100.0):.1f}" for one in unbeaten
    )
    return [f'<polyline points="{points}" fill="none" stroke="{_BLUE}" stroke-dasharray="6 4"/>']


def _label(
    one: Option, comparison: Comparison, at: tuple[float, float], radius: float, taken: list[_Box]
) -> list[str]:
    """Words beside a point, at the first place where they overlap nothing; ``taken`` grows by them."""
    system = comparison.plan.display_units
    candidate = one.candidate
    lines = [
        f"{candidate.name}: {candidate.shape}",
        f"{format_money(candidate.price_cents, comparison.plan.currency)}, "
        f"{format_length(candidate.walking_length_m, system, comparison.plan.display_step_m)}, "
        f"{candidate.footprint_m2:.1f} m²",
    ]
    wide = _LETTER * max(len(line) for line in lines)
    high = _LINE * len(lines)
    box = _find_place(at, radius, wide, high, taken)
    taken.append(box)
    near = (min(max(at[0], box.x), box.x + box.wide), min(max(at[1], box.y), box.y + box.high))
    away = max(math.dist(at, near), 1e-9)
    rim = tuple(here + radius / away * (there - here) for here, there in zip(at, near, strict=True))
    leader = f'<path d="M{rim[0]:.1f} {rim[1]:.1f} L{near[0]:.1f} {near[1]:.1f}" stroke="#777777"/>'
    words = [
        _text(box.x, box.y + 13 + number * _LINE, line, "bold" if number == 0 else "normal")
        for number, line in enumerate(lines)
    ]
    return [leader, *words]


def _find_place(
    at: tuple[float, float], radius: float, wide: float, high: float, taken: Sequence[_Box]
) -> _Box:
    for away in range(8, 240, 12):
        reach = radius + away
        for dx, dy in ((1, 0), (-1, 0), (0, -1), (0, 1), (1, -1), (-1, -1), (1, 1), (-1, 1)):
            x = at[0] + dx * reach - (wide if dx < 0 else wide / 2.0 if dx == 0 else 0.0)
            y = at[1] + dy * reach - (high if dy < 0 else high / 2.0 if dy == 0 else 0.0)
            box = _Box(x, y, wide, high)
            inside = x >= _LEFT and x + wide <= _WIDE - 6 and y >= _TOP and y + high <= _HIGH - _BOTTOM
            if inside and not any(box.overlaps(other) for other in taken):
                return box
    return _Box(min(max(at[0], _LEFT), _WIDE - 6 - wide), at[1] + radius + 8, wide, high)


def _text(
    x: float, y: float, words: str, weight: str = "normal", size: int = 13, anchor: str = "start"
) -> str:
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size}" font-weight="{weight}" text-anchor="{anchor}">'
        f"{escape(words)}</text>"
    )
