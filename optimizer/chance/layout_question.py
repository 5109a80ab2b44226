"""What must come true on the ground for a layout to stand as planned, as heights within windows.

Frame: site, metres.  Every condition is of one form: a height of steel above ground,
``steel_m - sum(weights * ground)``, lies from ``low_m`` to ``high_m``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from optimizer.terrain.yard import Points

#: ``plate``: its slope; ``clearance``: under a piece; ``bottom``: the level place beyond the tip;
#: ``slope``: of the runs, where they are set anew to meet the ground.
Kind = Literal["plate", "clearance", "bottom", "slope"]


@dataclass(frozen=True, slots=True)
class SupportType:
    """A leg or low support type: heights it serves with its reserve kept, and what a spare costs.

    ``most``: how many there are beyond those planned, ``None`` where that is no limit.
    """

    id: str
    low_m: float
    high_m: float
    spare_cents: int
    most: int | None


@dataclass(frozen=True, slots=True)
class SupportSpot:
    """One support of the plan.  Height = ``steel_m - sum(weights * ground) + bedding_m``.

    ``planned`` is its type in the plan, ``options`` all types its piece takes (the foot's place is
    taken to be the planned type's; types reach out by centimetres differently).  ``low_m``/``high_m``:
    the planned type's heights with its reserve.  ``hung``: part of the threshold's error that its steel
    follows.  ``built_level_m``: the level of what it stands on
    when that is not the ground (a step, a slab), else ``None``.
    """

    id: str
    planned: str
    options: tuple[str, ...]
    xy_m: Points  # (k, 2), the foot first
    weights: NDArray[np.float64]  # (k,)
    steel_m: float
    bedding_m: float
    height_m: float
    low_m: float
    high_m: float
    hung: float
    built_level_m: float | None


@dataclass(frozen=True, slots=True)
class Window:
    """One condition besides the supports'.  ``hung``: as for a support, 0 when the
    condition is about the ground alone.  ``xy_m`` (k, 2), ``weights`` (k,).
    """

    subject: str
    kind: Kind
    xy_m: Points
    weights: NDArray[np.float64]
    steel_m: float
    low_m: float
    high_m: float
    hung: float


@dataclass(frozen=True, slots=True)
class LayoutQuestion:
    """All conditions of one layout.  ``tip_xy_m`` (2,), ``tip_m``: where and on what level it lands."""

    supports: tuple[SupportSpot, ...]
    windows: tuple[Window, ...]
    types: tuple[SupportType, ...]
    tip_xy_m: Points
    tip_m: float


@dataclass(frozen=True, slots=True)
class SettingErrors:
    """Standard errors of what is not the ground, metres.

    ``bedding_m``: of how far a foot sinks, each for itself.  ``frame_m``: of setting the frame to its
    level at one support.  ``threshold_m``: of the threshold against the levels of the ground, their
    common errors left out; all supports share it.  ``built_m``: of levels of steps and slabs.
    """

    bedding_m: float
    frame_m: float
    threshold_m: float
    built_m: float
