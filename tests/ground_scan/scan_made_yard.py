"""A made-up yard scanned by a hand-held scanner on a walk to and fro: noise, drift, ghosts."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d

from tests.ground_scan.cast_kernel import cast
from tests.ground_scan.yard_parts import (
    GHOST,
    GRAVEL,
    GROUND,
    LAWN,
    LITTER,
    RASTER_M,
    MadeYard,
)

_REACH_M = 6.0
_EYE_M = 1.4
_PIECE = 200_000


@dataclass(frozen=True, slots=True)
class Scanning:
    """How a yard is scanned.

    Range noise ``noise_m`` at 3 m, drift of sd ``drift_m`` an axis, alike within 4 m of walk; of all
    points ``ghosts`` (0 to 1) are none, most of them below the ground, half of those in patches.
    """

    count: int
    noise_m: float = 0.012
    drift_m: float = 0.006
    ghosts: float = 0.0


@dataclass(frozen=True, slots=True)
class MadeScan:
    """``xyz_m`` (n, 3) as scanned; ``label`` (n,) what each point truly is."""

    xyz_m: NDArray[np.float64]
    label: NDArray[np.int8]


def scan_made_yard(yard: MadeYard, scanning: Scanning) -> MadeScan:
    """About ``scanning.count`` points of the yard, in the order of the walk."""
    rng = np.random.default_rng([yard.seed, 77])
    walk = _walk(yard)
    gained = 0
    pieces: list[tuple[NDArray[np.float64], NDArray[np.int8], NDArray[np.float64]]] = []
    rounds = 0
    while gained < scanning.count and rounds < 200:
        pieces.append(_cast_piece(yard, walk, rng, scanning))
        gained += len(pieces[-1][0])
        rounds += 1
    keep = slice(0, scanning.count)
    xyz = np.concatenate([piece[0] for piece in pieces])[keep]
    label = np.concatenate([piece[1] for piece in pieces])[keep]
    along = np.concatenate([piece[2] for piece in pieces])[keep]
    xyz = xyz + _drift(along, scanning.drift_m, rng)
    _add_ghosts(xyz, label, scanning.ghosts, rng)
    return MadeScan(xyz, label)


def _walk(yard: MadeYard) -> NDArray[np.float64]:
    """Places of the scanner (n, 2), 5 cm apart, to and fro over the yard."""
    wide, deep = yard.size_m
    lines = np.arange(0.8, deep - 0.4, 1.5)
    steps = np.arange(0.6, wide - 0.6, 0.05)
    there = [
        np.column_stack([steps if k % 2 == 0 else steps[::-1], np.full(len(steps), y)])
        for k, y in enumerate(lines)
    ]
    return np.concatenate(there)


def _cast_piece(
    yard: MadeYard, walk: NDArray[np.float64], rng: np.random.Generator, scanning: Scanning
) -> tuple[NDArray[np.float64], NDArray[np.int8], NDArray[np.float64]]:
    at = np.sort(rng.integers(0, len(walk) - 1, _PIECE))
    ahead = walk[np.minimum(at + 1, len(walk) - 1)] - walk[at]
    heading = (
        np.arctan2(ahead[:, 1], ahead[:, 0]) + 0.5 * np.sin(at / 17.0) + rng.uniform(-0.55, 0.55, _PIECE)
    )
    tilt = -0.55 + rng.uniform(-0.45, 0.45, _PIECE)
    slants = np.column_stack([np.cos(tilt) * np.cos(heading), np.cos(tilt) * np.sin(heading), np.sin(tilt)])
    origins = np.column_stack([walk[at], yard.elevation(walk[at]) + _EYE_M])
    blocks, blobs, sides, rises = pack_yard(yard)
    hit, label = np.empty(_PIECE), np.empty(_PIECE, dtype=np.int8)
    lots = rng.random((_PIECE, len(blocks) + len(blobs)))
    cast(origins, slants, lots, _REACH_M, yard.smooth_m, sides, rises, blocks, blobs, hit, label)
    noise = scanning.noise_m * (0.6 + 0.13 * hit) * rng.standard_normal(_PIECE)
    xyz = origins + (hit + noise)[:, None] * slants
    true = origins + hit[:, None] * slants
    _cover(yard, true, xyz, label, rng)
    met = (hit < _REACH_M) & (true[:, 0] > 0) & (true[:, 1] > 0)
    met &= (true[:, 0] < yard.size_m[0]) & (true[:, 1] < yard.size_m[1])
    return xyz[met], label[met], at[met] * 0.05


def pack_yard(
    yard: MadeYard,
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Blocks, blobs, sides and rises as the compiled rays take them."""
    blocks = np.array(
        [
            [*b.middle_m, np.cos(b.yaw), np.sin(b.yaw), *b.half_m, b.low_m, b.high_m, min(b.density, 1e9)]
            for b in yard.blocks
        ]
    ).reshape(-1, 9)
    blobs = np.array([[*b.middle_m, *b.radii_m, min(b.density, 1e9)] for b in yard.blobs]).reshape(-1, 7)
    sides = np.tile(np.array([0.0, 0.0, -1.0]), (len(yard.steps), 4, 1))
    for number, step in enumerate(yard.steps):
        sides[number, : len(step.sides)] = step.sides
    return blocks, blobs, sides, np.array([step.rise_m for step in yard.steps], dtype=np.float64)


