"""A flat figure of a person, 1.75 m tall, for scale.  It stands for nobody and is no part of the plan."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimizer.brief.site import Site
from optimizer.plan import Candidate
from viewer.solids import NamedMesh, Solid, Vertices, build_extrusion, build_joined, build_named_mesh

FIGURE_HEIGHT_M: Final = 1.75
_THICK_M: Final = 0.02
#: The figure stands this far from an edge of the ramp.
_BESIDE_M: Final = (0.5, 1.0, 1.8)
#: Half of the outline from the crotch over foot, arm and shoulder to the neck: (aside, up), metres.
_HALF_BODY: Final = (
    (0.012, 0.80),
    (0.030, 0.05),
    (0.022, 0.0),
    (0.150, 0.0),
    (0.150, 0.035),
    (0.112, 0.06),
    (0.130, 0.45),
    (0.165, 0.86),
    (0.163, 1.10),
    (0.178, 1.22),
    (0.222, 0.92),
    (0.232, 0.78),
    (0.262, 0.74),
    (0.284, 0.79),
    (0.276, 0.95),
    (0.246, 1.28),
    (0.225, 1.39),
    (0.170, 1.445),
    (0.065, 1.475),
    (0.055, 1.53),
)
_HEAD_HALF_M: Final = (0.083, 0.118)


def list_figure_places(site: Site, candidate: Candidate) -> Vertices:
    """Points (n, 3) on free ground beside the ramp where the figure may stand, nearest to the tip first."""
    tip = np.array(candidate.toe.tip_m)[:2]
    places: list[NDArray[np.float64]] = []
    for piece in candidate.pieces:
        corners = np.array(piece.corners_m)[:, :2]
        middle = corners.mean(axis=0)
        for start, end in zip(corners, np.roll(corners, -1, axis=0), strict=True):
            outward = np.array([end[1] - start[1], start[0] - end[0]])
            outward *= np.sign(float(outward @ ((start + end) / 2.0 - middle))) / np.linalg.norm(outward)
            places += [(start + end) / 2.0 + room * outward for room in _BESIDE_M]
    spots = np.array(places)
    spots = spots[np.argsort(np.linalg.norm(spots - tip, axis=1), kind="stable")]
    levels = site.ground.elevation(spots)
    taken = [np.array(piece.corners_m)[:, :2] for piece in candidate.pieces]
    taken += [obstacle.outline_m for obstacle in site.yard.obstacles]
    taken += list(site.yard.house_m)
    free = [
        np.isfinite(level) and all(_is_clear_of(spot, ring) for ring in taken)
        for spot, level in zip(spots, levels, strict=True)
    ]
    return np.column_stack([spots, levels])[free]


def build_figure(base_m: Vertices, facing: Vertices) -> NamedMesh:
    """A flat figure with the middle of its soles at ``base_m`` (3,), its face towards ``facing`` (2,)."""
    right = np.array([facing[1], -facing[0]]) / np.linalg.norm(facing)
    half = np.array(_HALF_BODY)
    body = np.concatenate([half, half[::-1] * [-1.0, 1.0]])
    angles = np.linspace(0.0, 2.0 * np.pi, 33)[:-1]
    head = np.column_stack([np.cos(angles), np.sin(angles)]) * _HEAD_HALF_M
    head[:, 1] += FIGURE_HEIGHT_M - _HEAD_HALF_M[1]
    flat = build_joined([build_extrusion(outline, 0.0, _THICK_M) for outline in (body, head)])
    # The outlines stand up: (aside, up, thickness) becomes (right, z, facing).
    aside, up, thick = flat.vertices.T
    ahead = np.asarray(facing) / np.linalg.norm(facing)
    xy = base_m[:2] + aside[:, None] * right + (thick - _THICK_M / 2.0)[:, None] * ahead
    solid = Solid(np.column_stack([xy, base_m[2] + up]), flat.faces[:, ::-1])
    return build_named_mesh("figure, 1.75 m tall, for scale", "figure", solid)


def _is_clear_of(place: NDArray[np.float64], ring: NDArray[np.float64], room_m: float = 0.35) -> bool:
    """Is a point (2,) outside a ring (k, 2) and at least ``room_m`` from its edges."""
    start, end = ring, np.roll(ring, -1, axis=0)
    edge = end - start
    share = np.clip(((place - start) * edge).sum(axis=1) / (edge**2).sum(axis=1), 0.0, 1.0)
    if np.linalg.norm(start + share[:, None] * edge - place, axis=1).min() < room_m:
        return False
    crosses = (start[:, 1] > place[1]) != (end[:, 1] > place[1])
    with np.errstate(divide="ignore", invalid="ignore"):
        at = start[:, 0] + (place[1] - start[:, 1]) / edge[:, 1] * edge[:, 0]
    return bool(np.count_nonzero(crosses & (at > place[0])) % 2 == 0)
