"""A ramp laid out by hand on the invented site: L-shaped, two runs, one turn."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np

from optimizer.brief.site import Site
from optimizer.catalogue import parts
from optimizer.plan import (
    SCHEMA,
    Candidate,
    GroundRecord,
    Piece,
    Plan,
    Rail,
    SearchRecord,
    SiteRecord,
    SupportLeg,
    Toe,
)
from optimizer.record_rules import record_facts, record_rules
from tests.viewer.sample_site import (
    BEDDING_M,
    DEPTH_M,
    DROP_M,
    SHIFT,
    THRESHOLD_M,
    WALL_DROP_M,
    WIDTH_M,
    Array,
    build_ground,
    build_site,
    build_yard,
    slope_plane,
    to_site,
)

__all__ = [
    "BEDDING_M",
    "SHIFT",
    "THRESHOLD_M",
    "WALL_DROP_M",
    "WIDTH_M",
    "build_candidate",
    "build_ground",
    "build_plan",
    "build_site",
    "build_yard",
    "slope_plane",
    "to_site",
]


@dataclass
class _Bench:
    """Collects pieces in the door frame."""

    site: Site
    pieces: list[Piece] = field(default_factory=list)
    legs: list[SupportLeg] = field(default_factory=list)
    rails: list[Rail] = field(default_factory=list)

    def piece(
        self,
        name: str,
        part: str,
        kind: str,
        at: Array,
        heading: Array,
        size: tuple[float, float],
        levels: tuple[float, float],
        use: str | None = None,
    ) -> Piece:
        """A rectangle from the middle of its upper edge; ``size`` is plan length, width."""
        right = np.array([heading[1], -heading[0]])
        long, wide = size
        ring = np.array([at - right * wide / 2, at + right * wide / 2])
        ring = np.concatenate([ring, ring[::-1] + heading * long])
        xy = to_site(ring)
        z = (levels[0], levels[0], levels[1], levels[1])
        corners = tuple((float(p[0]), float(p[1]), h) for p, h in zip(xy, z, strict=True))
        piece = Piece.model_validate(
            {
                "id": name,
                "catalogue_id": part,
                "kind": kind,
                "use": use,
                "run": None,
                "corners_m": corners,
                "slope": (levels[0] - levels[1]) / long,
            }
        )
        self.pieces.append(piece)
        return piece

    def leg(self, piece: Piece, uv: Array, frame_m: float, kind: str) -> None:
        """A support at a point of the door frame, of the first type that is tall enough."""
        x, y = to_site(uv[None])[0]
        ground_m = float(slope_plane(uv[None])[0])
        height = frame_m - (ground_m - BEDDING_M)
        name = "low" if kind == "low_support" else ("leg-short" if height < 0.42 else "leg-tall")
        part = self.site.catalogue.part(name)
        assert isinstance(part, parts.Leg | parts.LowSupport)
        number = f"L{len(self.legs) + 1:02d}"
        brace = "brace" if isinstance(part, parts.Leg) and height > part.brace_above_m else None
        self.legs.append(
            SupportLeg.model_validate(
                {
                    "id": number,
                    "piece": piece.id,
                    "station": "corner",
                    "kind": kind,
                    "leg_type": name,
                    "foot": part.foot,
                    "brace": brace,
                    "x_m": float(x),
                    "y_m": float(y),
                    "ground_elevation_m": ground_m,
                    "frame_elevation_m": frame_m,
                    "height_m": height,
                    "range_m": (part.min_m, part.max_m),
                    "reserve_m": 0.025 if kind == "leg" else 0.0,
                    "setting": f"{height * 1000:.0f} mm",
                    "fit_chance": None,
                }
            )
        )

    def rail(
        self, part: str, kind: str, piece: Piece, edge: str, line: tuple[tuple[float, ...], tuple[float, ...]]
    ) -> None:
        self.rails.append(
            Rail.model_validate(
                {
                    "id": f"R{len(self.rails) + 1:02d}",
                    "catalogue_id": part,
                    "kind": kind,
                    "piece": piece.id,
                    "edge": edge,
                    "line_m": line,
                    "height_m": 0.9,
                }
            )
        )


def build_candidate(site: Site) -> Candidate:
    """Door landing, three sections to the right, quarter turn left, three sections, plate, pad."""
    low, high = 0.02, 0.2
    for _ in range(60):
        slope = (low + high) / 2.0
        _, gap = _lay(site, slope)
        low, high = (slope, high) if gap > 0.0 else (low, slope)
    bench, _ = _lay(site, high)
    tip_piece = next(piece for piece in bench.pieces if piece.kind == "transition_plate")
    pad = bench.pieces[-1]
    tip = np.mean([tip_piece.corners_m[2], tip_piece.corners_m[3]], axis=0)
    rise = THRESHOLD_M - DROP_M - float(tip[2])
    return Candidate(
        name="A",
        shape="L",
        start="front door",
        exit="right",
        turns=("left",),
        proof="proven",
        bound_cents=612300,
        direct_cost_cents=612300,
        price_cents=824450,
        price_lines=(),
        walking_length_m=15.1,
        footprint_m2=17.2,
        weight_kg=410.0,
        rise_m=rise,
        steepest_slope=high,
        closing="by hand",
        pieces=tuple(bench.pieces),
        legs=tuple(bench.legs),
        rails=tuple(bench.rails),
        toe=Toe(
            tip_m=(float(tip[0]), float(tip[1]), float(tip[2])),
            ground_elevation_m=float(tip[2]),
            plate_slope=high,
            tip_corner_gap_m=0.0,
            bottom_space_m=pad.corners_m,
            bottom_slope=0.0,
            pad=True,
            to_destination_m=2.0,
        ),
        findings=(),
        fit_chance=None,
    )


def _lay(site: Site, slope: float) -> tuple[_Bench, float]:
    """The layout at one slope for both runs, and how far the plate's tip hangs above the ground."""
    bench = _Bench(site)
    right, out = np.array([1.0, 0.0]), np.array([0.0, 1.0])
    deck = THRESHOLD_M - DROP_M
    bench.piece("D1", "sill-plate", "threshold_plate", np.array([0.0, 0.0]), out, (0.02, 0.95), (deck, deck))
    door = bench.piece(
        "P1", "landing-150", "landing", np.array([0.0, 0.02]), out, (1.5, 1.5), (deck, deck), "door"
    )
    _stand_landing(bench, door, np.array([0.0, 0.02]), out, deck)
    at, level = _lay_run(bench, "S", 0, np.array([0.75, 1.52 - WIDTH_M / 2]), right, deck, slope)
    turn_at = at + np.array([0.0, -(1.5 - WIDTH_M) / 2])
    turn = bench.piece("P2", "landing-150", "landing", turn_at, right, (1.5, 1.5), (level, level), "left")
    _stand_landing(bench, turn, turn_at, right, level)
    leave = np.array([at[0] + 1.5 - WIDTH_M / 2, turn_at[1] + 0.75])
    at, level = _lay_run(bench, "S", 3, leave, out, level, slope)
    cosine = 1.0 / math.hypot(1.0, slope)
    hinge = level
    tip_at, tip = at + out * 1.2 * cosine, level - 1.2 * slope * cosine
    plate = bench.piece("T1", "plate-120", "transition_plate", at, out, (1.2 * cosine, WIDTH_M), (hinge, tip))
    for side, line in (("left", (0, 3)), ("right", (1, 2))):
        bench.rail("rail-120", "panel", plate, side, (plate.corners_m[line[0]], plate.corners_m[line[1]]))
    bench.piece("B1", "pad-150", "bottom_pad", tip_at, out, (1.5, 1.5), (tip, tip))
    for piece, edges in ((door, ("left", "end")), (turn, ("end", "right"))):
        ends = {"left": (0, 3), "right": (1, 2), "start": (0, 1), "end": (3, 2)}
        for edge in edges:
            a, b = ends[edge]
            bench.rail("rail-150", "panel", piece, edge, (piece.corners_m[a], piece.corners_m[b]))
    for piece, edge, (a, b) in ((door, "right", (1, 2)), (turn, "left", (0, 3)), (turn, "start", (0, 1))):
        bench.rail("rail-46", "infill", piece, edge, (piece.corners_m[a], piece.corners_m[b]))
    ground = float(slope_plane(tip_at[None])[0])
    return bench, tip - ground


