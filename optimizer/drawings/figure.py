"""One drawing before it has a scale: lines in metres, words with their size on paper."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from optimizer.drawings.layers import LayerName
from optimizer.terrain.yard import Points

Mark = Literal["level", "foot", "low foot"]


@dataclass(frozen=True, slots=True)
class Stroke:
    """A line through ``points_m`` (n, 2); ``shape`` ring: back to the first point."""

    layer: LayerName
    points_m: Points
    shape: Literal["line", "ring"]


@dataclass(frozen=True, slots=True)
class Symbol:
    """A small sign of one size on paper at ``at_m`` (2,)."""

    layer: LayerName
    at_m: Points
    mark: Mark


@dataclass(frozen=True, slots=True)
class Note:
    """Words at ``at_m`` (2,), ``height_mm`` high (capitals) on paper.

    ``hold``: ``free`` words may step aside to keep clear of others, with a leader when they go far;
    ``fixed`` stay, centred on the point.  ``turn_deg`` counter-clockwise.  ``toward_m`` (2,) is the way
    free words would rather go, zero for any.
    """

    layer: LayerName
    text: str
    at_m: Points
    height_mm: float
    hold: Literal["free", "fixed"]
    turn_deg: float
    toward_m: Points


@dataclass(frozen=True, slots=True)
class Dimension:
    """A length between two points (2,), its line ``offset_mm`` to the left of the way from start to end."""

    layer: LayerName
    start_m: Points
    end_m: Points
    offset_mm: float
    text: str


@dataclass(frozen=True, slots=True)
class Figure:
    """A whole drawing; metres, x right and y up on the sheet."""

    title: str
    strokes: tuple[Stroke, ...]
    symbols: tuple[Symbol, ...]
    notes: tuple[Note, ...]
    dimensions: tuple[Dimension, ...]

    def bounds_m(self) -> tuple[Points, Points]:
        """Least and greatest x and y (2,) of all lines, signs and words' points."""
        points = [stroke.points_m for stroke in self.strokes]
        points += [np.reshape(one.at_m, (1, 2)) for one in self.symbols]
        points += [np.reshape(one.at_m, (1, 2)) for one in self.notes]
        points += [np.array([one.start_m, one.end_m]) for one in self.dimensions]
        joined = np.concatenate(points)
        return joined.min(axis=0), joined.max(axis=0)


ANYWHERE = np.zeros(2)


def line(layer: LayerName, *points_m: Points) -> Stroke:
    """An open line."""
    return Stroke(layer, np.array(points_m, dtype=np.float64).reshape(-1, 2), "line")


def ring(layer: LayerName, points_m: Points) -> Stroke:
    """A closed line."""
    return Stroke(layer, np.asarray(points_m, dtype=np.float64)[:, :2], "ring")


def free_note(
    layer: LayerName, text: str, at_m: Points, height_mm: float, toward_m: Points = ANYWHERE
) -> Note:
    """Level words that may step aside."""
    return Note(layer, text, np.asarray(at_m, dtype=np.float64), height_mm, "free", 0.0, toward_m)


def fixed_note(layer: LayerName, text: str, at_m: Points, height_mm: float, turn_deg: float = 0.0) -> Note:
    """Words that stay where they are, centred."""
    return Note(layer, text, np.asarray(at_m, dtype=np.float64), height_mm, "fixed", turn_deg, ANYWHERE)
