"""Are rails where the job asks for them, complete, and on the edges they name.

Clauses of our own: ``build.rail_part``, ``build.rail_line``, ``build.rail_height``,
``build.rails``.  What a document asks of handrails and guards is judged in ``rail_clauses``.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np

from optimizer.catalogue.parts import (
    Catalogue,
    Landing,
    Part,
    RailEnd,
    RailPanel,
    RailPost,
    Section,
    StepFlight,
    TransitionPlate,
)
from optimizer.plan import Candidate, Finding, Rail
from optimizer.standards.case import CheckCase
from optimizer.standards.chain import Chain, Run
from optimizer.standards.findings import PLACE_M, judge_deviation, judge_fact, locate
from optimizer.standards.ground_measure import Facets
from optimizer.standards.inner_rails import find_inner_landing, measure_inner_opening
from optimizer.standards.measure_rails import (
    GREATEST_OPENING_M,
    RUN_ENDS,
    SIDES,
    expect_rail_kind,
    find_attached,
    find_landing_gaps,
    find_side_gaps,
    find_steps_on,
    has_rails,
    measure_extension,
)
from optimizer.standards.placed import Placed, Vector, mark
from optimizer.units import is_at_most

#: Ground this near (36 in) decides how high an edge lies (DEVELOPERS.md, 'Rails').
NEAR_M: Final = 0.9144


def check_rails(candidate: Candidate, chain: Chain, case: CheckCase, facets: Facets) -> Iterator[Finding]:
    """Each rail part where it is, then each run and landing for what it lacks."""
    placed = {piece.piece.id: piece for piece in (*chain.walked(), *chain.steps)}
    for rail in candidate.rails:
        piece = placed.get(rail.piece)
        if piece is None:
            fault = f'it names the piece "{rail.piece}", which is not walked on'
            yield judge_fact("build.rail_part", rail.id, "", fault, rail.line_m[0])
        else:
            yield from _check_rail(rail, piece, chain, case.catalogue)
    for run in chain.runs:
        yield _judge_run(run, chain, candidate.rails, case, facets)
    for landing in chain.all_landings:
        yield _judge_landing(landing, chain, candidate.rails, case, facets)


def _check_rail(rail: Rail, placed: Placed[Part], chain: Chain, catalogue: Catalogue) -> Iterator[Finding]:
    where = rail.line_m[0]
    parts = {part.id: part for part in catalogue.parts()}
    part = parts.get(rail.catalogue_id)
    fault = _find_part_fault(rail, part, placed)
    yield judge_fact("build.rail_part", rail.id, "its part belongs on this edge", fault, where)
    line = np.array(rail.line_m)
    away = _measure_line(rail, part, placed, line, chain)
    yield judge_deviation("build.rail_line", rail.id, "its line is off its edge by", away, PLACE_M, where)
    height = _expect_height(part, placed, parts)
    away = abs(rail.height_m - height)
    yield judge_deviation("build.rail_height", rail.id, "its height differs by", away, PLACE_M, where)


def _find_part_fault(rail: Rail, part: Part | None, placed: Placed[Part]) -> str | None:
    classes = {"post": RailPost, "end": RailEnd}
    wanted = classes.get(rail.kind, RailPanel)
    if not isinstance(part, wanted):
        return f'"{rail.catalogue_id}" is no rail part of the kind {rail.kind}'
    if isinstance(part, RailPanel):
        asked = _expect_panel(rail, placed.part)
        if rail.catalogue_id != asked:
            return f'the {rail.edge} edge of {rail.piece} takes "{asked}", not "{rail.catalogue_id}"'
    elif isinstance(placed.part, Landing):
        return f"a {rail.kind} belongs to a run, not to a landing"
    elif isinstance(placed.part, StepFlight):
        return f"a {rail.kind} belongs to a run, not to steps"
    return None


def _expect_panel(rail: Rail, part: Part) -> str | None:
    """The panel that the named piece takes on the named edge, for this kind of rail."""
    if isinstance(part, (Section, TransitionPlate, StepFlight)):
        return part.rail_panel if rail.kind == "panel" and rail.edge in SIDES else None
    if not isinstance(part, Landing):
        return None
    if rail.kind == "infill":
        return part.rail_infill
    if rail.kind == "inner_loop":
        return part.rail_inner_loop
    return part.rail_length_edge if rail.edge in SIDES else part.rail_width_edge


def _measure_line(rail: Rail, part: Part | None, placed: Placed[Part], line: Vector, chain: Chain) -> float:
    """How far (m) the rail's line is from one it may take on its edge."""
    start, end = placed.edge(rail.edge)
    if rail.kind == "post":
        return min(_distance(line, (corner, corner)) for corner in (start, end))
    if rail.kind == "end":
        return min(_distance(line, pair) for pair in _list_extensions(part, placed, start, end))
    nodes = [start, end]
    if rail.kind != "panel" and isinstance(placed.part, Landing):
        for landing in chain.all_landings:
            if landing.piece.id == placed.piece.id:
                nodes += _list_run_corners(chain, landing, rail)
    return min(
        _distance(line, (first, second))
        for first in nodes
        for second in nodes
        if np.linalg.norm(first - second) > PLACE_M
    )


def _distance(line: Vector, pair: tuple[Vector, Vector]) -> float:
    """Greatest distance of a line's ends from a pair of points, whichever way round fits."""
    forth = max(np.linalg.norm(line[0] - pair[0]), np.linalg.norm(line[1] - pair[1]))
    back = max(np.linalg.norm(line[0] - pair[1]), np.linalg.norm(line[1] - pair[0]))
    return float(min(forth, back))


