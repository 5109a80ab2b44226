"""Which layout of several is the cheapest that can be built with its parts, on one ground after another."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from optimizer.chance.joint_chance import Chance, count_chance
from optimizer.chance.layout_question import LayoutQuestion, SettingErrors
from optimizer.chance.sampled_layout import sample_layout
from optimizer.terrain.ground_error.error_model import ErrorModel


@dataclass(frozen=True, slots=True)
class Winners:
    """``first``: for each layout the chance that it is the first of the order whose supports all fit as
    planned; ``none``: that no layout's do.  ``open_ones``: layouts over ground that was left open, which
    never win.
    """

    first: tuple[Chance, ...]
    none: Chance
    open_ones: tuple[int, ...]


def count_winners(
    questions: Sequence[LayoutQuestion], model: ErrorModel, errors: SettingErrors, count: int, seed: int
) -> Winners:
    """Put all layouts, in their order, on the same ``count`` possible grounds.

    Raises as ``sample_layout`` does.
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
    sampled = sample_layout(joined, model, errors, count, seed)
    left = np.ones(count, dtype=np.bool_)
    first, open_ones, at = [], [], 0
    for number, question in enumerate(questions):
        columns = slice(at, at + len(question.supports))
        at = columns.stop
        is_open = bool(np.isnan(sampled.heights_m[:, columns]).any())
        fits = np.logical_and.reduce(sampled.fits[:, columns], axis=1) & (not is_open)
        if is_open:
            open_ones.append(number)
        first.append(count_chance(left & fits))
        left = left & ~fits
    return Winners(tuple(first), count_chance(left), tuple(open_ones))
