"""How a support is set: the words the crew reads off for one height.

``hole 3, screw 12 mm`` for a leg with pins, ``screw 212 mm`` for a continuous screw,
``height 31 mm`` for a low support.  Holes count from 0 at the leg's shortest; screw is what
the leg is turned out beyond its hole (beyond ``min_m`` for a continuous one).
"""

from __future__ import annotations

import math

from optimizer.catalogue.parts import Leg, LowSupport
from optimizer.units import TOLERANCE_M, round_half_up


def format_setting(support: Leg | LowSupport, height_m: float) -> str:
    """The setting of ``support`` for ``height_m`` (frame underside to foot underside), whole mm.

    A height that meets a hole to within the tolerance is that hole with no screw.
    """
    if isinstance(support, LowSupport):
        return f"height {round_half_up(height_m * 1000.0)} mm"
    extension_m = height_m - support.min_m
    if support.pin_pitch_m == 0.0:
        return f"screw {round_half_up(extension_m * 1000.0)} mm"
    hole = math.floor((extension_m + TOLERANCE_M) / support.pin_pitch_m)
    screw_m = max(0.0, extension_m - hole * support.pin_pitch_m)
    return f"hole {hole}, screw {round_half_up(screw_m * 1000.0)} mm"
