"""A small invented job, laid out by hand: L-shaped ramp on tilted ground above a low wall.

Door frame: u to the right looking out, v out from the wall; turned by ``TURN_DEG`` and moved
into the site frame, so that nothing lies along an axis.
"""

from __future__ import annotations

import datetime
import itertools
import math
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from optimizer.brief.site import DisplayUnits, Rider, SearchSettings, Site, Wishes
from optimizer.catalogue import parts
from optimizer.catalogue.rates import Rates
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
from optimizer.rulebook.rules import RuleSet
from optimizer.terrain.ground import BreakLine, Ground
from optimizer.terrain.yard import Obstacle, Start, Yard, Zone

TURN_DEG = -24.0
SHIFT = np.array([2.0, 1.0])
THRESHOLD_M = 0.25
DROP_M = 0.012
BEDDING_M = 0.012
WALL_V_M = 10.2
WALL_DROP_M = 0.55
WIDTH_M = 1.04
DEPTH_M = 0.065

Array = NDArray[np.float64]


def to_site(uv: Array) -> Array:
    """Door frame (n, 2) to site frame (n, 2)."""
    turn = math.radians(TURN_DEG)
    right = np.array([math.cos(turn), math.sin(turn)])
    out = np.array([-math.sin(turn), math.cos(turn)])
    return np.asarray(SHIFT + uv[:, :1] * right + uv[:, 1:] * out)


def slope_plane(uv: Array) -> Array:
    """Ground above the wall (n,), metres; it goes on below the wall ``WALL_DROP_M`` lower."""
    return -0.48 - 0.035 * uv[:, 1] - 0.018 * uv[:, 0]


def _ring(*corners: tuple[float, float]) -> Array:
    ring = to_site(np.array(corners, dtype=np.float64))
    area = 0.5 * np.sum(ring[:, 0] * np.roll(ring[:, 1], -1) - np.roll(ring[:, 0], -1) * ring[:, 1])
    return ring if area > 0 else np.ascontiguousarray(ring[::-1])


def build_ground() -> Ground:
    """Two planes that meet in an upright step at ``v = WALL_V_M``."""
    us = np.linspace(-6.0, 10.0, 9)
    triangles: list[Array] = []
    levels: list[Array] = []
    for vs, drop in (
        (np.array([0.0, 2.0, 4.0, 6.0, 8.0, WALL_V_M]), 0.0),
        (np.array([WALL_V_M, 12.0, 14.0]), WALL_DROP_M),
    ):
        for u0, u1 in itertools.pairwise(us):
            for v0, v1 in itertools.pairwise(vs):
                for ring in ([[u0, v0], [u1, v0], [u1, v1]], [[u0, v0], [u1, v1], [u0, v1]]):
                    uv = np.array(ring)
                    xy, z = to_site(uv), slope_plane(uv) - drop
                    turn = (xy[1] - xy[0])[0] * (xy[2] - xy[0])[1] - (xy[1] - xy[0])[1] * (xy[2] - xy[0])[0]
                    order = slice(None) if turn > 0 else slice(None, None, -1)
                    triangles.append(xy[order])
                    levels.append(z[order])
    line = np.column_stack([us, np.full(len(us), WALL_V_M)])
    wall = BreakLine("low wall", to_site(line), slope_plane(line), slope_plane(line) - WALL_DROP_M, "left")
    spots = np.array([[u, v] for u in us for v in (0.0, 4.0, 8.0)])
    return Ground(
        points_m=np.column_stack([to_site(spots), slope_plane(spots)]),
        point_names=tuple(f"P{k}" for k in range(len(spots))),
        triangles_xy=np.array(triangles),
        triangles_z=np.array(levels),
        outline_m=(_ring((-6, 0), (10, 0), (10, 14), (-6, 14)),),
        break_lines=(wall,),
        leave_one_out_m=0.011,
    )


