"""Do the pieces fit together: sizes as in the catalogue, joints closed.

Clauses of our own: ``build.rectangle``, ``build.size``, ``build.joint``, ``build.heading``,
``build.even_slope``, ``build.lanes``, ``build.pad_place``, ``build.rated_load``, ``build.use``.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from optimizer.catalogue.parts import Catalogue, Landing, LandingUse, Part
from optimizer.plan import Finding
from optimizer.standards.case import CheckCase
from optimizer.standards.chain import Chain, Run
from optimizer.standards.findings import JOINT_M, judge_build, judge_deviation, judge_fact
from optimizer.standards.placed import Placed, Vector, mark


def check_chain(chain: Chain, case: CheckCase) -> Iterator[Finding]:
    """Everything about the pieces as a chain of steel."""
    for placed in all_placed(chain):
        yield judge_deviation(
            "build.rectangle",
            placed.piece.id,
            "its corners differ from a rectangle level across by",
            measure_skew(placed),
            JOINT_M,
            mark(placed),
        )
    yield from _check_sizes(chain)
    yield from _check_run_joints(chain)
    yield from _check_landing_joints(chain)
    yield from _check_half_turns(chain, case.catalogue)
    yield from _check_uses(chain)
    yield from _check_pad(chain)
    yield from _check_loads(chain, case.total_mass_kg)


def all_placed(chain: Chain) -> tuple[Placed[Part], ...]:
    """Every placed piece of the candidate, threshold plate, steps and pad included."""
    pieces: list[Placed[Part]] = [chain.threshold, *chain.walked(), *chain.steps]
    if chain.pad is not None:
        pieces.append(chain.pad)
    return tuple(pieces)


def measure_skew(placed: Placed[Part]) -> float:
    """Greatest distance (m) of a corner from the rectangle through the middles of the end edges."""
    if placed.plan_length_m <= JOINT_M:
        # A plate over no gap is a line; what matters of it is judged with the start.
        return float(placed.fall_across_m)
    half = float(np.linalg.norm((placed.corners_m[1] - placed.corners_m[0])[:2])) / 2.0
    right = np.array([placed.right[0], placed.right[1], 0.0])
    ideal = (
        placed.start_m - half * right,
        placed.start_m + half * right,
        placed.end_m + half * right,
        placed.end_m - half * right,
    )
    return float(
        max(np.linalg.norm(corner - point) for corner, point in zip(placed.corners_m, ideal, strict=True))
    )


def _check_sizes(chain: Chain) -> Iterator[Finding]:
    for section in chain.sections():
        yield _judge_size(section, "surface length", section.surface_length_m, section.part.pitch_m)
        yield _judge_size(section, "width", section.width_m, section.part.overall_width_m)
    plate = chain.plate
    laid = chain.runs[-1].sections[-1].part.overall_width_m
    yield _judge_size(plate, "surface length", plate.surface_length_m, plate.part.length_m)
    yield _judge_size(plate, "laid width", plate.width_m, laid)
    yield judge_build(
        "build.size", plate.piece.id, "stock width", plate.part.width_m, ">=", laid, "m", mark(plate)
    )
    for landing in chain.all_landings:
        yield _judge_size(landing, "length", landing.surface_length_m, landing.part.length_m)
        yield _judge_size(landing, "width", landing.width_m, landing.part.width_m)
    if chain.pad is not None:
        yield _judge_size(chain.pad, "length", chain.pad.surface_length_m, chain.pad.part.length_m)
        yield _judge_size(chain.pad, "width", chain.pad.width_m, chain.pad.part.width_m)


def _judge_size(placed: Placed[Part], what: str, measured_m: float, catalogue_m: float) -> Finding:
    return judge_deviation(
        "build.size",
        placed.piece.id,
        f"its {what} of {measured_m:.4f} m differs from the catalogue by",
        abs(measured_m - catalogue_m),
        JOINT_M,
        mark(placed),
    )


def _check_run_joints(chain: Chain) -> Iterator[Finding]:
    for run in chain.runs:
        for upper, lower in pairwise(run.pieces):
            gap = max(
                float(np.linalg.norm(lower.corners_m[0] - upper.corners_m[3])),
                float(np.linalg.norm(lower.corners_m[1] - upper.corners_m[2])),
            )
            yield judge_deviation(
                "build.joint",
                f"{upper.piece.id} - {lower.piece.id}",
                "the joint is open by",
                gap,
                JOINT_M,
                mark(lower),
            )
            yield judge_heading(lower, upper.heading)
        yield _judge_evenness(run)


def _judge_evenness(run: Run) -> Finding:
    """One constant slope per run; the plate has its own."""
    even = run.sections[0].fall_gradient
    worst = max(abs(section.fall_gradient - even) * section.plan_length_m for section in run.sections)
    what = "its sections leave one constant slope by"
    return judge_deviation("build.even_slope", run.name, what, worst, JOINT_M, mark(run.sections[0]))


def judge_heading(placed: Placed[Part], heading: Vector) -> Finding:
    """A piece points the way (2,) it must, to a joint's tolerance over its own length."""
    away = float(np.linalg.norm(placed.heading - heading)) * placed.plan_length_m
    return judge_deviation(
        "build.heading",
        placed.piece.id,
        "over its length it leaves its direction by",
        away,
        JOINT_M,
        mark(placed),
    )


