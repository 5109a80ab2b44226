"""A door landing of any clear size laid before a door by hand, the way leaving it by any side."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

import numpy as np

from optimizer.plan import Candidate, Finding
from optimizer.rulebook.door_clearance import Approach, DoorClearance, DoorSide
from optimizer.rulebook.facts import JobFacts, YesNo
from optimizer.rulebook.rules import HowKnown, Limit
from optimizer.standards.check_candidate import CheckCase, check_candidate
from tests.standards.damage import change_piece, change_yard
from tests.standards.ramp_on_a_plane import build_ramp
from tests.standards.rulings_by_hand import make_rules, with_rules

INCH_M = 0.0254
#: What rails take of the landing's sizes.
RAILS_M = 0.1
Hinge = Literal["left", "right"]


def make_door_limit(
    approach: Approach,
    side: DoorSide,
    depth_in: float,
    latch_in: float,
    hinge_in: float = 0.0,
    *,
    closer_in: float = 0.0,
    both_depth_in: float = 0.0,
    both_latch_in: float = 0.0,
    name: str = "row",
    known: HowKnown = "text",
) -> Limit:
    """One row in inches, with what a closer, and a closer and a latch together, add."""
    sizes = (depth_in, latch_in, hinge_in, closer_in, both_depth_in, both_latch_in)
    row = DoorClearance(approach, side, *(size * INCH_M for size in sizes))
    return Limit(
        name, "9.9", "door_clearance", ">=", depth_in, "in", depth_in * INCH_M, "a test", known, "",
        place="top", door=row,
    )  # fmt: skip


def lay_door(
    depth_in: float,
    width_in: float,
    beyond_hinge_in: float = 0.0,
    *,
    approach: Approach = "front",
    side: DoorSide = "pull",
    hinge: Hinge = "left",
    door_in: float = 36.0,
) -> tuple[Candidate, CheckCase]:
    """A landing so deep from the wall and so wide inside its rails, ``beyond_hinge_in`` of it past the hinge.

    Pulled doors swing out over the landing, pushed ones in; people arrive by ``approach``.
    """
    away: Hinge = "right" if hinge == "left" else "left"
    leave = {"front": "front", "hinge": hinge, "latch": away}[approach]
    candidate, case = build_ramp(leave=leave)
    start = case.yard.starts[0]
    half, width, beyond = (inches * INCH_M for inches in (door_in / 2.0, width_in, beyond_hinge_in))
    length = depth_in * INCH_M - start.gap_m
    middle = width / 2.0 - half - beyond
    middle = middle if hinge == "left" else -middle
    right = np.array([start.outward[1], -start.outward[0]])
    level = candidate.pieces[1].corners_m[0][2]

    def place(lateral_m: float, out_m: float) -> tuple[float, float, float]:
        x, y = start.midpoint_m + (middle + lateral_m) * right + (start.gap_m + out_m) * start.outward
        return float(x), float(y), level

    side_m, end_m = (width + RAILS_M) / 2.0, length + RAILS_M
    corners = tuple(place(*at) for at in ((-side_m, 0.0), (side_m, 0.0), (side_m, end_m), (-side_m, end_m)))
    candidate = change_piece(
        candidate, "L0", lambda piece: piece.model_copy(update={"corners_m": corners, "catalogue_id": "wide"})
    )
    part = next(part for part in case.catalogue.landings if part.id == "landing")
    part = replace(
        part, id="wide", length_m=length + RAILS_M, width_m=width + RAILS_M,
        clear_length_m=length, clear_width_m=width,
    )  # fmt: skip
    catalogue = replace(case.catalogue, landings=(*case.catalogue.landings, part))
    swing: Literal["in", "out"] = "out" if side == "pull" else "in"
    door = replace(start, clear_width_m=door_in * INCH_M, swing=swing, hinge_side=hinge)
    return candidate, replace(change_yard(case, starts=(door,)), catalogue=catalogue)


def judge_door(
    laid: tuple[Candidate, CheckCase],
    *limits: Limit,
    closer: YesNo | None = "no",
    latch: YesNo | None = "no",
) -> list[Finding]:
    """What the checker finds of these limits at the door, in their order."""
    candidate, case = laid
    bound = with_rules(case, make_rules(*limits), facts=JobFacts(closer=closer, latch=latch))
    return [finding for finding in check_candidate(candidate, bound) if finding.rules == "test"]