def build_catalogue() -> parts.Catalogue:
    """A few invented parts, metric."""
    fact = {"weight_kg": 5.0, "price_cents": 4000, "labour_min": 5.0}
    leg = {
        **fact,
        "reserve_m": 0.025,
        "lateral_offset_m": 0.05,
        "foot": "foot",
        "pin_pitch_m": 0.025,
        "screw_travel_m": 0.08,
        "least_overlap_m": 0.1,
        "stand_up_m": 0.3,
        "bracket_tilt_deg": 3.0,
        "rated_load_kg": 500.0,
        "brace_above_m": 0.6,
        "brace": "brace",
    }
    rails = {f"rail-{n}": n / 100.0 for n in (180, 150, 120, 46)}
    landing = {
        **fact,
        "length_m": 1.5,
        "width_m": 1.5,
        "clear_length_m": 1.4,
        "clear_width_m": 1.4,
        "frame_depth_m": DEPTH_M,
        "curb_height_m": 0.1,
        "leg_inset_m": 0.1,
        "legs": ("leg-short", "leg-tall"),
        "attach": ("left", "right"),
        "rail_length_edge": "rail-150",
        "rail_width_edge": "rail-150",
        "rail_infill": "rail-46",
        "rail_inner_loop": None,
        "rated_load_kg": 500.0,
    }
    return parts.Catalogue(
        id="sample",
        name="sample parts",
        currency="EUR",
        clearance_m=0.03,
        low_clearance_m=0.0,
        piece_gap_m=0.2,
        feet=(
            parts.Foot("foot", "foot plate 150", 1.5, 900, 1.0, 0.15, 0.03, 0.125),
            parts.Foot("shoe", "shoe plate 110", 0.8, 600, 1.0, 0.11, 0.03, 0.125),
        ),
        braces=(parts.Brace("brace", "brace pair", 3.0, 2500, 8.0),),
        legs=(
            parts.Leg(id="leg-short", name="short leg", min_m=0.1, max_m=0.45, **leg),
            parts.Leg(id="leg-tall", name="tall leg", min_m=0.3, max_m=1.4, **leg),
        ),
        low_supports=(
            parts.LowSupport("low", "screw shoe", 1.0, 1100, 4.0, 0.005, 0.12, -0.08, "shoe", 500.0),
        ),
        rail_panels=tuple(
            parts.RailPanel(name, f"rail panel {length:g} m", 8.0, 9000, 7.0, length, 0.9, 0.042, 0.1)
            for name, length in rails.items()
        ),
        rail_posts=(parts.RailPost("post", "rail post", 2.0, 2000, 4.0),),
        rail_ends=(parts.RailEnd("end", "end loop", 2.0, 3000, 4.0, 0.3),),
        sections=(
            parts.Section(
                id="section-180",
                name="section 1.80 m",
                weight_kg=38.0,
                price_cents=48000,
                labour_min=12.0,
                pitch_m=1.8,
                clear_width_m=0.95,
                overall_width_m=WIDTH_M,
                frame_depth_m=DEPTH_M,
                hinge_depth_m=0.02,
                curb_height_m=0.1,
                mid_supports_m=(),
                legs=("leg-short", "leg-tall"),
                low_supports=("low",),
                rail_panel="rail-180",
                rated_load_kg=500.0,
            ),
        ),
        landings=(
            parts.Landing(
                id="landing-150", name="landing 1.50 m", uses=frozenset(("door", "quarter")), **landing
            ),
        ),
        transition_plates=(
            parts.TransitionPlate(
                "plate-120", "tip plate 1.20 m", 12.0, 15000, 5.0, 1.2, WIDTH_M, 0.006, "rail-120", 500.0
            ),
        ),
        threshold_plates=(
            parts.ThresholdPlate("sill-plate", "sill plate", 2.0, 3000, 5.0, 0.1, 0.95, 500.0),
        ),
        bottom_pads=(parts.BottomPad("pad-150", "paved pad 1.50 m", 150.0, 40000, 120.0, 1.5, 1.5, 0.2),),
        stock=(),
    )


