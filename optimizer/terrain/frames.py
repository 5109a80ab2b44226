"""The door frame: the site frame turned and moved to one start.

Origin at the start's midpoint, ``v`` outward, ``u`` to the right looking out; elevations
are the site's own.  The pair (u, v) is right-handed seen from above, as (x, y) is.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from optimizer.terrain.yard import Points, Start


@dataclass(frozen=True, slots=True)
class DoorFrame:
    """``origin_m`` (2,) in the site frame, ``out`` (2,) the unit vector along v."""

    origin_m: Points
    out: Points

    @property
    def right(self) -> Points:
        """Unit vector (2,) along u, in the site frame."""
        return np.array([self.out[1], -self.out[0]])

    def to_door(self, xy_m: Points) -> Points:
        """Site points ``(n, 2)`` in the door frame, ``(n, 2)``."""
        x, y = (np.asarray(xy_m, dtype=np.float64) - self.origin_m).T
        return np.column_stack((x * self.out[1] - y * self.out[0], x * self.out[0] + y * self.out[1]))

    def to_site(self, uv_m: Points) -> Points:
        """Door points ``(n, 2)`` in the site frame, ``(n, 2)``."""
        u, v = np.asarray(uv_m, dtype=np.float64).T
        x = u * self.out[1] + v * self.out[0]
        y = v * self.out[1] - u * self.out[0]
        return np.column_stack((x + self.origin_m[0], y + self.origin_m[1]))


def build_door_frame(start: Start) -> DoorFrame:
    """The frame of one start; its outward vector is brought to unit length."""
    origin_m = np.array(start.midpoint_m, dtype=np.float64)
    out = np.array(start.outward, dtype=np.float64)
    out /= float(np.hypot(out[0], out[1]))
    origin_m.setflags(write=False)
    out.setflags(write=False)
    return DoorFrame(origin_m=origin_m, out=out)