def _cover(
    yard: MadeYard,
    true: NDArray[np.float64],
    xyz: NDArray[np.float64],
    label: NDArray[np.int8],
    rng: np.random.Generator,
) -> None:
    """Grass, gravel and leaves lift what is seen of the ground."""
    rows, columns = yard.cover.shape
    i = np.clip((true[:, 1] / RASTER_M).astype(int), 0, rows - 1)
    j = np.clip((true[:, 0] / RASTER_M).astype(int), 0, columns - 1)
    cover = np.where(label == GROUND, yard.cover[i, j], -1)
    count = len(true)
    xyz[:, 2] += np.where(cover == LAWN, np.minimum(rng.exponential(0.006, count), 0.06), 0.0)
    xyz[:, 2] += np.where(cover == GRAVEL, 0.006 * rng.standard_normal(count), 0.0)
    leaf = (cover == LITTER) & (rng.random(count) < 0.35)
    xyz[:, 2] += np.where(leaf, rng.uniform(0.0, 0.03, count), 0.0)


def _drift(along_m: NDArray[np.float64], drift_m: float, rng: np.random.Generator) -> NDArray[np.float64]:
    """A smooth wandering of the scanner's own frame, that comes back as a scanner that knows places does."""
    length = int(along_m.max() / 0.25) + 2
    path = gaussian_filter1d(rng.standard_normal((length, 3)), 16.0, axis=0)
    path *= drift_m / path.std(axis=0)
    at = np.arange(length) * 0.25
    return np.column_stack([np.interp(along_m, at, path[:, axis]) for axis in range(3)])


def _add_ghosts(
    xyz: NDArray[np.float64], label: NDArray[np.int8], share: float, rng: np.random.Generator
) -> None:
    """Some points are moved up or down: mirrored, or mixed between two surfaces."""
    count = int(share * len(xyz))
    if count == 0:
        return
    scattered = rng.choice(len(xyz), count - count // 3, replace=False)
    depth = np.abs(0.5 * rng.standard_normal(len(scattered))) + 0.03
    xyz[scattered, 2] -= np.where(rng.random(len(scattered)) < 0.7, depth, -depth)
    label[scattered] = GHOST
    for _ in range(4):  # a puddle or a pane mirrors a patch
        middle = xyz[rng.integers(len(xyz)), :2]
        near = np.flatnonzero((np.hypot(*(xyz[:, :2] - middle).T) < 0.35) & (label == GROUND))
        some = rng.choice(near, min(count // 12, len(near) // 5), replace=False)
        xyz[some, 2] -= rng.uniform(0.15, 0.7)
        label[some] = GHOST
