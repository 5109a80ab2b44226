"""Does the ramp begin where its start says: at the door, at its height, over its gap.

Clauses of our own: ``build.start``, ``build.threshold``.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from optimizer.plan import Finding
from optimizer.standards.chain import Chain
from optimizer.standards.check_chain import judge_heading
from optimizer.standards.findings import JOINT_M, judge_build, judge_deviation, judge_fact
from optimizer.standards.placed import Vector, mark
from optimizer.terrain.yard import Start


def check_start(chain: Chain, start: Start | None) -> Iterator[Finding]:
    """First piece and threshold plate against the start; no such start is a finding too."""
    first = chain.walked()[0]
    if start is None:
        yield judge_fact(
            "build.start", first.piece.id, "", "the yard has no start of the asked name", mark(first)
        )
        return
    wants_landing = start.kind != "edge"
    fault = None
    if wants_landing != (chain.door is not None):
        fault = "it must begin with a landing" if wants_landing else "it must begin with a run"
    elif chain.door is None and chain.exit != "front":
        fault = "a run hung on an edge leaves it to the front"
    yield judge_fact("build.start", first.piece.id, "it begins as its start asks", fault, mark(first))
    outward = start.outward / np.hypot(*start.outward)
    right = np.array([outward[1], -outward[0]])
    offset = first.start_m[:2] - start.midpoint_m[:2]
    surface = start.threshold_m - start.drop_m
    yield judge_deviation(
        "build.start",
        first.piece.id,
        "its upper edge is off its distance from the wall by",
        abs(float(offset @ outward) - start.gap_m),
        JOINT_M,
        mark(first),
    )
    yield judge_deviation(
        "build.start",
        first.piece.id,
        "its surface is off its drop below the threshold by",
        abs(float(first.start_m[2]) - surface),
        JOINT_M,
        mark(first),
    )
    yield judge_heading(first, outward)
    sideways = abs(float(offset @ right))
    spare = first.width_m - start.clear_width_m
    room = spare / 2.0 if wants_landing else -spare / 2.0
    what = "its middle is off the door's by" if wants_landing else "its middle is off the edge's by"
    yield judge_build("build.start", first.piece.id, what, sideways, "<=", room, "m", mark(first))
    # At a door the plate lies before the sill; at an edge it lies where the run hangs.
    middle = 0.0 if wants_landing else float(offset @ right)
    yield from _check_threshold(chain, start, outward, right, middle)


def _check_threshold(
    chain: Chain, start: Start, outward: Vector, right: Vector, middle_m: float
) -> Iterator[Finding]:
    """The threshold plate spans the gap down to the first surface, its middle at ``middle_m`` along the wall.

    Its upper edge may rest at the threshold or, before a flush sill, at the first surface.
    """
    plate = chain.threshold
    half = plate.part.width_m / 2.0
    surface = start.threshold_m - start.drop_m
    worst = np.inf
    for upper in (start.threshold_m, surface):
        corners = [
            np.array([*(start.midpoint_m[:2] + along * outward + lateral * right), z])
            for along, lateral, z in (
                (0.0, middle_m - half, upper),
                (0.0, middle_m + half, upper),
                (start.gap_m, middle_m + half, surface),
                (start.gap_m, middle_m - half, surface),
            )
        ]
        away = max(np.linalg.norm(a - b) for a, b in zip(plate.corners_m, corners, strict=True))
        worst = min(worst, float(away))
    what = "its corners are off the gap it bridges by"
    yield judge_deviation("build.threshold", plate.piece.id, what, worst, JOINT_M, mark(plate))
    what = "reach"
    yield judge_build(
        "build.threshold", plate.piece.id, what, plate.part.reach_m, ">=", start.gap_m, "m", mark(plate)
    )
