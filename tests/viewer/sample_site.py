"""A small invented site: tilted ground above a low wall, a house with one door.

Door frame: u to the right looking out, v out from the wall; turned by ``TURN_DEG`` and moved
into the site frame, so that nothing lies along an axis.
"""

from __future__ import annotations

import datetime
import itertools
import math
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from optimizer.brief.bind_rules import bind_alone, build_designs
from optimizer.brief.site import DisplayUnits, Rider, SearchSettings, Site, Wishes
from optimizer.catalogue import parts
from optimizer.catalogue.rates import Rates
from optimizer.rulebook.facts import JobFacts
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
        step_flights=(),
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
        setback_kind="hard",
        relief_cents=0,
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
                "common practice, no source",
                "the supplier",
            ),
            Zone(
                "drain cover",
                "no_foot",
                _ring((4.4, 3.4), (5.1, 3.4), (5.1, 4.1), (4.4, 4.1)),
                "must open",
                None,
                None,
                "common practice, no source",
                "the owner of the drain",
            ),
            Zone(
                "balcony",
                "headroom",
                _ring((-1.6, 0.0), (1.6, 0.0), (1.6, 1.0), (-1.6, 1.0)),
                "balcony floor",
                THRESHOLD_M + 2.4,
                2.05,
                "measured",
                "nobody",
            ),
        ),
        arrivals_m=(_ring((4.0, 7.0), (9.5, 7.0), (9.5, 10.0), (4.0, 10.0)),),
        destination_m=to_site(np.array([[6.0, 9.8]]))[0],
    )


def build_site() -> Site:
    """The whole job; rules and rates are of no matter here."""
    rulings = bind_alone(RuleSet("own-limits", "own limits", "", (), (), "own limits"))
    yard = build_yard()
    facts = (JobFacts(),) * len(yard.starts)
    return Site(
        name="Sample house on a slope",
        path=Path("sample"),
        dated="2026-05-01",
        origin_shift_m=np.zeros(3),
        yard=yard,
        ground=build_ground(),
        bedding_m=BEDDING_M,
        catalogue=build_catalogue(),
        rates=Rates("sample", "EUR", datetime.date(2026, 1, 1), "1", 6000, 9000, 50, 10.0, 20.0),
        rulings=rulings,
        start_facts=facts,
        designs=build_designs(yard.starts, rulings, facts),
        rider=Rider(1.2, 0.7, 200.0, "alone", "right"),
        wishes=Wishes(
            steepest=None,
            clear_width_m=None,
            exits=("front", "left", "right"),
            most_turns=1,
            guard_above_m=0.762,
            rail_landings_above_m=0.15,
            shown=3,
            slopes="free",
            prefer_side="either",
            must_pass_m=(),
            landing_at_m=(),
            longest_between_rests_m=None,
            survey_error_m=0.0,
            steps="none",
        ),
        search=SearchSettings(
            lattice_m=0.15,
            finest_lattice_m=0.05,
            height_step_m=0.0025,
            slope_levels=2,
            flattest_share=0.8,
            most_runs=3,
            longest_run_m=9.0,
            time_limit_s=10.0,
            seed=1,
        ),
        display=DisplayUnits("mm", 0.001),
    )
