"""Published ground filters as their packages give them, and the outlier cleaning that they need."""

from __future__ import annotations

import warnings
from dataclasses import dataclass

import CSF
import numpy as np
import pysmrf
from numpy.typing import NDArray
from scipy.spatial import cKDTree


def clean_by_neighbours(xyz_m: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Statistical outlier removal: mean distance to 12 neighbours within 2.5 sd of the mean of all."""
    away, _ = cKDTree(xyz_m, balanced_tree=False, compact_nodes=False).query(xyz_m, k=13)
    mean = away[:, 1:].mean(axis=1)
    return mean <= mean.mean() + 2.5 * mean.std()


def filter_by_cloth(xyz_m: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Cloth simulation (Zhang et al. 2016), tuned for yards: 10 cm cloth, rigidness 1, 4 cm, step 0.4."""
    cloth = CSF.CSF()
    cloth.params.bSloopSmooth = False
    cloth.params.cloth_resolution = 0.10
    cloth.params.rigidness = 1
    cloth.params.class_threshold = 0.04
    cloth.params.time_step = 0.4
    cloth.setPointCloud(xyz_m)
    ground, other = CSF.VecInt(), CSF.VecInt()
    cloth.do_filtering(ground, other, False)
    found = np.zeros(len(xyz_m), dtype=np.bool_)
    found[np.array(ground, dtype=np.int64)] = True
    return found


@dataclass(frozen=True, slots=True)
class MorphologySettings:
    """What pysmrf takes: metres, cells of radius, rise over run."""

    cell_m: float
    widest_cells: int
    slope: float
    threshold_m: float
    scalar: float


YARD_MORPHOLOGY = MorphologySettings(0.10, 13, 0.25, 0.04, 0.3)
#: One set for all airborne samples, as published.
AIRBORNE_MORPHOLOGY = MorphologySettings(1.0, 18, 0.15, 0.5, 1.25)


def filter_by_morphology(
    xyz_m: NDArray[np.float64], settings: MorphologySettings = YARD_MORPHOLOGY
) -> NDArray[np.bool_]:
    """SMRF (Pingel, Clarke and McBride 2013); for yards tuned: 10 cm, 2.6 m, slope .25, 4 cm, scalar .3."""
    with warnings.catch_warnings():
        # It multiplies transforms in a way that a package of its own will drop one day.
        warnings.simplefilter("ignore", PendingDeprecationWarning)
        result = pysmrf.classify(
            *xyz_m.T.copy(),
            cellsize=settings.cell_m,
            windows=settings.widest_cells,
            slope_threshold=settings.slope,
            elevation_threshold=settings.threshold_m,
            elevation_scaler=settings.scalar,
        )
    return np.asarray(result.is_ground)
