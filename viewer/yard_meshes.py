"""Obstacles, zones, lot line and arrival areas."""

from __future__ import annotations

from typing import Final

import numpy as np

from optimizer.terrain.ground import Ground
from optimizer.terrain.yard import OVERHEAD, PIECE_BLOCKING, Obstacle, Yard, Zone, ZoneKind
from viewer.drape import build_draped_ring, measure_ground_near
from viewer.facts import Words
from viewer.marks import Mark
from viewer.solids import UP, NamedMesh, build_extrusion, build_joined, build_named_mesh, build_ribbon

#: An obstacle without a surveyed top is drawn this tall.
UNKNOWN_TOP_M: Final = 1.0
_INTO_GROUND_M: Final = 0.06
_LINE_M: Final = 0.055

ZONE_WORDS: Final[tuple[tuple[ZoneKind, str], ...]] = (
    ("no_build", "nothing may stand here"),
    ("no_foot", "no foot may stand here"),
    ("no_cover", "nothing may lie above"),
    ("headroom", "something overhead"),
    ("wire", "wire overhead"),
    ("vehicle", "for vehicles"),
    ("escape_window", "way out of a window"),
    ("drip_line", "no digging"),
    ("right_of_way", "right of way"),
    ("keep_walkable", "to be kept free for walking"),
)
_WORDS: Final = dict(ZONE_WORDS)


def draw_obstacles(words: Words, yard: Yard, ground: Ground, base_m: float) -> tuple[NamedMesh, ...]:
    """Every obstacle from the ground to its top."""
    return tuple(_draw_obstacle(words, obstacle, ground, base_m) for obstacle in yard.obstacles)


def _draw_obstacle(words: Words, obstacle: Obstacle, ground: Ground, base_m: float) -> NamedMesh:
    low_m, high_m = measure_ground_near(ground, obstacle.outline_m, base_m)
    if obstacle.top_m is None:
        top_m = high_m + UNKNOWN_TOP_M
        top = "not surveyed: may not be passed over"
    else:
        top_m = max(obstacle.top_m, low_m + 0.01)
        top = words.level(obstacle.top_m)
    solid = build_extrusion(obstacle.outline_m, min(low_m, top_m) - _INTO_GROUND_M, top_m)
    stand = "feet may stand on it" if obstacle.may_stand else "no feet on it"
    passed = "solid" if obstacle.top_m is None else "passable"
    kind = "standable" if obstacle.may_stand else passed
    return build_named_mesh(
        f"obstacle {obstacle.name}",
        "obstacle",
        solid,
        (("top", top), ("feet", stand)),
        Mark("obstacle", obstacle.name, kind),
    )


def draw_zones(words: Words, yard: Yard, ground: Ground) -> tuple[NamedMesh, ...]:
    """Zones, arrival areas and the lot line as strips on the ground.

    Unbroken: no piece may be there.  Dashed: no foot or no digging.  Overhead zones are
    dotted on the ground and drawn once more at their underside.
    """
    meshes = [_draw_zone(words, zone, ground) for zone in yard.zones]
    for number, outline in enumerate(yard.arrivals_m, start=1):
        ring = build_draped_ring(ground, outline, _LINE_M, 0.6)
        meshes.append(
            build_named_mesh(
                f"arrival {number}", "arrival", ring, (("meaning", "the ramp is to end in here"),)
            )
        )
    lot = build_draped_ring(ground, yard.lot_m, 0.05, 0.9)
    setback = (("setback", words.length(yard.setback_m)),)
    meshes.append(build_named_mesh("lot line", "lot", lot, setback, Mark("lot", "lot line")))
    return tuple(mesh for mesh in meshes if len(mesh.faces))


def _draw_zone(words: Words, zone: Zone, ground: Ground) -> NamedMesh:
    if zone.kind in OVERHEAD:
        dash_m = 0.12
    elif zone.kind in PIECE_BLOCKING:
        dash_m = 0.0
    else:
        dash_m = 0.35
    parts = [build_draped_ring(ground, zone.outline_m, _LINE_M, dash_m)]
    facts = [("kind", _WORDS[zone.kind]), ("reason", zone.reason)]
    if zone.underside_m is not None:
        starts = np.column_stack([zone.outline_m, np.full(len(zone.outline_m), zone.underside_m)])
        count = len(starts)
        parts.append(build_ribbon(starts, np.roll(starts, -1, axis=0), np.tile(UP, (count, 1)), _LINE_M))
        facts.append(("underside", words.level(zone.underside_m)))
    return build_named_mesh(f"zone {zone.name}", "zone", build_joined(parts), tuple(facts))
