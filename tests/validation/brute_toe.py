"""Where a last run comes down: transition plate, bottom space, pad.

Written from DEVELOPERS.md, 'The discrete problem' ('Toe', and the plate in 'Surfaces'); shares
nothing with the search but the data classes.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import Point

from optimizer.catalogue.parts import TransitionPlate
from tests.validation.brute_geometry import E, Plane, Pose, Rect, shrunk
from tests.validation.brute_laws import Stretch
from tests.validation.brute_layout import Sum
from tests.validation.brute_parts import RunChoice, UsableParts
from tests.validation.brute_pieces import LaidPlate, Pieces
from tests.validation.brute_surroundings import Surroundings

LIP_M = 0.00635


@dataclass(frozen=True, slots=True)
class Toe:
    """A plate that reaches the ground and what it needs beyond the run's other supports."""

    plate: TransitionPlate
    drop: float
    length: float  # in plan
    plate_rect: Rect
    apron_rect: Rect
    pad_id: str | None
    sum: Sum  # plate, pad, supports at the hinge

    @property
    def laid_plate(self) -> LaidPlate:
        """The plate as it lies."""
        return LaidPlate(self.plate, Stretch(self.drop, self.length))


class Toes:
    """Low ends of one start."""

    def __init__(self, parts: UsableParts, yard: Surroundings, pieces: Pieces) -> None:
        self.parts, self.yard, self.pieces = parts, yard, pieces
        self._toes: dict[object, Toe | None] = {}

    def find(self, pose: Pose, z: float, run: RunChoice, plate: TransitionPlate) -> Toe | None:
        """The low end of a run with one plate, other pieces aside; None when it may not be there."""
        key = pose.key, round(z, 9), run.index, plate.id
        if key not in self._toes:
            self._toes[key] = self._find(pose, z, run, plate)
        return self._toes[key]

    def _find(self, pose: Pose, z: float, run: RunChoice, plate: TransitionPlate) -> Toe | None:
        p, z_h, ground = run.plan, z - run.drop, self.yard.ground
        t, moved = plate.length_m, math.inf
        for _ in range(12):
            under_root = plate.length_m**2 - (z_h - ground(*pose.at(p + t, 0))) ** 2
            if not under_root > 0:  # beyond the plate's reach, or off the survey
                return None
            longer = math.sqrt(under_root)
            t, moved = longer, abs(longer - t)
        tip = ground(*pose.at(p + t, 0))
        d = z_h - tip
        if not (moved < 1e-7 and -E <= d <= self.parts.s_max * t + E):
            return None
        if not self.parts.laws.allow_last(Stretch(run.drop, run.plan), Stretch(d, t)):
            return None
        half, tip_pose = self.parts.width / 2, pose.turned(p + t, 0, 0)
        rect = pose.rect(p, p + t, -half, half)
        inner, plane = shrunk(rect, E), pose.turned(p, 0, 0).plane(z_h, d / t)
        if not (self.yard.is_free_for_plate(inner) and self.yard.has_headroom(inner, plane)):
            return None
        if not self._has_bottom_space(tip_pose):
            return None
        pad = self._pad(tip_pose, tip, inner, plane)
        last = run.sections[-1]
        hinge = self.pieces.pair(pose, z, run, run.surface, last, last.low_supports)
        if pad is None or hinge is None:
            return None
        pad_id = self.parts.pad.id if pad.cents and self.parts.pad else None
        total = Sum(self.parts.cents(plate)) + pad + hinge
        return Toe(plate, d, t, rect, self._apron_rect(tip_pose, pad_id), pad_id, total)

    def _bottom_rect(self, tip_pose: Pose) -> Rect:
        half = self.parts.bottom_width / 2
        return tip_pose.rect(0, self.parts.bottom_length, -half, half)

    def _apron_rect(self, tip_pose: Pose, pad_id: str | None) -> Rect:
        """The bottom space, as large as the pad where one is made."""
        long, half, pad = self.parts.bottom_length, self.parts.bottom_width / 2, self.parts.pad
        if pad_id is not None and pad is not None:
            long, half = max(long, pad.length_m), max(half, pad.width_m / 2)
        return tip_pose.rect(0, long, -half, half)

    def _has_bottom_space(self, tip_pose: Pose) -> bool:
        box = shapely.box(*shrunk(self._bottom_rect(tip_pose), E))
        tip = Point(tip_pose.u, tip_pose.v)
        return (
            self.yard.free_for_bottom.covers(box)
            and not self.yard.plate_barrier.intersects(box)
            and (not self.yard.arrivals or any(area.distance(tip) <= E for area in self.yard.arrivals))
        )

    def _pad(self, tip_pose: Pose, tip: float, plate: Rect, plane: Plane) -> Sum | None:
        """The pad's cost, nothing where none is needed, None where one is needed but not possible."""
        long, wide, w = self.parts.bottom_length, self.parts.bottom_width, self.parts.width
        probes = np.array(
            [
                [self.yard.ground(*tip_pose.at(t, lateral)) for lateral in (-wide / 2, 0, wide / 2)]
                for t in (0, long / 2, long)
            ]
        )
        edge = [self.yard.ground(*tip_pose.at(0, lateral)) for lateral in (-w / 2, w / 2)]
        if np.isnan([*probes.flat, *edge]).any():
            return None
        steepest = math.hypot(
            (probes[2].mean() - probes[0].mean()) / long, (probes[:, 2].mean() - probes[:, 0].mean()) / wide
        )
        asked = self.parts.design.landing_slope
        is_level = steepest <= (1 / 48 if math.isinf(asked) else asked) + 1e-9
        rows, columns = probes.mean(axis=1), probes.mean(axis=0)
        steps = np.array([-0.5, 0.0, 0.5])
        fitted = np.add.outer((rows[2] - rows[0]) * steps, (columns[2] - columns[0]) * steps) + probes.mean()
        is_level = is_level and bool(np.abs(probes - fitted).max() <= LIP_M + E)
        is_flush = max(abs(z - tip) for z in edge) <= LIP_M + E
        if is_level and is_flush and self.yard.is_above_ground(plate, plane, -LIP_M):
            return Sum(0)
        pad = self.parts.pad
        if pad is None or np.abs(probes - tip).max() > pad.greatest_level_difference_m + E:
            return None
        if not self.yard.is_above_ground(plate, plane, -pad.greatest_level_difference_m):
            return None
        dug = shapely.union_all([shapely.box(*shrunk(self._bottom_rect(tip_pose), E)), shapely.box(*plate)])
        return None if self.yard.no_digging.intersects(dug) else Sum(self.parts.cents(pad))
