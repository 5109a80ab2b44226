"""A candidate's shape in words."""

from __future__ import annotations

from typing import Final

from optimizer.plan import Candidate

SHAPE_WORDS: Final = {
    "left": "L left",
    "right": "L right",
    "half_left": "switchback left",
    "half_right": "switchback right",
}
EXIT_WORDS: Final = {"front": "straight out", "left": "to the left", "right": "to the right"}


def describe_shape(candidate: Candidate) -> str:
    """The shape with its hand."""
    return next((SHAPE_WORDS[turn] for turn in candidate.turns if turn != "straight"), "straight")
