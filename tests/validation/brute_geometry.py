"""Rectangles, poses and sloping planes in the door frame, for the brute force alone.

Written from DEVELOPERS.md, 'The discrete problem' ('Frame'); shares nothing with the search.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

E = 1e-6  # two lengths are compared with this tolerance
HEADINGS = {"front": (0, 1), "right": (1, 0), "left": (-1, 0), "back": (0, -1)}
ROUND_THE_CLOCK = ("front", "right", "back", "left")

Rect = tuple[float, float, float, float]  # least u, least v, greatest u, greatest v
Plane = tuple[float, float, float]  # elevation = a u + b v + c
Key = tuple[float, float, str]


@dataclass(frozen=True, slots=True)
class Pose:
    """Middle of an upper edge, with heading; ``at`` walks along and to the right."""

    u: float
    v: float
    heading: str

    @property
    def key(self) -> Key:
        """The same for poses a nanometre apart, to look up what was worked out before."""
        return round(self.u, 9), round(self.v, 9), self.heading

    def at(self, t: float, lateral: float) -> tuple[float, float]:
        """Point at plan distance ``t`` along the heading, ``lateral`` to its right."""
        hu, hv = HEADINGS[self.heading]
        return self.u + hu * t + hv * lateral, self.v + hv * t - hu * lateral

    def rect(self, t0: float, t1: float, left: float, right: float) -> Rect:
        """Rectangle between two distances along and two lateral ones."""
        (ua, va), (ub, vb) = self.at(t0, left), self.at(t1, right)
        return min(ua, ub), min(va, vb), max(ua, ub), max(va, vb)

    def plane(self, elevation: float, slope: float) -> Plane:
        """The surface that falls with ``slope`` along the heading from ``elevation`` here."""
        hu, hv = HEADINGS[self.heading]
        return -slope * hu, -slope * hv, elevation + slope * (hu * self.u + hv * self.v)

    def turned(self, t: float, lateral: float, quarters_right: int) -> Pose:
        """The pose at a point, heading turned by quarters to the right."""
        heading = ROUND_THE_CLOCK[(ROUND_THE_CLOCK.index(self.heading) + quarters_right) % 4]
        return Pose(*self.at(t, lateral), heading)


@dataclass(frozen=True, slots=True)
class Lattice:
    """'Lattice lines': where the middle line of a run may lie when it leaves by an edge."""

    pitch_m: float
    run_width_m: float
    first_sideways_m: float  # v of the line k = 0 of runs heading left or right

    def whole_steps(self, low: float, high: float) -> Iterator[int]:
        """Every whole ``k`` with ``low - e <= k p <= high + e``."""
        for k in range(math.floor(low / self.pitch_m) - 1, math.ceil(high / self.pitch_m) + 2):
            if low - E <= k * self.pitch_m <= high + E:
                yield k

    def poses_on(self, middle: Pose, size: float) -> Iterator[tuple[float, Pose]]:
        """Poses of runs that leave an edge; offsets to the right of its middle, seen along their heading.

        ``middle`` is the middle of the edge with the heading of the leaving run.
        """
        play = (size - self.run_width_m) / 2
        is_sideways = middle.heading in {"left", "right"}
        here = middle.v - self.first_sideways_m if is_sideways else middle.u
        hu, hv = HEADINGS[middle.heading]
        to_right = -hu if is_sideways else hv  # one metre to the right changes v (or u) by this
        for k in self.whole_steps(here - play, here + play):
            offset = (k * self.pitch_m - here) * to_right
            yield offset, middle.turned(0, offset, 0)


def height_of(plane: Plane, u: float, v: float) -> float:
    """Elevation of a plane at a point."""
    return plane[0] * u + plane[1] * v + plane[2]


def corners_of(rect: Rect) -> tuple[tuple[float, float], ...]:
    """Four corners of a rectangle."""
    u0, v0, u1, v1 = rect
    return (u0, v0), (u1, v0), (u1, v1), (u0, v1)


def shrunk(rect: Rect, by: float) -> Rect:
    """The rectangle moved inward (negative: outward) on all four sides."""
    return rect[0] + by, rect[1] + by, rect[2] - by, rect[3] - by


def is_overlapping(a: Rect, b: Rect) -> bool:
    """Whether two rectangles share area."""
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def is_within(point: tuple[float, float], rect: Rect) -> bool:
    """Whether a point lies in a rectangle, edges included, within ``e``."""
    u, v = point
    return rect[0] - E <= u <= rect[2] + E and rect[1] - E <= v <= rect[3] + E
