"""Where the rails of a candidate really are, measured from their lines.

A run's rails are panels on the left and right edges of its pieces; a landing's are panels
on its open edges, an infill beside a run and one inner loop on a half turn's shared edge.
An ``end`` part starts at a corner of the run and goes on, level and in line, beyond it.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final, Literal

import numpy as np

from optimizer.catalogue.parts import Landing, Part, RailEnd, StepFlight
from optimizer.plan import Rail
from optimizer.standards.chain import Chain, Run
from optimizer.standards.findings import PLACE_M
from optimizer.standards.placed import EdgeName, Placed, Vector
from optimizer.units import is_at_most

Side = Literal["left", "right"]
SIDES: Final[tuple[Side, Side]] = ("left", "right")
RunEnd = Literal["upper", "lower"]
RUN_ENDS: Final[tuple[RunEnd, RunEnd]] = ("upper", "lower")
#: A rail may be open over this much (m): beside a run on a longer edge, round the inside of a turn.
#: Common practice, no source.
GREATEST_OPENING_M: Final = 0.1


def measure_gap(rails: tuple[Rail, ...], placed: Placed[Part], edge: EdgeName) -> float:
    """Plan length of the edge that no panel of this piece covers (m)."""
    start, end = placed.edge(edge)
    length = float(np.hypot(*(end - start)[:2]))
    covered: list[tuple[float, float]] = []
    for rail in rails:
        if rail.kind != "panel" or rail.piece != placed.piece.id or rail.edge != edge:
            continue
        line = np.array(rail.line_m)
        if max(distance_to_edge(point, start, end) for point in line) > PLACE_M:
            continue
        reach = sorted(float((point - start)[:2] @ (end - start)[:2]) / length for point in line)
        covered.append((max(0.0, reach[0]), min(length, reach[1])))
    open_m, position = 0.0, 0.0
    for first, last in sorted(covered):
        open_m += max(0.0, first - position)
        position = max(position, last)
    return open_m + max(0.0, length - position)


def distance_to_edge(point_m: Vector, start_m: Vector, end_m: Vector) -> float:
    """Distance (m) in space of a point from the segment between two points (3,)."""
    way = end_m - start_m
    square = float(way @ way)
    share = 0.0 if square == 0.0 else min(1.0, max(0.0, float((point_m - start_m) @ way) / square))
    return float(np.linalg.norm(point_m - start_m - share * way))


def find_side_gaps(rails: tuple[Rail, ...], run: Run, side: Side) -> Iterator[tuple[str, float]]:
    """Pieces of the run whose edge on this side is not railed from end to end, and how much is open."""
    for placed in run.pieces:
        gap = measure_gap(rails, placed, side)
        if gap > PLACE_M:
            yield placed.piece.id, gap


def count_railed_sides(rails: tuple[Rail, ...], run: Run) -> int:
    """Sides of the run railed all along, the plate included."""
    return sum(1 for side in SIDES if not any(find_side_gaps(rails, run, side)))


def has_rails(rails: tuple[Rail, ...], run: Run) -> bool:
    """Does any piece of the run carry any rail part."""
    ids = {placed.piece.id for placed in run.pieces}
    return any(rail.piece in ids for rail in rails)


def measure_extension(
    rails: tuple[Rail, ...], rail_ends: tuple[RailEnd, ...], run: Run, run_end: RunEnd, side: Side
) -> float:
    """Length (m) of the level handrail extension beyond one corner of a run; 0 when there is none.

    Believed up to what both the placed line and the catalogue part give.
    """
    line = find_extension(rails, rail_ends, run, run_end, side)
    return 0.0 if line is None else float(np.hypot(*(line[1] - line[0])[:2]))


def find_extension(
    rails: tuple[Rail, ...], rail_ends: tuple[RailEnd, ...], run: Run, run_end: RunEnd, side: Side
) -> tuple[Vector, Vector] | None:
    """The longest extension at a corner: the corner and the far end (3,) as far as it is believed."""
    lengths = {part.id: part.extension_m for part in rail_ends}
    placed = run.pieces[0] if run_end == "upper" else run.pieces[-1]
    upper, lower = placed.edge(side)
    corner = upper if run_end == "upper" else lower
    away = -placed.heading if run_end == "upper" else placed.heading
    longest = 0.0
    for rail in rails:
        if rail.kind != "end" or rail.piece != placed.piece.id or rail.catalogue_id not in lengths:
            continue
        line = np.array(rail.line_m)
        for base, tip in ((line[0], line[1]), (line[1], line[0])):
            way = tip - base
            along = float(way[:2] @ away)
            aside = float(np.linalg.norm(way[:2] - along * away))
            if np.linalg.norm(base - corner) <= PLACE_M and aside <= PLACE_M and abs(way[2]) <= PLACE_M:
                longest = max(longest, min(along, lengths[rail.catalogue_id]))
    return None if longest <= 0.0 else (corner, corner + longest * np.array([*away, 0.0]))


def find_attached(chain: Chain, landing: Placed[Landing]) -> Iterator[tuple[EdgeName, Run]]:
    """Edges of a landing that carry a run, with that run (a half turn's shared edge twice)."""
    arriving = chain.arriving(landing)
    if arriving is not None:
        yield "start", arriving
    yield chain.exit_edge(landing), chain.leaving(landing)


def find_steps_on(chain: Chain, landing: Placed[Landing]) -> Iterator[tuple[EdgeName, Placed[StepFlight]]]:
    """Edges of a landing on which a flight of steps begins, with that flight."""
    edges: tuple[EdgeName, ...] = ("left", "right", "start", "end")
    for flight in chain.steps:
        for edge in edges:
            ends = landing.edge(edge)
            if all(distance_to_edge(corner, *ends) <= PLACE_M for corner in flight.corners_m[:2]):
                yield edge, flight


def expect_rail_kind(
    chain: Chain, landing: Placed[Landing], edge: EdgeName
) -> Literal["panel", "infill", "inner_loop"] | None:
    """The kind of rail that closes this edge of a railed landing; ``None`` where none belongs."""
    if landing.piece.use == "door" and edge == "start":
        return None
    runs = [run for name, run in find_attached(chain, landing) if name == edge]
    if len(runs) == 2:
        return "inner_loop"
    widths = [run.sections[0].part.overall_width_m for run in runs]
    widths += [flight.part.width_m for name, flight in find_steps_on(chain, landing) if name == edge]
    if not widths:
        return "panel"
    start, end = landing.edge(edge)
    free = float(np.hypot(*(end - start)[:2])) - sum(widths)
    return None if is_at_most(free, GREATEST_OPENING_M) else "infill"


def find_landing_gaps(chain: Chain, landing: Placed[Landing], rails: tuple[Rail, ...]) -> Iterator[str]:
    """What is missing for the landing to be railed on every open edge, in words."""
    for edge in ("left", "right", "start", "end"):
        kind = expect_rail_kind(chain, landing, edge)
        if kind is None:
            continue
        if kind == "panel":
            gap = measure_gap(rails, landing, edge)
            if gap > PLACE_M:
                yield f"its {edge} edge is open over {gap:.2f} m"
        elif not any(
            rail.kind == kind and rail.piece == landing.piece.id and rail.edge == edge for rail in rails
        ):
            yield f"its {edge} edge has no {kind.replace('_', ' ')}"
