"""Where things may lie along a wall."""

from __future__ import annotations

from optimizer.units import TOLERANCE_M


def list_slides(room_m: float, step_m: float) -> tuple[float, ...]:
    """Multiples of the pitch within ``room_m`` of the middle, from the middle outward."""
    if room_m < -TOLERANCE_M:
        return ()
    most = int((room_m + TOLERANCE_M) / step_m)
    return tuple(k * step_m for k in sorted(range(-most, most + 1), key=lambda k: (abs(k), k)))