def _lay_run(
    bench: _Bench, letter: str, before: int, at: Array, heading: Array, level: float, slope: float
) -> tuple[Array, float]:
    cosine = 1.0 / math.hypot(1.0, slope)
    across = np.array([heading[1], -heading[0]])
    for k in range(3):
        lower = level - 1.8 * slope * cosine
        section = bench.piece(
            f"{letter}{before + k + 1}",
            "section-180",
            "section",
            at,
            heading,
            (1.8 * cosine, WIDTH_M),
            (level, lower),
        )
        at, level = at + heading * 1.8 * cosine, lower
        is_hinge = before > 0 and k == 2
        if k < 2 or is_hinge:
            reach = WIDTH_M / 2 + (-0.08 if is_hinge else 0.05)
            for side in (-reach, reach):
                bench.leg(section, at + side * across, level - DEPTH_M, "low_support" if is_hinge else "leg")
        for edge, (a, b) in (("left", (0, 3)), ("right", (1, 2))):
            upper, below = section.corners_m[a], section.corners_m[b]
            bench.rail("rail-180", "panel", section, edge, (upper, below))
            if k == 0:
                bench.rail("post", "post", section, edge, (upper, upper))
                away = np.array(upper) - (np.array(below) - np.array(upper)) / 1.8 * 0.3
                bench.rail("end", "end", section, edge, (upper, (float(away[0]), float(away[1]), upper[2])))
            bench.rail("post", "post", section, edge, (below, below))
    return at, level


def _stand_landing(bench: _Bench, piece: Piece, at: Array, heading: Array, deck: float) -> None:
    across = np.array([heading[1], -heading[0]])
    for along in (0.1, 1.4):
        for side in (-0.65, 0.65):
            bench.leg(piece, at + along * heading + side * across, deck - DEPTH_M, "leg")


def build_plan(site: Site) -> Plan:
    """A plan with the one candidate."""
    return Plan(
        schema=SCHEMA,
        site=SiteRecord(
            name=site.name,
            file="site.toml",
            catalogue="sample",
            rates="sample",
            rates_dated="2026-01-01",
            dated=site.dated,
            origin_shift_m=(0.0, 0.0, 0.0),
        ),
        rules=record_rules(site.rulings.sets),
        facts=record_facts(site),
        currency="EUR",
        display_units="mm",
        display_step_m=0.001,
        status="optimal_on_lattice",
        bound_cents=612300,
        gap=0.0,
        search=SearchRecord(
            engine="by hand",
            lattice_m=0.15,
            slopes=(),
            height_step_m=0.0,
            guard_m=0.0,
            most_runs=3,
            longest_run_m=9.0,
            statement="",
            rounds=(),
            shapes_found=1,
            not_settled=(),
        ),
        versions=(),
        seed=1,
        ground=GroundRecord(points_used=27, leave_one_out_m=0.011, label="rough", thin_places_m=()),
        conflicts=(),
        candidates=(build_candidate(site),),
    )
