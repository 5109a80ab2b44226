"""The yard of the hand-built ramp: a tilted plane, a house, a lot, one door."""

from __future__ import annotations

import datetime
import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from optimizer.catalogue.parts import Catalogue
from optimizer.catalogue.rates import Rates
from optimizer.rulebook.facts import JobFacts
from optimizer.rulebook.read_rule_set import read_rule_set
from optimizer.standards.check_candidate import CheckCase
from optimizer.terrain.ground import Ground
from optimizer.terrain.yard import Start, Yard
from tests.standards.rulings_by_hand import bind

UV = tuple[float, float]


@dataclass
class Frame:
    """Door frame to site frame: u right, v outward, turned and moved."""

    angle: float
    origin: tuple[float, float]

    def site(self, u: float, v: float) -> tuple[float, float]:
        cos, sin = math.cos(self.angle), math.sin(self.angle)
        return (self.origin[0] + cos * u - sin * v, self.origin[1] + sin * u + cos * v)


def build_case(
    frame: Frame,
    catalogue: Catalogue,
    level: Callable[[float, float], float],
    bedding_m: float,
    threshold: float,
    drop: float,
    gap: float,
    destination: UV,
) -> CheckCase:

    def ring(*corners: UV) -> np.ndarray:
        return np.array([frame.site(u, v) for u, v in corners])

    far = 30.0
    square = ((-far, -1.0), (far, -1.0), (far, far), (-far, far))
    points = np.array([[*frame.site(u, v), level(u, v)] for u, v in square])
    faces = ((0, 1, 2), (0, 2, 3))
    ground = Ground(
        points_m=points,
        point_names=("a", "b", "c", "d"),
        triangles_xy=np.array([points[list(face), :2] for face in faces]),
        triangles_z=np.array([points[list(face), 2] for face in faces]),
        outline_m=(points[:, :2],),
        break_lines=(),
        leave_one_out_m=None,
    )
    start = Start(
        name="front door",
        kind="landing",
        midpoint_m=np.array(frame.site(0.0, 0.0)),
        outward=np.array([-math.sin(frame.angle), math.cos(frame.angle)]),
        threshold_m=threshold,
        drop_m=drop,
        clear_width_m=0.9,
        gap_m=gap,
        swing="in",
        hinge_side="left",
    )
    yard = Yard(
        starts=(start,),
        house_m=(ring((-6.0, -0.9), (6.0, -0.9), (6.0, 0.0), (-6.0, 0.0)),),
        lot_m=ring((-25.0, -1.0), (25.0, -1.0), (25.0, 28.0), (-25.0, 28.0)),
        setback_m=0.5,
        setback_kind="hard",
        relief_cents=0,
        obstacles=(),
        zones=(),
        arrivals_m=(ring((-25.0, 0.5), (25.0, 0.5), (25.0, 28.0), (-25.0, 28.0)),),
        destination_m=np.array(destination),
    )
    rates = Rates("test", "XTS", datetime.date(2026, 1, 2), "1", 4537, 12000, 37, 12.5, 7.7)
    return CheckCase(
        yard=yard,
        ground=ground,
        bedding_m=bedding_m,
        catalogue=catalogue,
        rates=rates,
        rulings=bind(read_rule_set("ada-2010"), facts=JobFacts(works="new", space_limited="no")),
        start_name="front door",
        total_mass_kg=190.0,
        guard_above_m=0.762,
        rail_landings_above_m=0.1524,
        must_pass_m=(),
        landing_at_m=(),
        steps="none",
        survey_error_m=0.0,
    )
