"""Steps added by hand to the hand-built ramp: one flight on the left edge of its door landing.

The ramp's ground is ``0.35 + 0.008 u - 0.012 v`` in the door frame.  The landing is 1.62 m square,
its wall edge at v = 0.02, so its left edge lies at u = -0.81; the flight stands flush with the
wall's end of it: v from 0.02 to 1.02.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np

from optimizer.catalogue.parts import RailPanel, StepFlight
from optimizer.plan import XYZ, Candidate, Finding, Piece, Rail
from optimizer.standards.check_candidate import CheckCase, check_candidate
from optimizer.terrain.ground import Ground
from tests.standards.price_by_hand import price_ramp
from tests.standards.ramp_on_a_plane import build_ramp
from tests.standards.yard_by_hand import Frame

FRAME = Frame(0.6, (12.0, -7.0))
EDGE_U, NEAR_V, WIDTH_M, GOING_M = -0.81, 0.02, 1.0, 0.28
PANEL = RailPanel("panel-steps", "panel-steps", 3.3, 5100, 6.5, 0.9, 0.9144, 0.04, 0.09)
FLIGHT = StepFlight(
    "flight", "flight", 33.0, 41000, 44.0, 4, GOING_M, WIDTH_M, 0.4, 0.9, 0.06, 0.05, "panel-steps", 210.0
)


def ground_m(u: float, v: float) -> float:
    return 0.35 + 0.008 * u - 0.012 * v


def with_flights(case: CheckCase, *flights: StepFlight) -> CheckCase:
    """The case, steps wanted, with these flights in its catalogue."""
    parts = replace(case.catalogue, step_flights=flights, rail_panels=(*case.catalogue.rail_panels, PANEL))
    return replace(case, catalogue=parts, steps="wanted")


def build_steps(deck_m: float, part: StepFlight = FLIGHT) -> Piece:
    """The flight by its own arithmetic."""
    foot_u = EDGE_U - (part.risers - 1) * part.going_m
    foot = ground_m(foot_u, NEAR_V + part.width_m / 2)
    low = foot + (deck_m - foot) / part.risers
    far_v = NEAR_V + part.width_m
    corners: tuple[XYZ, XYZ, XYZ, XYZ] = (
        (*FRAME.site(EDGE_U, NEAR_V), deck_m),
        (*FRAME.site(EDGE_U, far_v), deck_m),
        (*FRAME.site(foot_u, far_v), low),
        (*FRAME.site(foot_u, NEAR_V), low),
    )
    return Piece(
        id="F1",
        catalogue_id=part.id,
        kind="steps",
        use=None,
        run=None,
        corners_m=corners,
        slope=(deck_m - foot) / part.risers / part.going_m,
    )


def build_ramp_with_steps() -> tuple[Candidate, CheckCase]:
    """A legal ramp with legal steps: flight, its two rails, and an infill where the panel was."""
    bare, case = build_ramp()
    case = with_flights(case, FLIGHT)
    landing = next(piece for piece in bare.pieces if piece.id == "L0")
    steps = build_steps(landing.corners_m[0][2])
    rails = [
        rail.model_copy(update={"kind": "infill", "catalogue_id": "panel-infill"})
        if (rail.piece, rail.edge) == ("L0", "left")
        else rail
        for rail in bare.rails
    ]
    start_left, start_right, end_right, end_left = steps.corners_m
    rails += [
        Rail(
            id=f"steps {side}",
            catalogue_id="panel-steps",
            kind="panel",
            piece="F1",
            edge=side,
            line_m=line,
            height_m=0.9144,
        )
        for side, line in (("left", (start_left, end_left)), ("right", (start_right, end_right)))
    ]
    return (
        price_ramp(
            [*bare.pieces, steps],
            list(bare.legs),
            rails,
            case,
            bare.toe,
            bare.turns,
            bare.exit,
            bare.steepest_slope,
            bare.rise_m,
            bare.walking_length_m,
        ),
        case,
    )


RAMP, CASE = build_ramp_with_steps()
BARE = build_ramp()[0]
DECK_M = next(piece for piece in RAMP.pieces if piece.id == "L0").corners_m[0][2]
FOOT_U = EDGE_U - 3 * GOING_M
RISE_M = DECK_M - ground_m(FOOT_U, NEAR_V + WIDTH_M / 2)
SPACE_U = FOOT_U - 0.9144
HAIR = 1e-5


def ring(u0: float, v0: float, u1: float, v1: float) -> np.ndarray:
    return np.array([FRAME.site(u, v) for u, v in ((u0, v0), (u1, v0), (u1, v1), (u0, v1))])


def box_of(u0: float, u1: float) -> tuple[tuple[float, float], ...]:
    return ((u0, 0.0), (u1, 0.0), (u1, 1.0), (u0, 1.0))


def strips_of(*levels: tuple[float, float], fall_v: float = 0.0) -> Ground:
    """Ground through levels (u, z) that run straight along v, falling along it by ``fall_v``."""

    def point(u: float, v: float, z: float) -> tuple[float, float, float]:
        return (*FRAME.site(u, v), z - fall_v * v)

    near, far = -30.0, 30.0
    faces = []
    for (u0, z0), (u1, z1) in pairwise(levels):
        a, b, c, d = point(u0, near, z0), point(u1, near, z1), point(u1, far, z1), point(u0, far, z0)
        faces += [(a, b, c), (a, c, d)]
    rows = np.array(faces)
    (first, _), (last, _) = levels[0], levels[-1]
    return Ground(
        points_m=rows.reshape(-1, 3),
        point_names=tuple(str(k) for k in range(rows.shape[0] * 3)),
        triangles_xy=rows[:, :, :2],
        triangles_z=rows[:, :, 2],
        outline_m=(ring(first, near, last, far),),
        break_lines=(),
        leave_one_out_m=None,
    )


def ramp_ground_from(u: float) -> Ground:
    """The ramp's own ground, surveyed from this ``u`` on."""
    return strips_of((u, ground_m(u, 0.0)), (30.0, ground_m(30.0, 0.0)), fall_v=0.012)


def of_steps(candidate: Candidate, case: CheckCase) -> tuple[Finding, ...]:
    return tuple(finding for finding in check_candidate(candidate, case) if finding.subject == "F1")


def failed_of_steps(case: CheckCase, candidate: Candidate = RAMP) -> set[str]:
    return {finding.clause for finding in of_steps(candidate, case) if finding.verdict == "fails"}
