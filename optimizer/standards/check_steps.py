"""Steps beside the ramp for people who walk: do they fit, and what published limits say of them.

Clauses of our own: ``build.steps_wanted``, ``build.steps_edge``, ``build.steps_rise``,
``build.steps_riser``, ``build.steps_space``, ``build.steps_top``, ``build.steps_foot`` and those of
the other pieces.  The clauses of the International Residential Code (IRC R311.7.5.1, R311.7.5.2,
R311.7.8) are restated from memory, so they pass nothing: their verdict is 'cannot tell'.
Not checked: level extensions of the handrails, the doors that open over a flight's top.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np

from optimizer.catalogue.parts import Landing, StepFlight
from optimizer.plan import Candidate, Finding, Piece, Rail
from optimizer.standards.case import CheckCase
from optimizer.standards.chain import Chain
from optimizer.standards.findings import (
    BUILD,
    JOINT_M,
    PLACE_M,
    judge_build,
    judge_deviation,
    judge_fact,
    locate,
    tell_undecided,
)
from optimizer.standards.ground_measure import Facets, Vector
from optimizer.standards.measure_rails import SIDES, distance_to_edge, measure_gap
from optimizer.standards.measure_steps import list_looks, measure_across, measure_lowest_riser, measure_riser
from optimizer.standards.placed import EdgeName, Placed, mark, measure_piece

#: IRC R311.7.5.1: a riser is at most 7 3/4 in, and those of one flight differ by at most 3/8 in.
IRC_RISER_M: Final = 0.19685
IRC_UNEVEN_M: Final = 0.009525
#: IRC R311.7.5.2: a tread is at least 10 in deep.
IRC_TREAD_M: Final = 0.254
#: IRC R311.7.8: a handrail on at least one side of a flight of so many risers.
IRC_RAIL_FROM: Final = 4
#: Corners of a landing's edges, the left one first as seen by somebody leaving over it.
_LEAVING: Final[tuple[tuple[EdgeName, int, int], ...]] = (
    ("left", 0, 3),
    ("right", 2, 1),
    ("end", 3, 2),
    ("start", 1, 0),
)


def check_steps(candidate: Candidate, chain: Chain, case: CheckCase, facets: Facets) -> Iterator[Finding]:
    """Every flight there is; or why there is none although steps are wanted."""
    if case.steps == "wanted" and not chain.steps:
        yield _tell_missing(candidate, chain, case, facets)
    if len(chain.steps) > 1:
        fault = f"it has {len(chain.steps)} flights of steps, 1 at most"
        yield judge_fact("build.steps_wanted", candidate.name, "", fault, None)
    for flight in chain.steps:
        yield from _check_flight(flight, candidate, chain, case, facets)


def _check_flight(
    flight: Placed[StepFlight], candidate: Candidate, chain: Chain, case: CheckCase, facets: Facets
) -> Iterator[Finding]:
    name, part, where = flight.piece.id, flight.part, mark(flight)
    for what, measured, asked in (
        ("plan length", flight.plan_length_m, part.plan_length_m),
        ("width", flight.width_m, part.width_m),
    ):
        says = f"its {what} of {measured:.4f} m differs from the catalogue by"
        yield judge_deviation("build.size", name, says, abs(measured - asked), JOINT_M, where)
    landing, edge = _find_edge(flight, chain)
    fault = "it hangs on no free edge of a landing" if edge is None else None
    says = "" if landing is None else f"it hangs on the {edge} edge of {landing.piece.id}, which is free"
    yield judge_fact("build.steps_edge", name, says, fault, where)
    if landing is not None and edge is not None:
        out = _leaving_corners(landing, edge)[2]
        away = float(np.linalg.norm(flight.heading - out)) * flight.plan_length_m
        what = "over its length it leaves its direction by"
        yield judge_deviation("build.heading", name, what, away, JOINT_M, where)
    what = "its lowest riser differs from the others by"
    uneven = abs(measure_lowest_riser(flight, facets) - measure_riser(flight))
    yield judge_deviation("build.steps_riser", name, what, uneven, PLACE_M, where)
    for look in list_looks(flight, landing, chain, candidate.rails, case, facets):
        yield judge_fact(look.clause, name, look.says, look.fault, where)
    mass = case.total_mass_kg
    yield judge_build("build.rated_load", name, "rated load", part.rated_load_kg, ">=", mass, "kg", where)
    yield _judge_rails(flight, candidate.rails)
    yield from _tell_irc(flight, candidate.rails, facets)


def _judge_rails(flight: Placed[StepFlight], rails: tuple[Rail, ...]) -> Finding:
    """Each side has one panel from end to end."""
    own = [rail for rail in rails if rail.piece == flight.piece.id]
    bare = [side for side in SIDES if measure_gap(rails, flight, side) > PLACE_M]
    fault = f"its {' and '.join(bare)} side is open" if bare else None
    if fault is None and len(own) != len(SIDES):
        fault = f"it carries {len(own)} rails, {len(SIDES)} asked"
    return judge_fact("build.rails", flight.piece.id, "it has a rail on either side", fault, mark(flight))


def _tell_irc(flight: Placed[StepFlight], rails: tuple[Rail, ...], facets: Facets) -> Iterator[Finding]:
    """What the IRC says of risers, treads and handrails, from memory: measured, and never passed."""
    risers = (measure_riser(flight), measure_lowest_riser(flight, facets))
    across = measure_across(flight, facets)
    uneven = max(risers) - min(risers) + across
    tread = flight.plan_length_m / (flight.part.risers - 1)
    sides = float(sum(1 for side in SIDES if measure_gap(rails, flight, side) <= PLACE_M))
    asked = 1.0 if flight.part.risers >= IRC_RAIL_FROM else 0.0
    bed = f" (with the {across:.4f} m across its foot, which its bed evens out)"
    yield _recall("R311.7.5.1", flight, "its greatest riser", max(risers), "<=", IRC_RISER_M, "m")
    yield _recall("R311.7.5.1", flight, f"its risers differ{bed} by", uneven, "<=", IRC_UNEVEN_M, "m")
    yield _recall("R311.7.5.2", flight, "its treads", tread, ">=", IRC_TREAD_M, "m")
    yield _recall("R311.7.8", flight, "sides with a handrail,", sides, ">=", asked, "")


def _recall(
    clause: str,
    flight: Placed[StepFlight],
    what: str,
    measured: float,
    operator: str,
    limit: float,
    unit: str,
) -> Finding:
    word = {"<=": "at most", ">=": "at least"}[operator]
    word_unit = f" {unit}" if unit else ""
    known = float(measured) if np.isfinite(measured) else None
    shown = "not known" if known is None else f"{known:.4g}{word_unit}"
    return Finding(
        rules=BUILD,
        clause=f"IRC {clause}",
        measured=known,
        operator=operator,
        limit=limit,
        unit=unit,
        where_m=mark(flight),
        subject=flight.piece.id,
        verdict="cannot tell",
        text=(
            f"{flight.piece.id}: {what} {shown}, {word} {limit:.4g}{word_unit} asked. "
            "The limit is restated from memory, and the code in force may be another."
        ),
        how_known="memory",
    )


def _find_edge(flight: Placed[StepFlight], chain: Chain) -> tuple[Placed[Landing] | None, EdgeName | None]:
    """The landing and free edge that both upper corners lie on, at its height."""
    for landing in chain.all_landings:
        for edge in _list_free_edges(landing, chain):
            ends = landing.edge(edge)
            if all(distance_to_edge(corner, *ends) <= JOINT_M for corner in flight.corners_m[:2]):
                return landing, edge
    return None, None


def _list_free_edges(landing: Placed[Landing], chain: Chain) -> Iterator[EdgeName]:
    """Edges that no run uses; the wall edge of the landing at the door is none."""
    ends = [point for run in chain.runs for point in (run.start_m, run.hinge_m)]
    for edge, _, _ in _LEAVING:
        if landing.piece.use == "door" and edge == "start":
            continue
        if all(distance_to_edge(point, *landing.edge(edge)) > PLACE_M for point in ends):
            yield edge


def _leaving_corners(landing: Placed[Landing], edge: EdgeName) -> tuple[Vector, Vector, Vector]:
    """Left and right end (3,) of an edge as seen by somebody leaving over it, and the way out (2,)."""
    for name, first, second in _LEAVING:
        if name == edge:
            left, right = landing.corners_m[first], landing.corners_m[second]
            way = (right - left)[:2] / np.hypot(*(right - left)[:2])
            return left, right, np.array([-way[1], way[0]])
    raise KeyError(edge)


def _tell_missing(candidate: Candidate, chain: Chain, case: CheckCase, facets: Facets) -> Finding:
    """Steps are wanted and there are none: every free edge tried, with what stood in the way."""
    reasons: list[str] = []
    clause, where = "build.steps_wanted", locate(chain.walked()[0].start_m)
    for landing in chain.all_landings:
        for edge in _list_free_edges(landing, chain):
            flight, reason = _try_edge(landing, edge, candidate.rails, chain, case, facets)
            if flight is not None:
                fault = f"steps are wanted and none are there, though {flight} fits {_name(landing, edge)}"
                return judge_fact(clause, candidate.name, "", fault, where)
            reasons.append(f"{_name(landing, edge)}: {reason}")
    told = "; ".join(reasons) if reasons else "every edge is a wall or carries a run"
    return tell_undecided(
        clause, candidate.name, f"steps wanted, no free landing edge takes them: {told}", where
    )


def _name(landing: Placed[Landing], edge: EdgeName) -> str:
    return f"the {edge} edge of {landing.piece.id}"


def _try_edge(
    landing: Placed[Landing],
    edge: EdgeName,
    rails: tuple[Rail, ...],
    chain: Chain,
    case: CheckCase,
    facets: Facets,
) -> tuple[str | None, str]:
    """The first flight that fits flush with an end of the edge, or what the best one met."""
    left, right, out = _leaving_corners(landing, edge)
    length = float(np.hypot(*(right - left)[:2]))
    best, reason = -1, "the catalogue has no flight of steps for this load"
    for part in case.catalogue.in_stock().step_flights:
        if part.rated_load_kg < case.total_mass_kg:
            continue
        spare = length - part.width_m
        for shift in (0.0, max(spare, 0.0)):
            flight = _lay(part, left + shift * (right - left) / length, out, facets)
            met, fault = 0, f"it is {length:.3f} m long, {part.id} is {part.width_m:.3f} m wide"
            if spare >= -JOINT_M:
                met, fault = 1, "the ground at the foot is not surveyed"
            if spare >= -JOINT_M and flight is not None:
                faults = [look.fault for look in list_looks(flight, landing, chain, rails, case, facets)]
                wrong = [(number, found) for number, found in enumerate(faults, start=2) if found]
                if not wrong:
                    return part.id, ""
                met, fault = wrong[0]
            if met > best:
                best, reason = met, fault
    return None, reason


def _lay(part: StepFlight, corner_m: Vector, out: Vector, facets: Facets) -> Placed[StepFlight] | None:
    """A flight from its upper left corner (3,) along ``out`` (2,); nothing where its foot is unknown."""
    side = np.array([out[1], -out[0]]) * part.width_m
    foot = corner_m[:2] + side / 2.0 + part.plan_length_m * out
    ground = facets.elevation_at(foot)
    if not np.isfinite(ground):
        return None
    deck = float(corner_m[2])
    low = ground + (deck - ground) / part.risers
    on = part.plan_length_m * out
    plan = (corner_m[:2], corner_m[:2] + side, corner_m[:2] + side + on, corner_m[:2] + on)
    first, second, third, fourth = (
        (float(x), float(y), z) for (x, y), z in zip(plan, (deck, deck, low, low), strict=True)
    )
    piece = Piece(
        id="steps",
        catalogue_id=part.id,
        kind="steps",
        use=None,
        run=None,
        corners_m=(first, second, third, fourth),
        slope=(deck - low) / part.plan_length_m,
    )
    return measure_piece(piece, part)
