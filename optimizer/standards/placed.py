"""One placed piece, re-measured from its four corners alone.

Every measure is in metres in the site frame; a piece's own axes are ``t`` along its heading
from the middle of its start edge and ``lateral`` to the right of the heading, both in plan.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Generic, Literal, TypeVar

import numpy as np
import shapely
from numpy.typing import NDArray

from optimizer.catalogue.parts import Landing, Part
from optimizer.plan import XYZ, Piece
from optimizer.standards.findings import locate

EdgeName = Literal["left", "right", "start", "end"]
Vector = NDArray[np.float64]
P_co = TypeVar("P_co", bound=Part, covariant=True)
Q = TypeVar("Q", bound=Part)

#: Corner numbers at the two ends of each edge: side edges run down, cross edges left to right.
EDGE_CORNERS: Final[tuple[tuple[EdgeName, int, int], ...]] = (
    ("left", 0, 3),
    ("right", 1, 2),
    ("start", 0, 1),
    ("end", 3, 2),
)


@dataclass(frozen=True, slots=True)
class Placed(Generic[P_co]):
    """One piece with the part it claims to be, measured.

    ``corners_m`` (4, 3): start-left, start-right, end-right, end-left.  ``start_m``, ``end_m``
    (3,) are the middles of those edges, ``heading`` and ``right`` (2,) unit vectors in plan
    (zero for a piece without plan length).  ``width_m`` is the smaller of its two end
    edges, in plan as slopes are.
    """

    piece: Piece
    part: P_co
    corners_m: Vector
    start_m: Vector
    end_m: Vector
    heading: Vector
    right: Vector
    plan_length_m: float
    surface_length_m: float
    width_m: float

    @property
    def rise_m(self) -> float:
        """How far the piece falls from its start to its end."""
        return float(self.start_m[2] - self.end_m[2])

    @property
    def fall_across_m(self) -> float:
        """The greater height difference across either end edge."""
        z = self.corners_m[:, 2]
        return float(max(abs(z[0] - z[1]), abs(z[3] - z[2])))

    def edge(self, name: EdgeName) -> tuple[Vector, Vector]:
        """The two ends (3,) of an edge on the walking surface."""
        for edge_name, first, second in EDGE_CORNERS:
            if edge_name == name:
                return self.corners_m[first], self.corners_m[second]
        raise KeyError(name)

    def point(self, along_m: float, lateral_m: float) -> Vector:
        """The point (3,) of the walking surface (carried on beyond it) at these own axes."""
        xy = self.start_m[:2] + along_m * self.heading + lateral_m * self.right
        return np.array([xy[0], xy[1], self.start_m[2] + along_m * self.fall_gradient])

    @property
    def fall_gradient(self) -> float:
        """Change of elevation per metre of plan along the heading (negative downhill)."""
        return -self.rise_m / self.plan_length_m if self.plan_length_m > 0.0 else 0.0

    def axes(self, xy_m: Vector) -> tuple[float, float]:
        """``(t, lateral)`` of a plan point."""
        offset = xy_m[:2] - self.start_m[:2]
        return float(offset @ self.heading), float(offset @ self.right)

    def surface_plane(self) -> tuple[float, float, float]:
        """``a, b, c`` of the walking surface ``z = a x + b y + c``."""
        a, b = self.fall_gradient * self.heading
        return float(a), float(b), float(self.start_m[2] - a * self.start_m[0] - b * self.start_m[1])

    def rectangle(self, grown_m: float) -> shapely.Polygon:
        """Its plan rectangle, grown on all four sides (shrunk when negative)."""
        return build_rectangle(self.start_m, self.heading, self.plan_length_m, self.width_m, grown_m)


def build_rectangle(
    start_m: Vector, heading: Vector, length_m: float, width_m: float, grown_m: float
) -> shapely.Polygon:
    """The plan rectangle from the middle of its start edge, grown on all four sides."""
    right = np.array([heading[1], -heading[0]])
    half = width_m / 2.0 + grown_m
    first = start_m[:2] - grown_m * heading
    last = start_m[:2] + (length_m + grown_m) * heading
    return shapely.Polygon(
        [first - half * right, first + half * right, last + half * right, last - half * right]
    )


def measure_piece(piece: Piece, part: Q) -> Placed[Q]:
    """Measure a piece from its four corners alone."""
    corners = np.array(piece.corners_m, dtype=np.float64)
    start = (corners[0] + corners[1]) / 2.0
    end = (corners[2] + corners[3]) / 2.0
    way = end - start
    plan_length = float(np.hypot(way[0], way[1]))
    heading = way[:2] / plan_length if plan_length > 0.0 else np.zeros(2)
    right = np.array([heading[1], -heading[0]])
    for array in (corners, start, end, heading, right):
        array.setflags(write=False)
    return Placed(
        piece=piece,
        part=part,
        corners_m=corners,
        start_m=start,
        end_m=end,
        heading=heading,
        right=right,
        plan_length_m=plan_length,
        surface_length_m=float(np.linalg.norm(way)),
        width_m=min(_plan_distance(corners[0], corners[1]), _plan_distance(corners[3], corners[2])),
    )


def _plan_distance(first: Vector, second: Vector) -> float:
    return float(np.hypot(second[0] - first[0], second[1] - first[1]))


def measure_clear_size(landing: Placed[Landing]) -> tuple[float, float]:
    """Clear length and width of a landing, less what it is placed smaller than its part."""
    return (
        landing.part.clear_length_m + min(0.0, landing.plan_length_m - landing.part.length_m),
        landing.part.clear_width_m + min(0.0, landing.width_m - landing.part.width_m),
    )


def mark(placed: Placed[Part]) -> XYZ:
    """A point to show: the middle of the piece."""
    return locate((placed.start_m + placed.end_m) / 2.0)
