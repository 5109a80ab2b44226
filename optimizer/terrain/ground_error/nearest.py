"""The nearest of many places."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from optimizer.terrain.yard import Points


@dataclass(frozen=True, slots=True)
class Nearest:
    """Finds the nearest of ``xy_m`` (m, 2), which may be none."""

    xy_m: Points
    _tree: Any = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        # No type information in this distribution.
        from scipy.spatial import cKDTree

        object.__setattr__(self, "_tree", cKDTree(self.xy_m) if len(self.xy_m) else None)

    def find(self, places: Points) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
        """Distances (n,) and indices (n,) of the nearest; infinitely far and 0 when there is none."""
        if self._tree is None:
            return np.full(len(places), np.inf), np.zeros(len(places), dtype=np.int64)
        away, index = self._tree.query(places)
        return np.asarray(away, dtype=np.float64), np.asarray(index, dtype=np.int64)