def _list_extensions(
    part: Part | None, placed: Placed[Part], start: Vector, end: Vector
) -> Iterator[tuple[Vector, Vector]]:
    """Level lines that go on beyond the piece, up the way and down it, from the edge's corners."""
    length = part.extension_m if isinstance(part, RailEnd) else 0.0
    heading = np.array([*placed.heading, 0.0])
    for corner in (start, end):
        upper = any(np.array_equal(corner, placed.corners_m[index]) for index in (0, 1))
        yield corner, corner + (-length if upper else length) * heading


def _list_run_corners(chain: Chain, landing: Placed[Landing], rail: Rail) -> list[Vector]:
    """Corners of the runs on the rail's edge of a landing."""
    corners: list[Vector] = []
    arriving = chain.arriving(landing)
    for edge, run in find_attached(chain, landing):
        if edge == rail.edge:
            piece, numbers = (run.sections[-1], (3, 2)) if run is arriving else (run.sections[0], (0, 1))
            corners += [piece.corners_m[number] for number in numbers]
    for edge, flight in find_steps_on(chain, landing):
        if edge == rail.edge:
            corners += [flight.corners_m[0], flight.corners_m[1]]
    return corners


def _expect_height(part: Part | None, placed: Placed[Part], parts: dict[str, Part]) -> float:
    """The panel's own height; posts and ends are as high as the panels of their piece."""
    if isinstance(part, RailPanel):
        return part.height_m
    if isinstance(placed.part, (Section, TransitionPlate)):
        panel = parts.get(placed.part.rail_panel)
        if isinstance(panel, RailPanel):
            return panel.height_m
    return float("nan")


def _judge_run(run: Run, chain: Chain, rails: tuple[Rail, ...], case: CheckCase, facets: Facets) -> Finding:
    lowest = facets.lowest_in(run.rectangle(NEAR_M))
    drop = float(run.start_m[2]) - lowest
    asked = not is_at_most(drop, case.guard_above_m)
    says = f"its upper end lies {drop:.3f} m above the lowest ground near it; its rails are complete"
    if not asked and not has_rails(rails, run):
        says = f"its upper end lies {drop:.3f} m above the lowest ground near it; the job asks for no rails"
        return judge_fact("build.rails", run.name, says, None, locate(run.start_m))
    fault = "; ".join(_find_run_faults(run, chain, rails, case.catalogue)) or None
    return judge_fact("build.rails", run.name, says, fault, locate(run.start_m))


def _find_run_faults(run: Run, chain: Chain, rails: tuple[Rail, ...], catalogue: Catalogue) -> Iterator[str]:
    """What is missing from, or too many for, a complete set of rails on a run."""
    ids = {placed.piece.id for placed in run.pieces}
    own = [rail for rail in rails if rail.piece in ids]
    for side in SIDES:
        for name, gap in find_side_gaps(rails, run, side):
            yield f"the {side} of {name} is open over {gap:.2f} m"
    panels = 2 * len(run.pieces)
    found = sum(1 for rail in own if rail.kind == "panel")
    if found != panels:
        yield f"it has {found} panels, {panels} asked"
    corners = [run.sections[0].corners_m[0], run.sections[0].corners_m[1]]
    for section in run.sections:
        corners += [section.corners_m[3], section.corners_m[2]]
    posts = [np.array(rail.line_m[0]) for rail in own if rail.kind == "post"]
    bare = sum(1 for corner in corners if not any(np.linalg.norm(post - corner) <= PLACE_M for post in posts))
    if bare or len(posts) != len(corners):
        yield f"it has {len(posts)} posts, {len(corners)} asked, {bare} places bare"
    ends = 0
    for run_end in RUN_ENDS:
        for side in SIDES:
            if find_inner_landing(chain, run, run_end, side) is not None:
                continue
            ends += 1
            if measure_extension(rails, catalogue.rail_ends, run, run_end, side) <= 0.0:
                yield f"no rail end at its {run_end} {side} corner"
    found = sum(1 for rail in own if rail.kind == "end")
    if found != ends:
        yield f"it has {found} rail ends, {ends} asked"


def _judge_landing(
    landing: Placed[Landing], chain: Chain, rails: tuple[Rail, ...], case: CheckCase, facets: Facets
) -> Finding:
    name = landing.piece.id
    drop = float(landing.start_m[2]) - facets.lowest_in(landing.rectangle(NEAR_M))
    own = [rail for rail in rails if rail.piece == name]
    if is_at_most(drop, case.rail_landings_above_m) and not own:
        says = f"it lies {drop:.3f} m above the lowest ground near it; the job asks for no rails"
        return judge_fact("build.rails", name, says, None, mark(landing))
    faults = list(find_landing_gaps(chain, landing, rails))
    opening = measure_inner_opening(chain, rails, landing)
    if not is_at_most(opening, GREATEST_OPENING_M):
        faults.append(f"the rail round the inside of its turn is open over {opening:.4f} m")
    for edge in ("left", "right", "start", "end"):
        kind = expect_rail_kind(chain, landing, edge)
        kinds = [rail.kind for rail in own if rail.edge == edge]
        if kind is None and kinds:
            faults.append(f"its {edge} edge is closed by a {kinds[0]}")
        elif kind is not None and kinds != [kind] and kind in kinds:
            faults.append(f"its {edge} edge carries {len(kinds)} rails, 1 asked")
    says = f"it lies {drop:.3f} m above the lowest ground near it; its rails are complete"
    return judge_fact("build.rails", name, says, "; ".join(faults) or None, mark(landing))
