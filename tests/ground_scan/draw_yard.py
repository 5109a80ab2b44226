"""Layouts drawn by seed: house, slope, kerb, walls, planting, and what stands about in a yard."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter

from tests.ground_scan.yard_parts import (
    GRAVEL,
    LAWN,
    LITTER,
    PAVING,
    RASTER_M,
    Blob,
    Block,
    MadeYard,
    Step,
)

#: How many layouts the judging uses.
LAYOUTS = 24


def draw_yard(seed: int) -> MadeYard:
    """The yard of a seed; slopes rise from level to 20 % over the first ``LAYOUTS`` seeds."""
    rng = np.random.default_rng([seed, 5])
    size = (float(rng.uniform(13.0, 19.0)), float(rng.uniform(10.0, 14.0)))
    slope = 0.20 * (seed % LAYOUTS) / (LAYOUTS - 1)
    smooth = _draw_smooth(size, slope, rng)
    bare = MadeYard(seed, size, slope, smooth, _draw_cover(smooth.shape, rng), (), (), ())
    stepped = MadeYard(seed, size, slope, smooth, bare.cover, _draw_steps(seed, size, rng), (), ())
    house = _draw_house(seed, stepped, rng)
    with_house = MadeYard(seed, size, slope, smooth, bare.cover, stepped.steps, house, ())
    blocks, blobs = _draw_things(seed, with_house, rng)
    return MadeYard(seed, size, slope, smooth, bare.cover, stepped.steps, (*house, *blocks), blobs)


def _draw_smooth(size: tuple[float, float], slope: float, rng: np.random.Generator) -> NDArray[np.float64]:
    rows, columns = int(size[1] / RASTER_M) + 2, int(size[0] / RASTER_M) + 2
    turn = rng.uniform(0, 2 * np.pi)
    y, x = np.mgrid[:rows, :columns] * RASTER_M
    height = slope * (np.cos(turn) * x + np.sin(turn) * y)
    for bump_m, wide_m in ((0.05, 3.0), (0.01, 0.6), (0.004, 0.08)):
        # A Gaussian of this width gives correlation that falls to exp(-1/2) at wide_m / 2.
        noise = gaussian_filter(rng.standard_normal((rows, columns)), wide_m / RASTER_M / 2.8, mode="reflect")
        height = height + bump_m * noise / noise.std()
    return height - height.mean()


def _draw_cover(shape: tuple[int, ...], rng: np.random.Generator) -> NDArray[np.int8]:
    """Lawn with a paved strip, a gravel strip and leaves in one corner."""
    rows, columns = shape
    cover = np.full(shape, LAWN, dtype=np.int8)
    at = int(rng.uniform(0.1, 0.7) * columns)
    cover[:, at : at + int(1.4 / RASTER_M)] = PAVING
    at = int(rng.uniform(0.1, 0.8) * rows)
    cover[at : at + int(1.6 / RASTER_M), : columns // 2] = GRAVEL
    cover[: rows // 3, int(0.7 * columns) :] = LITTER
    return cover


def _half_plane(turn: float, through: NDArray[np.float64]) -> NDArray[np.float64]:
    normal = np.array([np.cos(turn), np.sin(turn)])
    return np.array([*normal, normal @ through])


def _draw_steps(seed: int, size: tuple[float, float], rng: np.random.Generator) -> tuple[Step, ...]:
    """By seed: no step, a retaining wall, a terrace with a corner, a sunk drive with kerbs, wall and kerb."""
    wide, deep = size
    kind = seed % 5
    steps = []
    if kind in (1, 4):
        turn = np.pi / 2 + rng.uniform(-0.15, 0.15)
        through = np.array([wide / 2, rng.uniform(0.62, 0.72) * deep])
        steps.append(Step(np.array([_half_plane(turn, through)]), float(rng.uniform(0.25, 0.7))))
    if kind == 2:
        turn = rng.uniform(-0.2, 0.2)
        corner = np.array([rng.uniform(0.55, 0.65) * wide, rng.uniform(0.5, 0.62) * deep])
        sides = np.array([_half_plane(turn, corner), _half_plane(turn + np.pi / 2, corner)])
        steps.append(Step(sides, float(rng.uniform(0.2, 0.5))))
    if kind in (3, 4):
        turn = rng.uniform(-0.1, 0.1) if kind == 3 else 0.0
        left = np.array([rng.uniform(0.12, 0.2) * wide, deep / 2])
        right = left + np.array([3.2, 0.0])
        sides = np.array([_half_plane(turn, left), _half_plane(turn + np.pi, right)])
        steps.append(Step(sides, -float(rng.uniform(0.06, 0.14))))
    return tuple(steps)


def _stand(
    yard: MadeYard,
    name: str,
    middle: tuple[float, float],
    half: tuple[float, float],
    yaw: float,
    above: tuple[float, float],
    density: float = np.inf,
) -> Block:
    """A block whose bottom and top are given above the ground; it stands on the lowest of its corners."""
    c, s = np.cos(yaw), np.sin(yaw)
    corners = [
        (middle[0] + c * a * half[0] - s * b * half[1], middle[1] + s * a * half[0] + c * b * half[1])
        for a, b in ((-1, -1), (-1, 1), (1, -1), (1, 1), (0, 0))
    ]
    ground = yard.elevation(np.array(corners))
    low = ground.min() - 0.05 if above[0] == 0.0 else ground.max() + above[0]
    return Block(name, middle, half, yaw, float(low), float(ground.max() + above[1]), density)


def _draw_house(seed: int, yard: MadeYard, rng: np.random.Generator) -> tuple[Block, ...]:
    """A straight wall, an L or a corner house along the low edge, with steps at the door; eaves above."""
    wide, _ = yard.size_m
    depth = float(rng.uniform(1.6, 2.4))
    blocks = [_stand(yard, "house", (wide / 2, depth / 2), (wide / 2, depth / 2), 0.0, (0.0, 5.0))]
    if seed % 3 == 1:
        wing = float(rng.uniform(2.0, 3.0))
        blocks.append(_stand(yard, "wing", (wide - wing / 2, depth + 1.5), (wing / 2, 1.5), 0.0, (0.0, 5.0)))
    door = float(rng.uniform(0.35, 0.6)) * wide
    for number in range(3):
        reach = 0.32 * (3 - number)
        height = 0.17 * (number + 1)
        blocks.append(_stand(yard, "steps", (door, depth + reach / 2), (0.65, reach / 2), 0.0, (0.0, height)))
    if seed % 2 == 0:
        blocks.append(_stand(yard, "eaves", (wide / 2, depth + 0.25), (wide / 2, 0.25), 0.0, (2.5, 2.7)))
    if seed % 4 == 3:
        blocks.append(_stand(yard, "balcony", (door + 2.5, depth + 0.75), (1.5, 0.75), 0.0, (2.4, 2.6)))
        blocks.append(_stand(yard, "post", (door + 3.8, depth + 1.4), (0.06, 0.06), 0.0, (0.0, 2.4)))
    return tuple(blocks)


def _draw_things(
    seed: int, yard: MadeYard, rng: np.random.Generator
) -> tuple[tuple[Block, ...], tuple[Blob, ...]]:
    wide, deep = yard.size_m
    blocks: list[Block] = []
    blobs: list[Blob] = []

    def somewhere() -> tuple[float, float]:
        return float(rng.uniform(1.0, wide - 1.0)), float(rng.uniform(4.0, deep - 1.0))

    def put(
        name: str, half: tuple[float, float], above: tuple[float, float], density: float = np.inf
    ) -> None:
        blocks.append(_stand(yard, name, somewhere(), half, float(rng.uniform(0, np.pi)), above, density))

    hedge = (0.35, deep / 2 - 2.5)
    at = (0.4, deep / 2 + 2.0) if seed % 2 else (wide - 0.4, deep / 2 + 2.0)
    blocks.append(_stand(yard, "hedge", at, hedge, 0.0, (0.0, float(rng.uniform(0.8, 1.5))), 7.0))
    for _ in range(int(rng.integers(3, 7))):
        _plant(yard, blobs, somewhere(), rng)
    if seed % 4 == 0:
        blocks.extend(_park(yard, somewhere(), float(rng.uniform(0, np.pi))))
    for _ in range(int(rng.integers(1, 4))):
        put(
            "planter",
            (float(rng.uniform(0.2, 0.6)), float(rng.uniform(0.15, 0.3))),
            (0.0, float(rng.uniform(0.2, 0.45))),
        )
    for _ in range(int(rng.integers(0, 3))):
        put("bin", (0.29, 0.36), (0.0, 1.05))
    for _ in range(int(rng.integers(1, 3))):
        put("box", (float(rng.uniform(0.12, 0.3)), 0.15), (0.0, float(rng.uniform(0.08, 0.2))))
    if seed % 2:
        put("table", (0.7, 0.4), (0.70, 0.74))
        put("bench", (0.7, 0.2), (0.40, 0.46))
    if seed % 3 == 0:
        put("fence", (2.0, 0.02), (0.05, 0.9), 18.0)
    if seed % 3 == 2:
        tree = somewhere()
        ground = float(yard.elevation(np.array([tree]))[0])
        blocks.append(_stand(yard, "trunk", tree, (0.14, 0.14), 0.4, (0.0, 2.6)))
        blobs.append(Blob("crown", (*tree, ground + 3.4), (1.6, 1.6, 1.1), 1.2))
    for _ in range(int(rng.integers(0, 3))):
        _person(yard, blobs, somewhere())
    return tuple(blocks), tuple(blobs)


def _plant(yard: MadeYard, blobs: list[Blob], at: tuple[float, float], rng: np.random.Generator) -> None:
    """A shrub whose leaves begin at the ground, or nearly."""
    ground = float(yard.elevation(np.array([at]))[0])
    wide, high = float(rng.uniform(0.3, 0.75)), float(rng.uniform(0.25, 0.7))
    lift = float(rng.uniform(0.55, 1.0)) * high
    blobs.append(Blob("shrub", (*at, ground + lift), (wide, wide, high), float(rng.uniform(2.5, 6.0))))


def _person(yard: MadeYard, blobs: list[Blob], at: tuple[float, float]) -> None:
    ground = float(yard.elevation(np.array([at]))[0])
    blobs.append(Blob("legs", (*at, ground + 0.45), (0.16, 0.22, 0.5)))
    blobs.append(Blob("body", (*at, ground + 1.2), (0.16, 0.25, 0.55)))


def _park(yard: MadeYard, at: tuple[float, float], yaw: float) -> list[Block]:
    """A car: body with room below it, cabin, four wheels."""
    along, across = np.array([np.cos(yaw), np.sin(yaw)]), np.array([-np.sin(yaw), np.cos(yaw)])
    car = [
        _stand(yard, "car", at, (2.1, 0.88), yaw, (0.18, 0.75)),
        _stand(yard, "cabin", at, (1.1, 0.8), yaw, (0.7, 1.4)),
    ]
    for a in (-1.3, 1.3):
        for b in (-0.75, 0.75):
            place = np.array(at) + a * along + b * across
            car.append(
                _stand(yard, "wheel", (float(place[0]), float(place[1])), (0.31, 0.1), yaw, (0.0, 0.6))
            )
    return car
