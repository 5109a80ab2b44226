"""Places where the ground is known least."""

from __future__ import annotations

from typing import Final

import numpy as np

from optimizer.brief.site import Site
from optimizer.terrain.ground_quality import find_thin_places
from optimizer.terrain.yard import Points

#: Farther than this from every cell of a scan that shows ground, the ground is a guess.
UNSEEN_M: Final = 0.5


def list_thin_places(site: Site) -> Points:
    """Places (k, 3), site frame, the worst first: where levels lie far apart.

    Points of a scan lie far apart where the ground is even, so with a scan only places count that it did
    not see.
    """
    thin = find_thin_places(site.ground)
    seen = site.heights.seen_m
    if seen is None or len(thin) == 0:
        return thin
    away = thin[:, None, :2] + site.origin_shift_m[:2] - seen[None, :, :]
    unseen: Points = thin[np.hypot(away[..., 0], away[..., 1]).min(axis=1) > UNSEEN_M]
    return unseen
