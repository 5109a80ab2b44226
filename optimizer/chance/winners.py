"""Which of several layouts is the cheapest that can be built with its parts, on one ground after another."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from optimizer.chance.joint_chance import Chance, count_chance
from optimizer.chance.layout_question import LayoutQuestion, SettingErrors
from optimizer.chance.sampled_layout import sample_with_levels
from optimizer.terrain.ground_error.error_model import ErrorModel
from optimizer.terrain.yard import Points


@dataclass(frozen=True, slots=True)
class DrawnWinners:
    """Ground by ground.  ``winner`` (grounds,): the first layout of the order whose supports all fit as
    planned, the number of layouts where none does.  ``levels_m`` (grounds, n) at the places asked for.
    ``open_ones``: layouts over ground that was left open, which never win.
    """

    winner: NDArray[np.int64]
    layouts: int
    levels_m: NDArray[np.float64]
    open_ones: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Winners:
    """``first``: for each layout the chance that it is the first of the order whose supports all fit as
    planned; ``none``: that no layout's do.  ``open_ones`` as drawn.
    """

    first: tuple[Chance, ...]
    none: Chance
    open_ones: tuple[int, ...]


def draw_winners(
    questions: Sequence[LayoutQuestion],
    model: ErrorModel,
    errors: SettingErrors,
    at_m: Points,
    count: int,
    seed: int,
) -> DrawnWinners:
    """Put all layouts, in their order, on the same ``count`` possible grounds; ``at_m`` (n, 2) site frame.

    Raises as ``sample_with_levels`` does.
    """
    supports = [
        dataclasses.replace(spot, id=f"{number} {spot.id}")
        for number, question in enumerate(questions)
        for spot in question.supports
    ]
    types = {one.id: one for question in questions for one in question.types}
    joined = dataclasses.replace(
        questions[0], supports=tuple(supports), windows=(), types=tuple(types.values())
    )
    sampled, levels = sample_with_levels(joined, model, errors, at_m, count, seed)
    winner = np.full(count, len(questions), dtype=np.int64)
    open_ones, at = [], 0
    for number, question in enumerate(questions):
        columns = slice(at, at + len(question.supports))
        at = columns.stop
        if np.isnan(sampled.heights_m[:, columns]).any():
            open_ones.append(number)
            continue
        fits = np.logical_and.reduce(sampled.fits[:, columns], axis=1)
        winner[fits & (winner == len(questions))] = number
    return DrawnWinners(winner, len(questions), levels, tuple(open_ones))


def count_winners(drawn: DrawnWinners) -> Winners:
    """How often each layout wins."""
    *first, none = (count_chance(drawn.winner == number) for number in range(drawn.layouts + 1))
    return Winners(tuple(first), none, drawn.open_ones)
