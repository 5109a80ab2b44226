"""The house as a block cut above the door, with the door, and a porch where a run hangs on its edge."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimizer.terrain.yard import Points, Start, Yard
from viewer.facts import Words
from viewer.marks import Mark
from viewer.solids import (
    UP,
    NamedMesh,
    Solid,
    Vertices,
    build_box,
    build_extrusion,
    build_joined,
    build_named_mesh,
    build_quad_faces,
    build_tube,
    measure_ring_area,
)

#: Walls are drawn to this height above the highest threshold.
CUT_ABOVE_SILL_M: Final = 2.6
#: A door leaf is drawn this tall; the survey asks for its clear width only.
DOOR_HEIGHT_M: Final = 2.03
_REVEAL_M: Final = 0.10
_WALL_THICK_M: Final = 0.22
_CASING_M: Final = 0.075
#: A start may lie this far out from the outline: sill, siding, the wall's own error.
_WALL_REACH_M: Final = 0.6


@dataclass(frozen=True, slots=True)
class _Opening:
    """A door in a wall: its middle and half width along the wall, and its sill."""

    middle_m: float
    half_m: float
    sill_m: float


def draw_house(words: Words, yard: Yard, base_m: float) -> tuple[NamedMesh, ...]:
    """Walls, the face where they are cut, porches and doors."""
    top_m = max(start.threshold_m for start in yard.starts) + CUT_ABOVE_SILL_M
    meshes: list[NamedMesh] = []
    for number, outline in enumerate(yard.house_m, start=1):
        name = "house" if len(yard.house_m) == 1 else f"house {number}"
        ring = outline if measure_ring_area(outline) > 0.0 else outline[::-1]
        for start in yard.starts:
            if start.kind == "edge":
                ring, porch = split_porch(ring, start)
                if porch is not None:
                    block = build_extrusion(porch, base_m, start.threshold_m)
                    meshes.append(
                        build_named_mesh(
                            f"porch at {start.name}",
                            "house",
                            block,
                            (("surface", words.level(start.threshold_m)),),
                            Mark("house", f"porch at {start.name}"),
                        )
                    )
        walls, cut = _build_walls(ring, yard.starts, base_m, top_m)
        facts = (("drawn to", f"{words.length(CUT_ABOVE_SILL_M)} above the sill"),)
        meshes.append(build_named_mesh(name, "house", walls, facts, Mark("house", name)))
        meshes.append(build_named_mesh(f"{name}, cut open", "house_cut", cut, facts))
        for start in yard.starts:
            place = _find_wall(ring, start)
            if place is not None:
                meshes += _draw_door(words, start, ring, place)
    return tuple(meshes)


def split_porch(ring: Points, start: Start) -> tuple[Points, Points | None]:
    """Outline without the projection on whose outer edge the start lies, and that projection.

    Only a plain projection of four corners is told apart; else the outline comes back
    whole, with ``None``.
    """
    place = _find_wall(ring, start)
    if place is None or len(ring) < 7:
        return ring, None
    corners = [ring[(place + step) % len(ring)] for step in (-1, 0, 1, 2)]
    before, after = corners[0] - corners[1], corners[3] - corners[2]
    goes_back = max(float(before @ start.outward), float(after @ start.outward)) < 0.0
    is_inner = [_turn(ring, (place + step) % len(ring)) < 0.0 for step in (-1, 2)]
    if not goes_back or not all(is_inner):
        return ring, None
    outer = {place, (place + 1) % len(ring)}
    rest = ring[[k for k in range(len(ring)) if k not in outer]]
    return rest, np.array(corners)


def _turn(ring: Points, at: int) -> float:
    before, here, after = ring[at - 1], ring[at], ring[(at + 1) % len(ring)]
    first, second = here - before, after - here
    return float(first[0] * second[1] - first[1] * second[0])


def _find_wall(ring: Points, start: Start) -> int | None:
    """Number of the wall (its first corner, counter-clockwise) that a start lies on."""
    best: tuple[float, int] | None = None
    for k in range(len(ring)):
        a, b = ring[k], ring[(k + 1) % len(ring)]
        along = (b - a) / np.linalg.norm(b - a)
        outward = np.array([along[1], -along[0]])
        off = float(abs((start.midpoint_m - a) @ outward))
        at = float((start.midpoint_m - a) @ along)
        if float(outward @ start.outward) > 0.9 and 0.0 < at < np.linalg.norm(b - a) and off < _WALL_REACH_M:
            best = min(best or (off, k), (off, k))
    return None if best is None else best[1]


def _list_openings(ring: Points, starts: tuple[Start, ...], wall: int) -> list[_Opening]:
    a, b = ring[wall], ring[(wall + 1) % len(ring)]
    along = (b - a) / np.linalg.norm(b - a)
    openings = [
        _Opening(float((s.midpoint_m - a) @ along), s.clear_width_m / 2.0, s.threshold_m)
        for s in starts
        if _find_wall(ring, s) == wall
    ]
    return sorted(openings, key=lambda opening: opening.middle_m)


def _build_walls(ring: Points, starts: tuple[Start, ...], base_m: float, top_m: float) -> tuple[Solid, Solid]:
    """Outer faces of the walls with reveals at the doors and a lid, and the face where they are cut."""
    faces: list[Vertices] = []
    for k in range(len(ring)):
        a, b = ring[k], ring[(k + 1) % len(ring)]
        length = float(np.linalg.norm(b - a))
        along = (b - a) / length
        walked = 0.0
        for opening in _list_openings(ring, starts, k):
            left, right = opening.middle_m - opening.half_m, opening.middle_m + opening.half_m
            head_m = min(opening.sill_m + DOOR_HEIGHT_M, top_m)
            faces += _wall(a, along, walked, left, base_m, top_m)
            faces += _wall(a, along, left, right, base_m, opening.sill_m)
            faces += _wall(a, along, left, right, head_m, top_m)
            faces += _reveal(a, along, left, right, opening.sill_m, head_m)
            walked = right
        faces += _wall(a, along, walked, length, base_m, top_m)
    quads = np.array(faces)
    triangles = build_quad_faces(len(quads))
    lid = build_extrusion(ring, top_m - 0.05, top_m - 0.02)
    return build_joined([Solid(quads.reshape(-1, 3), triangles), lid]), _build_cut(ring, top_m)


def _build_cut(ring: Points, top_m: float) -> Solid:
    """The cut face of the walls: a level band inside a counter-clockwise outline."""
    after = np.roll(ring, -1, axis=0) - ring
    after /= np.linalg.norm(after, axis=1)[:, None]
    inward = np.column_stack([-after[:, 1], after[:, 0]])
    inward_before = np.roll(inward, 1, axis=0)
    # At a corner the band keeps its thickness on both sides.
    share = _WALL_THICK_M / np.maximum(1.0 + (inward * inward_before).sum(axis=1), 0.2)
    inner = ring + share[:, None] * (inward + inward_before)
    count = len(ring)
    index = np.arange(count)
    following = (index + 1) % count
    level = np.full(count, top_m)
    faces = np.concatenate(
        [
            np.stack([index, following, following + count], axis=1),
            np.stack([index, following + count, index + count], axis=1),
        ]
    )
    return Solid(np.concatenate([np.column_stack([ring, level]), np.column_stack([inner, level])]), faces)


def _at(a: Points, along: Points, s: float, out: float, z: float) -> Vertices:
    return np.array([*(a + s * along + out * np.array([along[1], -along[0]])), z])


def _wall(a: Points, along: Points, left: float, right: float, low_m: float, high_m: float) -> list[Vertices]:
    if right - left < 1e-6 or high_m - low_m < 1e-6:
        return []
    corners = ((left, low_m), (right, low_m), (right, high_m), (left, high_m))
    return [np.array([_at(a, along, s, 0.0, z) for s, z in corners])]


def _reveal(
    a: Points, along: Points, left: float, right: float, sill_m: float, head_m: float
) -> list[Vertices]:
    """The four faces of the hole behind an opening, and its dark back."""

    def quad(*corners: tuple[float, float, float]) -> Vertices:
        return np.array([_at(a, along, s, -depth, z) for s, depth, z in corners])

    deep = _REVEAL_M
    return [
        quad((left, deep, sill_m), (left, deep, head_m), (left, 0, head_m), (left, 0, sill_m)),
        quad((right, 0, sill_m), (right, 0, head_m), (right, deep, head_m), (right, deep, sill_m)),
        quad((left, deep, head_m), (right, deep, head_m), (right, 0, head_m), (left, 0, head_m)),
        quad((left, 0, sill_m), (right, 0, sill_m), (right, deep, sill_m), (left, deep, sill_m)),
        quad((left, deep, sill_m), (right, deep, sill_m), (right, deep, head_m), (left, deep, head_m)),
    ]


def _draw_door(words: Words, start: Start, ring: Points, wall: int) -> list[NamedMesh]:
    """Leaf with two panels and a knob, casing and sill."""
    a, b = ring[wall], ring[(wall + 1) % len(ring)]
    along = (b - a) / np.linalg.norm(b - a)
    out = np.array([along[1], -along[0]])
    origin = a + float((start.midpoint_m - a) @ along) * along
    half, tall = start.clear_width_m / 2.0, DOOR_HEIGHT_M
    reach = float((start.midpoint_m - a) @ out)

    def box(s0: float, s1: float, o0: float, o1: float, z0: float, z1: float) -> Solid:
        """Box in (along the wall, out of it, above the sill)."""
        return _place(
            build_box(np.array([s0, o0, z0]), np.array([s1, o1, z1])), origin, along, out, start.threshold_m
        )

    # The hinge side is told looking out; seen from the yard, which is how the wall runs, it is mirrored.
    knob = half - 0.09 if start.hinge_side == "right" else -half + 0.09
    leaf = [box(-half + 0.004, half - 0.004, -0.075, -0.035, 0.004, tall - 0.004)]
    inset = min(0.14, half / 3.0)
    leaf += [
        box(-half + inset, half - inset, -0.035, -0.022, z0, z1) for z0, z1 in ((0.22, 0.86), (1.08, 1.86))
    ]
    bar = np.array([[knob, -0.03, 0.98], [knob, 0.01, 0.98]])
    handle = _place(build_tube(bar[0], bar[1], 0.055), origin, along, out, start.threshold_m)
    casing = [
        box(-half - _CASING_M, -half, -0.01, 0.03, 0.0, tall + _CASING_M),
        box(half, half + _CASING_M, -0.01, 0.03, 0.0, tall + _CASING_M),
        box(-half, half, -0.01, 0.03, tall, tall + _CASING_M),
        box(-half, half, -_REVEAL_M, max(reach, 0.01), -0.04, 0.0),
    ]
    facts = (
        ("sill", words.level(start.threshold_m)),
        ("clear width", words.length(start.clear_width_m)),
        ("swings", start.swing),
        ("hinges", f"{start.hinge_side}, looking out"),
    )
    return [
        build_named_mesh(f"door {start.name}", "door", build_joined(leaf), facts),
        build_named_mesh(f"door frame {start.name}", "trim", build_joined([*casing, handle]), facts),
    ]


def _place(
    solid: Solid, origin: Points, along: NDArray[np.float64], out: NDArray[np.float64], sill_m: float
) -> Solid:
    """From (along, out, up) at the door to the site frame."""
    s, o, z = solid.vertices.T
    xy = origin + s[:, None] * along + o[:, None] * out
    # (along, out, up) is left-handed, so the faces are turned round.
    return Solid(np.column_stack([xy, sill_m * UP[2] + z]), solid.faces[:, ::-1])
