"""Where steps go: one flight of the demo parts at a door over level ground, added up by hand.

The yard is the flat one: a landing of 64 in before the door, its deck 0.75 m up, one run to the
front, everything drawn in the door frame.  The flight of four risers is tried on the landing's
left edge, flush with its end at the wall: from u = -0.8128 m outward, from v = 0.04 m along.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from optimizer.brief.site import Site
from optimizer.layout.build_layout import build_layout
from optimizer.layout.fit_steps import (
    list_free_edges,
)
from optimizer.layout.place_steps import add_steps, find_steps
from optimizer.layout.placed import PlacedLayout
from tests.layout.plane_layouts import LAYOUTS, plane_site
from tests.layout.steps_at_the_door import (
    DECK_M,
    EDGE_U,
    FAR_V,
    FOOT_U,
    INCH,
    LAYOUT,
    NEAR_V,
    SITE,
    flight_of,
    in_door_frame,
    only,
)
from tests.search.flat_yard import (
    box_at,
    with_parts,
    with_wishes,
    with_zone,
)


def test_the_flight_hangs_on_the_door_landing_with_equal_risers() -> None:
    placed = find_steps(SITE, LAYOUT).placed
    assert placed is not None
    assert (placed.landing, placed.edge, placed.piece.id) == ("P1", "left", "F1")
    assert placed.piece.catalogue_id == "flight-4"
    assert placed.riser_m == pytest.approx(DECK_M / 4)
    expected = [(EDGE_U, NEAR_V), (EDGE_U, FAR_V), (FOOT_U, FAR_V), (FOOT_U, NEAR_V)]
    assert in_door_frame(SITE, placed.piece.corners_m) == pytest.approx(np.array(expected), abs=1e-9)
    levels = [corner[2] for corner in placed.piece.corners_m]
    assert levels == pytest.approx([DECK_M, DECK_M, DECK_M / 4, DECK_M / 4])
    assert placed.piece.slope == pytest.approx(DECK_M / 4 / (11 * INCH))


def test_what_the_steps_add_is_the_flight_its_two_rails_and_the_opened_edge() -> None:
    """One minute of labour costs 1.00; the panel of 64 in gives way to an infill."""
    flight, panel, infill, whole = 59800 + 5000, 8100 + 700, 5800 + 600, 10900 + 700
    placed = find_steps(SITE, LAYOUT).placed
    assert placed is not None
    assert placed.added_cents == flight + 2 * panel + infill - whole


def test_the_panel_of_the_edge_becomes_an_infill_and_both_sides_are_railed() -> None:
    placed = find_steps(SITE, LAYOUT).placed
    assert placed is not None
    before = [rail for rail in LAYOUT.rails if (rail.piece, rail.edge) == ("P1", "left")]
    after = [rail for rail in placed.rails if (rail.piece, rail.edge) == ("P1", "left")]
    assert [(rail.kind, rail.catalogue_id) for rail in before] == [("panel", "rail-64")]
    assert [(rail.kind, rail.catalogue_id) for rail in after] == [("infill", "infill-22")]
    own = [rail for rail in placed.rails if rail.piece == "F1"]
    assert [(rail.kind, rail.edge, rail.catalogue_id) for rail in own] == [
        ("panel", "left", "flight-rail-4"),
        ("panel", "right", "flight-rail-4"),
    ]
    assert own[0].line_m == (placed.piece.corners_m[0], placed.piece.corners_m[3])
    assert len({rail.id for rail in placed.rails}) == len(placed.rails) == len(LAYOUT.rails) + 2


@pytest.mark.parametrize(("spare_m", "kinds"), [(0.0999, []), (0.1001, ["infill"]), (0.0, [])])
def test_a_flight_that_takes_the_whole_edge_leaves_no_infill(spare_m: float, kinds: list[str]) -> None:
    site = only(SITE, "flight-4", width_m=64 * INCH - spare_m)
    placed = find_steps(site, LAYOUT).placed
    assert placed is not None
    assert [rail.kind for rail in placed.rails if (rail.piece, rail.edge) == ("P1", "left")] == kinds


def test_a_low_landing_without_rails_gets_none_but_the_flight_does() -> None:
    site = with_wishes(SITE, rail_landings_above_m=2.0)
    layout = build_layout(site, LAYOUTS["straight"][1])
    placed = find_steps(site, layout).placed
    assert placed is not None
    assert [rail.edge for rail in placed.rails if rail.piece == "P1"] == []
    assert [rail.edge for rail in placed.rails if rail.piece == "F1"] == ["left", "right"]


def test_steps_are_added_only_when_they_are_wanted() -> None:
    with_steps = add_steps(SITE, LAYOUT)
    assert [piece.kind for piece in with_steps.pieces].count("steps") == 1
    assert with_steps.pieces[:-1] == LAYOUT.pieces
    assert replace(with_steps, pieces=LAYOUT.pieces, rails=LAYOUT.rails) == LAYOUT
    assert add_steps(with_wishes(SITE, steps="none"), LAYOUT) is LAYOUT


def test_a_layout_that_takes_no_steps_stays_as_it_is() -> None:
    site = with_parts(SITE, step_flights=())
    assert add_steps(site, LAYOUT) is LAYOUT
    assert {one.reason for one in find_steps(site, LAYOUT).refused} == {
        "the catalogue has no flight of steps for this load"
    }


def test_the_cheapest_flight_that_fits_is_taken() -> None:
    """Five risers serve the same rise; made cheaper by more than the difference they are taken."""
    five = flight_of(SITE, "flight-5")
    cheap = replace(five, price_cents=five.price_cents - 30000)
    flights = tuple(cheap if one.id == five.id else one for one in SITE.catalogue.step_flights)
    placed = find_steps(with_parts(SITE, step_flights=flights), LAYOUT).placed
    assert placed is not None
    assert placed.piece.catalogue_id == "flight-5"


# ---- which edges


def edges_of(name: str) -> set[tuple[str, str]]:
    threshold_m, spec, _ = LAYOUTS[name]
    layout = build_layout(plane_site(threshold_m), spec)
    return {(one.landing.id, one.edge) for one in list_free_edges(layout)}


@pytest.mark.parametrize(
    ("name", "free"),
    [
        ("straight", {("P1", "left"), ("P1", "right")}),
        ("quarter turn left", {("P1", "left"), ("P1", "right"), ("P2", "right"), ("P2", "end")}),
        ("quarter turn right", {("P1", "left"), ("P1", "right"), ("P2", "left"), ("P2", "end")}),
        ("half turn left", {("P1", "left"), ("P1", "right"), ("P2", "left"), ("P2", "right"), ("P2", "end")}),
    ],
)
def test_edges_with_a_run_and_the_wall_edge_are_not_free(name: str, free: set[tuple[str, str]]) -> None:
    assert edges_of(name) == free


def blocked_door(site: Site) -> Site:
    """Nothing may stand to the left and right of the landing at the door."""
    left = box_at(EDGE_U - 2.0, 0.0, EDGE_U - 0.1, 1.7)
    right = box_at(-EDGE_U + 0.1, 0.0, -EDGE_U + 2.0, 1.7)
    return with_zone(with_zone(site, "no_build", left), "no_build", right)


def laid(site: Site, name: str) -> tuple[Site, PlacedLayout]:
    return site, build_layout(site, LAYOUTS[name][1])


def test_the_next_landing_down_the_way_is_tried_when_the_door_has_no_room() -> None:
    open_site = with_wishes(plane_site(1.15, 0.0, 0.0), steps="wanted")
    site, layout = laid(blocked_door(open_site), "quarter turn left")
    first, second = find_steps(open_site, layout).placed, find_steps(site, layout).placed
    assert first is not None
    assert second is not None
    assert (first.landing, second.landing) == ("P1", "P2")


def test_a_landing_further_down_is_not_taken_for_being_cheaper() -> None:
    """P2 lies lower and would need a cheaper flight; the door comes first."""
    site, layout = laid(with_wishes(plane_site(1.15, 0.0, 0.0), steps="wanted"), "quarter turn left")
    door = find_steps(site, layout).placed
    other = find_steps(blocked_door(site), layout).placed
    assert door is not None
    assert other is not None
    assert other.added_cents < door.added_cents


def test_every_free_edge_is_named_with_its_reason_when_none_takes_a_flight() -> None:
    answer = find_steps(blocked_door(SITE), LAYOUT)
    assert answer.placed is None
    assert [(one.landing, one.edge) for one in answer.refused] == [("P1", "left"), ("P1", "right")]
    assert [one.reason for one in answer.refused] == [
        'it would overlap the zone "no_build 0"',
        'it would overlap the zone "no_build 1"',
    ]
