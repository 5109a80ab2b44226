"""Turn the places of a site file into coordinates."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.validation import explain_validity

from optimizer.brief.join_spots import NamedPoints
from optimizer.brief.places import AnyPlace, PlanPlace, PointPlace, WallFrame
from optimizer.errors import Fault, InputError
from optimizer.terrain.yard import Points
from optimizer.toml_file import KeyPath, TomlFile
from optimizer.toml_model import subject_of
from optimizer.units import TOLERANCE_M

#: An outline with less than this inside is a slip of the pen.
LEAST_AREA_M2 = 1e-4


@dataclass(frozen=True, slots=True)
class Locator:
    """What is needed to place things: ``points`` and ``wall`` in survey coordinates.

    ``wall`` is ``None`` while the first start, which it belongs to, is itself being placed.
    ``shift_m`` (3,) is subtracted from survey coordinates.
    """

    file: TomlFile
    points: NamedPoints
    wall: WallFrame | None
    shift_m: Points

    def locate(self, place: AnyPlace, keys: KeyPath) -> Points:
        """Shifted plan coordinates (2,) of a place; ``InputError`` when it leads nowhere."""
        return np.asarray(self._survey_place(place, keys) - self.shift_m[:2], dtype=np.float64)

    def locate_all(self, places: Sequence[AnyPlace], keys: KeyPath) -> tuple[Points, ...]:
        """Shifted plan coordinates (2,) of each place, read-only; ``InputError`` with every fault."""
        spots: list[Points] = []
        faults: list[Fault] = []
        for index, place in enumerate(places):
            try:
                spots.append(self.locate(place, (*keys, index)))
            except InputError as error:
                faults.extend(error.faults)
        if faults:
            raise InputError(*faults)
        for spot in spots:
            spot.setflags(write=False)
        return tuple(spots)

    def locate_outline(self, outline: Sequence[AnyPlace], keys: KeyPath) -> Points:
        """Shifted plan coordinates ``(n, 2)`` of an area, counter-clockwise, not closed, read-only.

        ``InputError`` with every fault: places that lead nowhere, an outline that crosses
        itself or encloses nothing.
        """
        corners = list(self.locate_all(outline, keys))
        if math.dist(corners[0], corners[-1]) <= TOLERANCE_M:
            corners.pop()  # a closed outline is as good as an open one
        ring_m = np.array(corners)
        self._check_ring(ring_m, keys)
        if not shapely.LinearRing(ring_m).is_ccw:
            ring_m = ring_m[::-1].copy()
        ring_m.setflags(write=False)
        return ring_m

    def _survey_place(self, place: AnyPlace, keys: KeyPath) -> Points:
        subject = subject_of(self.file, keys[:-1])
        if isinstance(place, PlanPlace):
            return np.array([place.x_m, place.y_m])
        if isinstance(place, PointPlace):
            row = self.points.position(place.name)
            if row is None:
                what = f'{subject}the survey has no point "{place.name}".'
                raise InputError(self.file.fault(keys, what, self.points.remedy(place.name)))
            point_m = self.points.points_m[row, :2]
            if np.isfinite(point_m).all():
                return point_m
        elif self.wall is not None:
            return self.wall.at(place.along_m, place.out_m)
        raise InputError(
            self.file.fault(
                keys,
                f"{subject}the first start cannot be measured from itself.",
                "Give it as [x, y], or by the name of a point that was surveyed with x and y.",
            )
        )

    def _check_ring(self, ring_m: Points, keys: KeyPath) -> None:
        subject = subject_of(self.file, keys[:-1])
        remedy = "List the corners in order round the area, each once."
        if len(ring_m) < 3 or shapely.MultiPoint(ring_m).convex_hull.area < LEAST_AREA_M2:
            raise InputError(self.file.fault(keys, f"{subject}the outline encloses no area.", remedy))
        polygon = shapely.Polygon(ring_m)
        if not polygon.is_valid:
            # 'Self-intersection[4.5 2.0]' of the validity report, as a place.
            spot = explain_validity(polygon).partition("[")[2].rstrip("]").split()
            at = f" at ({float(spot[0]):.2f}, {float(spot[1]):.2f}) m" if len(spot) == 2 else ""
            raise InputError(
                self.file.fault(keys, f"{subject}the outline crosses or touches itself{at}.", remedy)
            )
