"""Control points of a made-up phone scan: noise of picks, tape and level, and drift along the walk."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from optimizer.survey.placing.control_points import ControlPoint, ControlPoints, Role, build_control

YARD_M = (20.0, 15.0)
_LANE_M = 3.0


@dataclass(frozen=True, slots=True)
class Noise:
    """Standard errors in metres; ``scale`` relative; ``drift_m``: of the change over 20 m of walking.

    The drift is a smooth stationary process of each axis along the walk, correlated over 20 m.
    """

    pick_m: float = 0.010
    pick_height_m: float = 0.010
    tape_m: float = 0.010
    level_m: float = 0.003
    scale: float = 0.003
    drift_m: float = 0.0


@dataclass(frozen=True, slots=True)
class MadeUpScan:
    """Truth behind one scan: ``scan = factor * turn @ (site + drift) + shift``."""

    turn: NDArray[np.float64]
    factor: float
    shift_m: NDArray[np.float64]
    walk_m: NDArray[np.float64]
    drift_m: NDArray[np.float64]

    def see(self, site_m: NDArray[np.float64]) -> NDArray[np.float64]:
        """Where true points (n, 3) appear in the scan, but for the noise of a pick."""
        along = walked_to(site_m)
        drift = np.stack([np.interp(along, self.walk_m, self.drift_m[:, i]) for i in range(3)], axis=1)
        seen: NDArray[np.float64] = self.factor * (site_m + drift) @ self.turn.T + self.shift_m
        return seen


def walked_to(site_m: NDArray[np.float64]) -> NDArray[np.float64]:
    """How far one had walked to each point, up and down five lanes 3 m apart: 98 m in all."""
    lane = np.clip(np.floor(site_m[:, 1] / _LANE_M), 0, 4)
    along = np.clip(site_m[:, 0] - 1.3, 0.0, 17.2)
    away: NDArray[np.float64] = lane * (17.2 + _LANE_M) + np.where(lane % 2 == 0, along, 17.2 - along)
    return away


def make_up_scan(rng: np.random.Generator, noise: Noise) -> MadeUpScan:
    """A phone scan with true vertical, any yaw and any origin."""
    yaw = rng.uniform(-math.pi, math.pi)
    c, s = math.cos(yaw), math.sin(yaw)
    walk = np.linspace(0.0, 98.0, 50)
    near = np.exp(-0.5 * ((walk[:, None] - walk[None, :]) / 20.0) ** 2)
    root = np.linalg.cholesky(near + 1e-9 * np.eye(len(walk)))
    size = noise.drift_m / math.sqrt(2.0 * (1.0 - math.exp(-0.5)))
    return MadeUpScan(
        turn=np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]]),
        factor=1.0 + noise.scale * rng.normal(),
        shift_m=rng.uniform(-50.0, 50.0, 3),
        walk_m=walk,
        drift_m=size * root @ rng.normal(size=(len(walk), 3)),
    )


def scatter(rng: np.random.Generator, count: int) -> NDArray[np.float64]:
    """True points (n, 3) anywhere in the yard, on ground that falls 1 in 20."""
    x, y = rng.uniform(0.0, YARD_M[0], count), rng.uniform(0.0, YARD_M[1], count)
    return np.stack([x, y, -0.05 * y + 0.1 * rng.normal(size=count)], axis=1)


def spread(rng: np.random.Generator, count: int) -> NDArray[np.float64]:
    """As ``scatter``, but well laid out, as told: corners, middle, and middles of the sides, within 1 m."""
    x, y = YARD_M
    around = [(0, 0), (x, y), (x, 0), (0, y), (x / 2, y / 2), (x / 2, 0), (x / 2, y), (0, y / 2)]
    points = scatter(rng, count)
    points[:, :2] = np.clip(np.array(around)[:count] + rng.uniform(-1.0, 1.0, (count, 2)), 0.0, YARD_M)
    points[:, 2] = -0.05 * points[:, 1] + 0.1 * rng.normal(size=count)
    return points


def pick(
    rng: np.random.Generator, scan: MadeUpScan, true_m: NDArray[np.float64], noise: Noise, checks: int = 0
) -> ControlPoints:
    """Pick, tape and level the true points; the last ``checks`` of them are check points."""
    picked = scan.see(true_m) + rng.normal(size=true_m.shape) * [
        noise.pick_m,
        noise.pick_m,
        noise.pick_height_m,
    ]
    measured = true_m + rng.normal(size=true_m.shape) * [noise.tape_m, noise.tape_m, noise.level_m]
    roles: list[Role] = ["control"] * (len(true_m) - checks) + ["check"] * checks
    return build_control(
        [
            ControlPoint(
                name=f"C{i}",
                scan_m=(float(p[0]), float(p[1]), float(p[2])),
                plan_m=(float(q[0]), float(q[1])),
                elevation_m=float(q[2]),
                role=role,
                pick_error_m=noise.pick_m,
                pick_height_error_m=noise.pick_height_m,
                tape_error_m=noise.tape_m,
                level_error_m=noise.level_m,
            )
            for i, (p, q, role) in enumerate(zip(picked, measured, roles, strict=True))
        ]
    )