def _check_landing_joints(chain: Chain) -> Iterator[Finding]:
    for landing in chain.landings:
        run = chain.arriving(landing)
        if run is not None:
            last = run.sections[-1]
            yield _judge_bearing(last, landing, last.corners_m[[3, 2]], *landing.edge("start"))
            yield judge_heading(landing, run.sections[0].heading)
    for landing in chain.all_landings:
        first = chain.leaving(landing).sections[0]
        edge = chain.exit_edge(landing)
        left, right = landing.edge(edge)
        if edge in ("right", "start"):
            # Seen along the leaving run's own heading these edges run the other way round.
            left, right = right, left
        yield _judge_bearing(first, landing, first.corners_m[[0, 1]], left, right)
        heading = {
            "end": landing.heading,
            "start": -landing.heading,
            "left": -landing.right,
            "right": landing.right,
        }[edge]
        yield judge_heading(first, heading)


def _judge_bearing(
    run_end: Placed[Part], landing: Placed[Landing], points_m: Vector, left_m: Vector, right_m: Vector
) -> Finding:
    """Both corners (2, 3) of the run's end lie on the landing's edge, at its height.

    Anywhere along it will do: a run is bolted to a channel along the edge.
    """
    way = right_m - left_m
    length = float(np.linalg.norm(way))
    worst = 0.0
    for point in points_m:
        along = float((point - left_m) @ way) / length
        beside = float(np.linalg.norm(point - left_m - along / length * way))
        worst = max(worst, beside, -along, along - length)
    return judge_deviation(
        "build.joint",
        f"{run_end.piece.id} - {landing.piece.id}",
        "the run's end leaves the landing's edge by",
        worst,
        JOINT_M,
        mark(landing),
    )


def _check_half_turns(chain: Chain, catalogue: Catalogue) -> Iterator[Finding]:
    """On a half turn the lanes sit at the two ends of the shared edge, the gap between them."""
    for landing in chain.landings:
        arriving = chain.arriving(landing)
        if landing.piece.use not in ("half_left", "half_right") or arriving is None:
            continue
        leaving = chain.leaving(landing)
        side = -1.0 if landing.piece.use == "half_left" else 1.0
        _, down = landing.axes(arriving.hinge_m)
        _, up = landing.axes(leaving.start_m)
        width = arriving.sections[-1].width_m
        apart = side * (up - down) - width
        yield judge_build(
            "build.lanes",
            landing.piece.id,
            "gap between its two lanes",
            apart,
            ">=",
            catalogue.piece_gap_m,
            "m",
            mark(landing),
        )
        outer = max(
            abs(side * down + (landing.width_m - width) / 2.0),
            abs(side * up - (landing.width_m - leaving.sections[0].width_m) / 2.0),
        )
        what = "its lanes are off the ends of the shared edge by"
        yield judge_deviation("build.lanes", landing.piece.id, what, outer, JOINT_M, mark(landing))


def _check_uses(chain: Chain) -> Iterator[Finding]:
    for landing in chain.all_landings:
        need = name_use(landing)
        fault = None if need in landing.part.uses else f'"{landing.part.id}" is not made for the use {need}'
        yield judge_fact(
            "build.use", landing.piece.id, f"its part is made for the use {need}", fault, mark(landing)
        )


def name_use(landing: Placed[Landing]) -> LandingUse:
    """The catalogue's word for what a landing is used as."""
    match landing.piece.use:
        case "door":
            return "door"
        case "left" | "right":
            return "quarter"
        case "half_left" | "half_right":
            return "half"
        case _:
            return "straight"


def _check_pad(chain: Chain) -> Iterator[Finding]:
    """The pad begins at the tip, centred on it, at its height, level."""
    pad, plate = chain.pad, chain.plate
    if pad is None:
        return
    what = "its upper edge is off the tip's middle by"
    away = float(np.linalg.norm(pad.start_m - plate.end_m))
    yield judge_deviation("build.pad_place", pad.piece.id, what, away, JOINT_M, mark(pad))
    yield judge_deviation(
        "build.pad_place", pad.piece.id, "it is off level by", abs(pad.rise_m), JOINT_M, mark(pad)
    )
    yield judge_heading(pad, plate.heading)


def _check_loads(chain: Chain, total_mass_kg: float) -> Iterator[Finding]:
    for placed in (chain.threshold, *chain.walked()):
        yield judge_build(
            "build.rated_load",
            placed.piece.id,
            "rated load",
            placed.part.rated_load_kg,
            ">=",
            total_mass_kg,
            "kg",
            mark(placed),
        )
