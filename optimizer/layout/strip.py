"""A rectangle on the walking line, in the door frame."""

from __future__ import annotations

from dataclasses import dataclass

from shapely.geometry import Polygon

UV = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Strip:
    """A rectangle from a pose: (u, v) middle of its upper edge, heading, width, plan length.

    A strip without length is a pose alone.
    """

    u: float
    v: float
    hu: float
    hv: float
    width_m: float
    length_m: float

    def point(self, along_m: float, right_m: float) -> UV:
        """The door-frame point so far along and to the right of the upper edge's middle."""
        return (
            self.u + along_m * self.hu + right_m * self.hv,
            self.v + along_m * self.hv - right_m * self.hu,
        )

    def corners(self) -> tuple[UV, UV, UV, UV]:
        """Start-left, start-right, end-right, end-left."""
        half = self.width_m / 2.0
        return (
            self.point(0.0, -half),
            self.point(0.0, half),
            self.point(self.length_m, half),
            self.point(self.length_m, -half),
        )

    def shape(self) -> Polygon:
        """The rectangle as a polygon in the door frame."""
        return Polygon(self.corners())

    def moved(self, along_m: float, right_m: float) -> Strip:
        """The pose so far along and to the right, same heading, without length."""
        u, v = self.point(along_m, right_m)
        return Strip(u, v, self.hu, self.hv, self.width_m, 0.0)

    def laid(self, width_m: float, length_m: float) -> Strip:
        """A rectangle of this size from the same pose."""
        return Strip(self.u, self.v, self.hu, self.hv, width_m, length_m)
