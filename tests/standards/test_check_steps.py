"""Legal steps beside a legal ramp, then damaged: exactly the clauses that speak of it fail."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from optimizer.catalogue.parts import StockLevel
from optimizer.plan import Candidate, Finding, Piece
from optimizer.standards.check_candidate import CheckCase, check_candidate
from tests.standards.damage import (
    change_piece,
    change_yard,
    drop_rails,
    failed_clauses,
    find_failed,
    with_zone,
)
from tests.standards.flight_on_a_ramp import (
    BARE,
    CASE,
    DECK_M,
    EDGE_U,
    FLIGHT,
    FRAME,
    GOING_M,
    NEAR_V,
    RAMP,
    RISE_M,
    WIDTH_M,
    build_steps,
    failed_of_steps,
    of_steps,
    ring,
    with_flights,
)
from tests.standards.ramp_on_a_plane import build_ramp


def moved(piece: Piece, u_m: float, v_m: float, z_m: float) -> Piece:
    """The piece moved in the door frame."""
    zero, to = FRAME.site(0.0, 0.0), FRAME.site(u_m, v_m)
    x, y = to[0] - zero[0], to[1] - zero[1]
    return piece.model_copy(
        update={"corners_m": tuple((a + x, b + y, c + z_m) for a, b, c in piece.corners_m)}
    )


def with_steps(change: Callable[[Piece], Piece]) -> Candidate:
    return change_piece(RAMP, "F1", change)


def with_foot(lift_m: float) -> Candidate:
    """The lowest nosing lifted."""

    def lift(piece: Piece) -> Piece:
        first, second, (a, b, c), (d, e, f) = piece.corners_m
        return piece.model_copy(update={"corners_m": (first, second, (a, b, c + lift_m), (d, e, f + lift_m))})

    return with_steps(lift)


# ---- what is right


def test_legal_steps_break_nothing_and_are_measured() -> None:
    assert find_failed(RAMP, CASE) == ()
    clauses = {finding.clause for finding in of_steps(RAMP, CASE)}
    assert clauses >= {
        "build.steps_edge",
        "build.steps_rise",
        "build.steps_riser",
        "build.steps_space",
        "build.steps_top",
        "build.steps_foot",
        "build.clear_of",
        "build.inside_lot",
        "build.surveyed",
        "build.apart",
        "build.clearance",
        "build.rails",
        "build.rated_load",
        "build.size",
    }


def test_limits_known_from_memory_pass_nothing() -> None:
    found = [finding for finding in of_steps(RAMP, CASE) if finding.clause.startswith("IRC")]
    assert [finding.clause for finding in found] == [
        "IRC R311.7.5.1",
        "IRC R311.7.5.1",
        "IRC R311.7.5.2",
        "IRC R311.7.8",
    ]
    assert {finding.verdict for finding in found} == {"cannot tell"}
    assert all("from memory" in finding.text for finding in found)
    riser, uneven, tread, sides = (finding.measured for finding in found)
    assert riser == pytest.approx(RISE_M / 4)
    assert uneven == pytest.approx(0.012 * WIDTH_M / 2, abs=1e-9)
    assert (tread, sides) == (pytest.approx(GOING_M), 2.0)
    assert [finding.limit for finding in found] == pytest.approx([7.75 * 0.0254, 0.375 * 0.0254, 0.254, 1.0])


def test_three_risers_ask_for_no_handrail() -> None:
    part = replace(FLIGHT, risers=3)
    steps = build_steps(DECK_M, part)
    candidate = RAMP.model_copy(update={"pieces": (*BARE.pieces, steps)})
    found = [one for one in of_steps(candidate, with_flights(CASE, part)) if one.clause == "IRC R311.7.8"]
    assert [one.limit for one in found] == [0.0]


def test_a_ramp_alone_has_no_findings_about_steps() -> None:
    _, case = build_ramp()
    assert not [one for one in check_candidate(BARE, case) if "steps" in one.clause or "IRC" in one.clause]


# ---- steps damaged


@pytest.mark.parametrize(
    ("lift_m", "clauses"),
    [(0.0007, set()), (0.0008, {"build.steps_riser"}), (-0.0008, {"build.steps_riser"})],
)
def test_the_lowest_riser_is_like_the_others(lift_m: float, clauses: set[str]) -> None:
    """Lifting the lowest nosing by x makes its riser higher by x and the three others lower by x / 3."""
    assert failed_of_steps(CASE, with_foot(lift_m)) - {"build.stated"} == clauses


def test_steps_off_their_edge_are_found() -> None:
    for u, v, z in ((-0.01, 0.0, 0.0), (0.0, -0.3, 0.0), (0.0, 0.9, 0.0), (0.0, 0.0, 0.01)):
        found = failed_of_steps(CASE, with_steps(lambda piece, by=(u, v, z): moved(piece, *by)))
        assert "build.steps_edge" in found, (u, v, z)


def test_steps_on_the_edge_that_the_run_leaves_are_found() -> None:
    """The flight turned to the front edge, in the way of the run."""

    def turn(piece: Piece) -> Piece:
        far = 1.64
        low = piece.corners_m[2][2]
        corners = (
            (*FRAME.site(-0.5, far), DECK_M),
            (*FRAME.site(0.5, far), DECK_M),
            (*FRAME.site(0.5, far + 3 * GOING_M), low),
            (*FRAME.site(-0.5, far + 3 * GOING_M), low),
        )
        return piece.model_copy(update={"corners_m": corners})

    found = failed_of_steps(CASE, with_steps(turn))
    assert {"build.steps_edge", "build.apart"} <= found


def reshaped(*corners: tuple[float, float]) -> Candidate:
    """The flight with other corners in plan (door frame), its levels kept."""

    def reshape(piece: Piece) -> Piece:
        levels = (corner[2] for corner in piece.corners_m)
        placed = tuple((*FRAME.site(u, v), z) for (u, v), z in zip(corners, levels, strict=True))
        return piece.model_copy(update={"corners_m": placed})

    return with_steps(reshape)


def test_steps_on_the_wall_edge_of_the_landing_are_found() -> None:
    low = NEAR_V - 3 * GOING_M
    assert "build.steps_edge" in failed_of_steps(
        CASE, reshaped((0.5, NEAR_V), (-0.5, NEAR_V), (-0.5, low), (0.5, low))
    )


def test_steps_that_lead_on_to_the_landing_instead_of_off_it_are_found() -> None:
    inner, far_v = EDGE_U + 3 * GOING_M, NEAR_V + WIDTH_M
    found = failed_of_steps(
        CASE, reshaped((EDGE_U, far_v), (EDGE_U, NEAR_V), (inner, NEAR_V), (inner, far_v))
    )
    assert {"build.heading", "build.apart"} <= found


def test_steps_of_another_size_than_the_catalogue_are_found() -> None:
    assert "build.size" in failed_of_steps(with_flights(CASE, replace(FLIGHT, going_m=GOING_M + 0.001)))
    assert "build.size" in failed_of_steps(with_flights(CASE, replace(FLIGHT, width_m=WIDTH_M + 0.001)))


def test_a_second_flight_is_one_too_many() -> None:
    steps = next(piece for piece in RAMP.pieces if piece.id == "F1")
    two = RAMP.model_copy(update={"pieces": (*RAMP.pieces, steps.model_copy(update={"id": "F2"}))})
    assert "build.steps_wanted" in failed_clauses(two, CASE)


def test_a_flight_of_another_part_makes_no_chain() -> None:
    other = with_steps(lambda piece: piece.model_copy(update={"catalogue_id": "sill"}))
    assert "build.chain" in failed_clauses(other, CASE)


@pytest.mark.parametrize(
    ("load_kg", "clauses"), [(190.1, set()), (190.0, set()), (189.9, {"build.rated_load"})]
)
def test_a_flight_carries_the_rider(load_kg: float, clauses: set[str]) -> None:
    assert failed_of_steps(with_flights(CASE, replace(FLIGHT, rated_load_kg=load_kg))) == clauses


# ---- rails


def test_an_open_side_of_the_flight_is_found() -> None:
    candidate = drop_rails(RAMP, lambda rail: (rail.piece, rail.edge) == ("F1", "right"))
    (found,) = (one for one in of_steps(candidate, CASE) if one.clause == "build.rails")
    assert found.verdict == "fails"
    assert "right" in found.text
    sides = [one.measured for one in of_steps(candidate, CASE) if one.clause == "IRC R311.7.8"]
    assert sides == [1.0]


def test_a_rail_too_many_is_found() -> None:
    one = next(rail for rail in RAMP.rails if rail.id == "steps left")
    candidate = RAMP.model_copy(update={"rails": (*RAMP.rails, one.model_copy(update={"id": "again"}))})
    (found,) = (one for one in of_steps(candidate, CASE) if one.clause == "build.rails")
    assert "carries 3 rails, 2 asked" in found.text


def test_a_rail_of_another_part_or_kind_does_not_belong_on_a_flight() -> None:
    for update in ({"catalogue_id": "panel-section"}, {"kind": "post", "catalogue_id": "post"}):
        rails = tuple(
            rail.model_copy(update=update) if rail.id == "steps left" else rail for rail in RAMP.rails
        )
        assert "build.rail_part" in failed_clauses(RAMP.model_copy(update={"rails": rails}), CASE)


def test_the_panel_left_across_the_top_of_the_flight_is_found() -> None:
    rails = tuple(
        rail.model_copy(update={"kind": "panel", "catalogue_id": "panel-wide"})
        if (rail.piece, rail.edge) == ("L0", "left")
        else rail
        for rail in RAMP.rails
    )
    found = find_failed(RAMP.model_copy(update={"rails": rails}), CASE)
    assert ("build.rails", "L0") in [(one.clause, one.subject) for one in found]


def test_the_gap_beside_the_flight_needs_its_infill() -> None:
    candidate = drop_rails(RAMP, lambda rail: (rail.piece, rail.edge) == ("L0", "left"))
    assert ("build.rails", "L0") in [(one.clause, one.subject) for one in find_failed(candidate, CASE)]


def test_a_rail_end_before_the_top_is_found() -> None:
    rail = next(one for one in RAMP.rails if one.kind == "end")
    inside = tuple((*FRAME.site(EDGE_U, v), DECK_M) for v in (0.9, 0.6))
    rails = tuple(
        one.model_copy(update={"line_m": inside}) if one.id == rail.id else one for one in RAMP.rails
    )
    assert failed_of_steps(CASE, RAMP.model_copy(update={"rails": rails})) == {"build.steps_top"}


# ---- money and what is missing


def test_steps_are_priced_and_weighed_like_every_part() -> None:
    lines = {line.part: line for line in RAMP.price_lines}
    labour = 44.0 * 4537 / 60  # 3327.13 cents
    assert lines["flight"].total_cents == 41000 + round(labour)
    assert lines["panel-steps"].items == ("steps left", "steps right")
    without = tuple(line for line in RAMP.price_lines if line.part != "flight")
    assert "build.price_items" in failed_clauses(RAMP.model_copy(update={"price_lines": without}), CASE)
    cheaper = tuple(
        line.model_copy(update={"unit_cents": line.unit_cents - 1}) if line.part == "flight" else line
        for line in RAMP.price_lines
    )
    assert "build.price_line" in failed_clauses(RAMP.model_copy(update={"price_lines": cheaper}), CASE)


def told(case: CheckCase, candidate: Candidate = BARE) -> Finding:
    (found,) = (one for one in check_candidate(candidate, case) if one.clause == "build.steps_wanted")
    return found


def test_wanted_steps_that_would_fit_and_are_not_there_fail() -> None:
    assert told(CASE).verdict == "fails"
    assert "flight fits the left edge of L0" in told(CASE).text


def test_wanted_steps_that_fit_nowhere_are_told_edge_by_edge() -> None:
    walls = ring(-2.0, 0.1, -1.2, 1.6), ring(1.2, 0.1, 2.0, 1.6)
    zone = with_zone(CASE, "no_build", walls[0]).yard.zones[0]
    case = change_yard(CASE, zones=(zone, replace(zone, name="bed", outline_m=walls[1])))
    assert told(case).verdict == "cannot tell"
    text = told(case).text
    assert text.startswith(
        "A: steps wanted, no free landing edge takes them: the left edge of L0: it overlaps"
    )
    assert "the right edge of L0: it overlaps" in text
    assert '"bed"' in text


@pytest.mark.parametrize(
    "change",
    [
        with_flights,
        lambda case: replace(case, catalogue=replace(case.catalogue, stock=(StockLevel("flight", 0),))),
        lambda case: with_flights(case, replace(FLIGHT, rated_load_kg=189.0)),
    ],
)
def test_without_a_flight_to_take_there_is_nothing_to_fit(change: Callable[[CheckCase], CheckCase]) -> None:
    found = told(change(CASE))
    assert found.verdict == "cannot tell"
    assert "the catalogue has no flight of steps for this load" in found.text


def test_either_end_of_an_edge_is_tried_and_the_wall_edge_is_not() -> None:
    """The place at the wall is blocked on the left, the whole edge on the right."""
    zone = with_zone(CASE, "no_build", ring(-1.4, 0.1, -1.2, 0.3)).yard.zones[0]
    right = replace(zone, name="bed", outline_m=ring(1.2, 0.1, 2.0, 1.6))
    case = change_yard(CASE, zones=(zone, right))
    # Without rail ends, one of which reaches before the other place.
    free = drop_rails(BARE, lambda rail: rail.kind == "end")
    assert "flight fits the left edge of L0" in told(case, free).text
    assert "rail end" in told(case).text
    whole = replace(zone, outline_m=ring(-1.4, 0.1, -1.2, 1.6))
    text = told(change_yard(CASE, zones=(whole, right))).text
    assert text.count("edge of L0") == 2
    assert "start edge" not in text


def test_a_flight_wider_than_every_edge_is_told() -> None:
    found = told(with_flights(CASE, replace(FLIGHT, width_m=1.7)))
    assert found.verdict == "cannot tell"
    assert "1.620 m long, flight is 1.700 m wide" in found.text


def test_steps_nobody_wants_are_not_missed() -> None:
    case = replace(CASE, steps="none")
    assert not [one for one in check_candidate(BARE, case) if one.clause == "build.steps_wanted"]