def build_yard() -> Yard:
    """House with one door, two obstacles, three zones."""
    turn = math.radians(TURN_DEG)
    start = Start(
        name="front door",
        kind="over_steps",
        midpoint_m=to_site(np.array([[0.0, 0.0]]))[0],
        outward=np.array([-math.sin(turn), math.cos(turn)]),
        threshold_m=THRESHOLD_M,
        drop_m=DROP_M,
        clear_width_m=0.95,
        gap_m=0.02,
        swing="in",
        hinge_side="left",
    )
    return Yard(
        starts=(start,),
        house_m=(_ring((-5, -6), (4.2, -6), (4.2, -0.02), (-5, -0.02)),),
        lot_m=_ring((-5.7, -7), (9.7, -7), (9.7, 13.6), (-5.7, 13.6)),
        setback_m=0.3,
        obstacles=(
            Obstacle(
                "old step",
                _ring((-0.6, 0.0), (0.6, 0.0), (0.6, 0.6), (-0.6, 0.6)),
                THRESHOLD_M - 0.4,
                may_stand=False,
            ),
            Obstacle("planter", _ring((1.9, 3.4), (3.4, 3.4), (3.4, 4.6), (1.9, 4.6)), -0.2, may_stand=False),
            Obstacle(
                "meter box",
                _ring((-3.2, 0.0), (-2.6, 0.0), (-2.6, 0.35), (-3.2, 0.35)),
                None,
                may_stand=False,
            ),
        ),
        zones=(
            Zone(
                "round the meter",
                "no_cover",
                _ring((-3.9, 0.0), (-1.9, 0.0), (-1.9, 1.2), (-3.9, 1.2)),
                "kept free",
                None,
                None,
            ),
            Zone(
                "drain cover",
                "no_foot",
                _ring((4.4, 3.4), (5.1, 3.4), (5.1, 4.1), (4.4, 4.1)),
                "must open",
                None,
                None,
            ),
            Zone(
                "balcony",
                "headroom",
                _ring((-1.6, 0.0), (1.6, 0.0), (1.6, 1.0), (-1.6, 1.0)),
                "balcony floor",
                THRESHOLD_M + 2.4,
                2.05,
            ),
        ),
        arrivals_m=(_ring((4.0, 7.0), (9.5, 7.0), (9.5, 10.0), (4.0, 10.0)),),
        destination_m=to_site(np.array([[6.0, 9.8]]))[0],
    )


def build_site() -> Site:
    """The whole job; rules and rates are of no matter here."""
    return Site(
        name="Sample house on a slope",
        path=Path("sample"),
        dated="2026-05-01",
        origin_shift_m=np.zeros(3),
        yard=build_yard(),
        ground=build_ground(),
        bedding_m=BEDDING_M,
        catalogue=build_catalogue(),
        rates=Rates("sample", "EUR", datetime.date(2026, 1, 1), "1", 6000, 9000, 50, 10.0, 20.0),
        rules=RuleSet("own-limits", "own limits", "", (), (), "own limits"),
        rider=Rider(1.2, 0.7, 200.0, "alone", "right"),
        wishes=Wishes(None, None, ("front", "left", "right"), 1, 0.762, 0.15, 3),
        search=SearchSettings(0.15, 2, 0.8, 3, 9.0, 10.0, 1),
        display=DisplayUnits("mm", 0.001),
    )


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
        rules="own-limits",
        rules_statement="own limits",
        currency="EUR",
        display_units="mm",
        display_step_m=0.001,
        status="optimal_on_lattice",
        bound_cents=612300,
        gap=0.0,
        search=SearchRecord(
            engine="by hand",
            slide_step_m=0.15,
            slopes=(),
            height_step_m=0.0,
            guard_m=0.0,
            most_runs=3,
            longest_run_m=9.0,
            statement="",
            classes_proven=1,
            classes_open=0,
        ),
        versions=(),
        seed=1,
        ground=GroundRecord(points_used=27, leave_one_out_m=0.011, label="rough", thin_places_m=()),
        conflicts=(),
        candidates=(build_candidate(site),),
    )
