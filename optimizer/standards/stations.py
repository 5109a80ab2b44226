"""Where supports must stand: the structure's own count, from the pieces alone.

Common practice, no source, as stated in DEVELOPERS.md: four at a landing, six at a half turn,
two at each joint inside a run, two at each mid support a section asks for, and two low
supports at the hinge of the transition plate.  A run's ends bear on its landings.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np

from optimizer.catalogue.parts import Landing, Leg, LowSupport, Section
from optimizer.standards.chain import Chain
from optimizer.standards.placed import Placed, Vector

Role = Literal["corner", "joint", "mid", "hinge"]


@dataclass(frozen=True, slots=True)
class Station:
    """One place that needs one support.

    ``base_m`` (3,) is the point of the walking surface it carries, at the piece's edge for a
    section; the foot stands ``lateral_offset_m`` of its own type farther ``outward`` (2,)
    (a zero vector at landings).  ``types`` are the part ids the piece allows there.
    """

    piece: str
    role: Role
    side: Literal["left", "right"] | None
    base_m: Vector
    outward: Vector
    frame_depth_m: float
    types: tuple[str, ...]

    def foot_m(self, support: Leg | LowSupport) -> Vector:
        """Plan point (2,) at which a support of this type stands."""
        return self.base_m[:2] + support.lateral_offset_m * self.outward

    @property
    def frame_m(self) -> float:
        """Elevation of the frame's underside there."""
        return float(self.base_m[2]) - self.frame_depth_m


def find_stations(chain: Chain) -> tuple[Station, ...]:
    """Every station of the chain, from the door down."""
    stations: list[Station] = []
    for landing in chain.all_landings:
        stations.extend(_find_landing_stations(landing))
    for run in chain.runs:
        for section in run.sections:
            for distance in section.part.mid_supports_m:
                stations.extend(_pair(section, "mid", distance, _leg_types(section)))
        for section in run.sections[:-1]:
            stations.extend(_pair(section, "joint", section.part.pitch_m, _leg_types(section)))
    last = chain.runs[-1].sections[-1]
    stations.extend(_pair(last, "hinge", last.part.pitch_m, last.part.low_supports))
    return tuple(stations)


def count_supports(chain: Chain) -> int:
    """Supports of the structure, the hinge's two low supports left out."""
    return sum(1 for station in find_stations(chain) if station.role != "hinge")


def _leg_types(section: Placed[Section]) -> tuple[str, ...]:
    return (*section.part.legs, *section.part.low_supports)


def _find_landing_stations(landing: Placed[Landing]) -> Iterator[Station]:
    part = landing.part
    inset = part.leg_inset_m
    along = (inset, part.length_m - inset)
    lateral = [-(part.width_m / 2.0 - inset), part.width_m / 2.0 - inset]
    if landing.piece.use in ("half_left", "half_right"):
        lateral.append(0.0)
    for t in along:
        for across in lateral:
            yield Station(
                landing.piece.id,
                "corner",
                None,
                landing.point(t, across),
                np.zeros(2),
                part.frame_depth_m,
                part.legs,
            )


def _pair(
    section: Placed[Section], role: Role, surface_m: float, types: tuple[str, ...]
) -> Iterator[Station]:
    """The two stations at a surface distance from the section's upper end."""
    along = surface_m / float(np.hypot(1.0, section.fall_gradient))
    half = section.part.overall_width_m / 2.0
    yield Station(
        section.piece.id,
        role,
        "left",
        section.point(along, -half),
        -section.right,
        section.part.frame_depth_m,
        types,
    )
    yield Station(
        section.piece.id,
        role,
        "right",
        section.point(along, half),
        section.right,
        section.part.frame_depth_m,
        types,
    )
