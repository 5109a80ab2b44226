"""Levels of the ground at every place once, and the sums of them that conditions are about."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from optimizer.chance.layout_question import SupportSpot, Window
from optimizer.terrain.yard import Points


def mix_grounds(grounds: NDArray[np.float64], mixing: NDArray[np.float64]) -> NDArray[np.float64]:
    """Weighted sums (grounds, m) of the levels (grounds, places); open places spoil only their own."""
    is_open = np.isnan(grounds[0])
    sums: NDArray[np.float64] = grounds[:, ~is_open] @ mixing[~is_open]
    sums[:, (mixing[is_open] != 0.0).any(axis=0)] = np.nan
    return sums


def gather_places(spots: tuple[SupportSpot | Window, ...]) -> tuple[Points, list[NDArray[np.int64]]]:
    """Every place once (p, 2), and which of them each condition is about."""
    stacked = np.vstack([spot.xy_m for spot in spots]) if spots else np.zeros((0, 2))
    places, inverse = np.unique(stacked, axis=0, return_inverse=True)
    ends = np.cumsum([len(spot.xy_m) for spot in spots])[:-1]
    return places, np.split(inverse.reshape(-1).astype(np.int64), ends) if spots else []


def mix_places(
    spots: tuple[SupportSpot | Window, ...], index: list[NDArray[np.int64]], places: int
) -> NDArray[np.float64]:
    """Weights (places, conditions) of the ground at each place in each condition."""
    mixing = np.zeros((places, len(spots)))
    for column, (spot, rows) in enumerate(zip(spots, index, strict=True)):
        weights = spot.weights
        if isinstance(spot, SupportSpot) and spot.built_level_m is not None:
            weights = np.concatenate([np.zeros(1), weights[1:]])  # its foot is not on the ground
        np.add.at(mixing[:, column], rows, weights)
    return mixing
