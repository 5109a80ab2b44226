"""A layout on many possible grounds: every support's height on each, and which conditions hold."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimizer.chance.layout_question import Kind, LayoutQuestion, SettingErrors, SupportSpot, Window
from optimizer.chance.mixed_places import gather_places, mix_grounds, mix_places
from optimizer.errors import Fault, InputError
from optimizer.terrain.ground_error.error_model import ErrorModel, check_places
from optimizer.terrain.yard import Points

#: A condition that holds by so many standard errors is not sampled.
_CERTAIN: Final = 8.0


@dataclass(frozen=True, slots=True)
class SampledLayout:
    """``heights_m`` (grounds, supports); ``fits`` the same shape: the planned type takes the height.

    ``holds`` (grounds, windows) of ``windows``, which leaves out those sure to hold.  ``open_ids``:
    supports and pieces over ground that was left open; their columns are NaN or false and say nothing.
    """

    question: LayoutQuestion
    heights_m: NDArray[np.float64]
    fits: NDArray[np.bool_]
    windows: tuple[Window, ...]
    holds: NDArray[np.bool_]
    open_ids: tuple[str, ...]

    def all_hold(self, kind: Kind) -> NDArray[np.bool_]:
        """On which grounds (grounds,) every condition of a kind holds."""
        columns = [i for i, window in enumerate(self.windows) if window.kind == kind]
        holding: NDArray[np.bool_] = np.logical_and.reduce(self.holds[:, columns], axis=1)
        return holding


def sample_layout(
    question: LayoutQuestion, model: ErrorModel, errors: SettingErrors, count: int, seed: int
) -> SampledLayout:
    """Put the layout on ``count`` possible grounds.

    Ground, bedding, setting and the threshold's common error are drawn with the same seed each time.
    Raises ``InputError`` for errors that are negative or not finite and for fewer than one ground.
    """
    return sample_with_levels(question, model, errors, np.zeros((0, 2)), count, seed)[0]


def sample_with_levels(
    question: LayoutQuestion, model: ErrorModel, errors: SettingErrors, at_m: Points, count: int, seed: int
) -> tuple[SampledLayout, NDArray[np.float64]]:
    """``sample_layout``, and the levels (grounds, n) of the same grounds at ``at_m`` (n, 2)."""
    _check_errors(errors)
    windows = _leave_out_certain(question.windows, model, errors)
    conditions: tuple[SupportSpot | Window, ...] = (*question.supports, *windows)
    # A level is looked at as a condition that always holds.
    looked = tuple(
        Window("", "slope", xy[None], np.ones(1), 0.0, -np.inf, np.inf, 0.0) for xy in check_places(at_m)
    )
    places, index = gather_places((*conditions, *looked))
    grounds = model.sample(places, count, seed)
    random = np.random.default_rng((seed, 1))
    common = errors.threshold_m * random.standard_normal((count, 1))
    supports = question.supports
    mixing = mix_places(supports, index[: len(supports)], len(places))
    heights = common * np.array([spot.hung for spot in supports]) - mix_grounds(grounds, mixing)
    heights += np.array([spot.steel_m + spot.bedding_m for spot in supports])
    for column, spot in enumerate(supports):
        if spot.built_level_m is not None:
            heights[:, column] -= spot.built_level_m + errors.built_m * random.standard_normal(count)
    own = float(np.hypot(errors.bedding_m, errors.frame_m))
    heights += own * random.standard_normal(heights.shape)
    low, high = np.array([[spot.low_m, spot.high_m] for spot in supports]).reshape(-1, 2).T
    values = np.array([one.steel_m for one in windows]) + common * np.array([one.hung for one in windows])
    values = values - mix_grounds(
        grounds, mix_places(windows, index[len(supports) : len(conditions)], len(places))
    )
    floor, ceiling = np.array([[one.low_m, one.high_m] for one in windows]).reshape(-1, 2).T
    open_ids = [spot.id for spot, column in zip(supports, heights.T, strict=True) if np.isnan(column[0])]
    open_ids += [one.subject for one, column in zip(windows, values.T, strict=True) if np.isnan(column[0])]
    sampled = SampledLayout(
        question,
        heights,
        (heights >= low) & (heights <= high),
        windows,
        (values >= floor) & (values <= ceiling),
        tuple(dict.fromkeys(open_ids)),
    )
    return sampled, grounds[:, [int(rows[0]) for rows in index[len(conditions) :]]]


def _leave_out_certain(
    windows: tuple[Window, ...], model: ErrorModel, errors: SettingErrors
) -> tuple[Window, ...]:
    """The windows less clearances larger than any ground in ten thousand would use up."""
    looked = [window for window in windows if window.kind == "clearance"]
    if not looked:
        return windows
    places, index = gather_places(tuple(looked))
    level, error = model.expected(places), np.hypot(model.standard_error(places), errors.threshold_m)
    certain = set()
    for window, rows in zip(looked, index, strict=True):
        spare = window.steel_m - float(window.weights @ level[rows]) - window.low_m
        if spare > _CERTAIN * float(np.abs(window.weights) @ error[rows]):
            certain.add(id(window))
    return tuple(window for window in windows if id(window) not in certain)


def _check_errors(errors: SettingErrors) -> None:
    named = (
        ("bedding_m", errors.bedding_m),
        ("frame_m", errors.frame_m),
        ("threshold_m", errors.threshold_m),
        ("built_m", errors.built_m),
    )
    faults = [
        Fault(f"errors.{name}", f"the standard error is {value} m.", "Give metres, zero or more.")
        for name, value in named
        if not (np.isfinite(value) and value >= 0.0)
    ]
    if faults:
        raise InputError(*faults)
