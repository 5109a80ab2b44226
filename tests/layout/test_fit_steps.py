"""What keeps a flight off a place, each limit inside, exactly on and just outside."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from optimizer.catalogue.parts import StockLevel
from optimizer.layout.build_layout import build_layout
from optimizer.layout.fit_steps import (
    build_surroundings,
    find_misfit,
    list_trials,
)
from optimizer.layout.place_steps import find_steps
from optimizer.layout.placed import PlacedLayout
from optimizer.layout.spec import LayoutSpec
from optimizer.terrain.yard import ZoneKind
from tests.layout.plane_layouts import LAYOUTS, plane_site
from tests.layout.steps_at_the_door import (
    DECK_M,
    EDGE_U,
    FAR_V,
    FOOT_U,
    HAIR,
    INCH,
    LAYOUT,
    MIDDLE_V,
    NEAR_V,
    SITE,
    SPACE_U,
    Change,
    flight_of,
    in_door_frame,
    left_edge,
    misfit,
    only,
    trial_at_the_wall,
)
from tests.search.flat_yard import (
    box_at,
    falling_ground,
    ground_of,
    with_headroom,
    with_obstacle,
    with_parts,
    with_wishes,
    with_yard,
    with_zone,
)


def test_nothing_is_in_the_way_on_level_ground() -> None:
    assert misfit(SITE) is None


@pytest.mark.parametrize(
    ("low", "high", "fits"),
    [
        (DECK_M - HAIR, DECK_M + HAIR, True),
        (DECK_M, DECK_M + 1, True),
        (DECK_M - 0.1, DECK_M, True),
        (DECK_M + HAIR, DECK_M + 1, False),
        (DECK_M - 0.1, DECK_M - HAIR, False),
    ],
)
def test_the_rise_lies_in_the_range_of_the_flight(low: float, high: float, *, fits: bool) -> None:
    site = only(SITE, "flight-4", rise_min_m=low, rise_max_m=high)
    assert (misfit(site) is None) is fits


@pytest.mark.parametrize(("doubt_m", "fits"), [(0.0099, True), (0.01, True), (0.0101, False)])
def test_the_range_bears_the_error_of_the_survey(doubt_m: float, *, fits: bool) -> None:
    site = only(SITE, "flight-4", rise_min_m=DECK_M - 0.01, rise_max_m=DECK_M + 0.5)
    assert (misfit(with_wishes(site, survey_error_m=doubt_m)) is None) is fits
    site = only(SITE, "flight-4", rise_min_m=DECK_M - 0.5, rise_max_m=DECK_M + 0.01)
    assert (misfit(with_wishes(site, survey_error_m=doubt_m)) is None) is fits


@pytest.mark.parametrize(
    ("width", "fits"), [(64 * INCH - HAIR, True), (64 * INCH, True), (64 * INCH + HAIR, False)]
)
def test_the_edge_is_as_long_as_the_flight_is_wide(width: float, *, fits: bool) -> None:
    site = only(SITE, "flight-4", width_m=width)
    (first, *_) = list_trials(site, left_edge(), flight_of(site))
    found = find_misfit(first, build_surroundings(site, LAYOUT))
    assert (found is None) is fits


@pytest.mark.parametrize(("load_kg", "fits"), [(120.1, True), (120.0, True), (119.9, False)])
def test_a_flight_rated_below_the_rider_is_left_out(load_kg: float, *, fits: bool) -> None:
    assert (find_steps(only(SITE, "flight-4", rated_load_kg=load_kg), LAYOUT).placed is not None) is fits


def test_a_flight_out_of_stock_is_left_out() -> None:
    site = with_parts(only(SITE, "flight-4"), stock=(StockLevel("flight-4", 0),))
    assert find_steps(site, LAYOUT).placed is None


@pytest.mark.parametrize(("by_m", "fits"), [(HAIR, True), (0.0, True), (-HAIR, False)])
def test_flight_and_space_keep_off_what_stands_in_the_yard(by_m: float, *, fits: bool) -> None:
    changes: tuple[Change, ...] = (
        lambda site: with_obstacle(site, box_at(-1.2, FAR_V + by_m, -1.0, FAR_V + 1), None),
        lambda site: with_obstacle(site, box_at(-1.2, FAR_V + by_m, -1.0, FAR_V + 1), -5.0),
        lambda site: with_obstacle(site, box_at(SPACE_U - 1, 0.0, SPACE_U - by_m, 1.0), None),
        lambda site: with_yard(site, house_m=(box_at(-2.0, -3.0, 2.0, NEAR_V - by_m),)),
    )
    for change in changes:
        assert (misfit(change(SITE)) is None) is fits


@pytest.mark.parametrize("kind", ["no_build", "no_cover", "vehicle", "escape_window", "right_of_way"])
def test_a_zone_that_blocks_pieces_blocks_steps_and_the_space_beyond(kind: ZoneKind) -> None:
    for u in (FOOT_U + 0.1, SPACE_U + 0.1):
        found = misfit(with_zone(SITE, kind, box_at(u, MIDDLE_V, u + 0.1, MIDDLE_V + 0.1)))
        assert found is not None
        assert kind in found


def test_no_foot_may_stand_where_feet_are_forbidden_but_people_may() -> None:
    assert misfit(with_zone(SITE, "no_foot", box_at(FOOT_U + 0.1, MIDDLE_V, FOOT_U + 0.2, 1.0))) is not None
    assert misfit(with_zone(SITE, "no_foot", box_at(SPACE_U + 0.1, MIDDLE_V, SPACE_U + 0.2, 1.0))) is None


@pytest.mark.parametrize(("by_m", "fits"), [(HAIR, True), (0.0, True), (-HAIR, False)])
def test_the_setback_holds_for_the_flight_and_the_lot_for_the_space(by_m: float, *, fits: bool) -> None:
    lot = box_at(FOOT_U - 1.0 - by_m, -29.0, 29.0, 29.0)
    site = with_yard(with_parts(SITE), lot_m=lot, setback_m=1.0)
    assert (misfit(site) is None) is fits
    site = with_yard(SITE, lot_m=box_at(SPACE_U - by_m, -29.0, 29.0, 29.0))
    assert (misfit(site) is None) is fits


def test_relief_from_the_setback_is_used_when_the_ramp_has_it_and_not_asked_for_steps_alone() -> None:
    lot = box_at(FOOT_U - 0.99, -29.0, 29.0, 29.0)
    site = with_yard(SITE, lot_m=lot, setback_m=1.0, setback_kind="needs_relief")
    assert misfit(site) is not None
    beside_run = box_at(FOOT_U - 0.99, -29.0, 29.0, 4.0)
    assert misfit(with_yard(site, lot_m=beside_run)) is None
    assert misfit(with_yard(site, lot_m=beside_run, setback_kind="hard")) is not None


@pytest.mark.parametrize(("by_m", "fits"), [(HAIR, True), (0.0, True), (-HAIR, False)])
def test_flight_and_space_lie_on_surveyed_ground(by_m: float, *, fits: bool) -> None:
    rim = SPACE_U - by_m
    corners = [(rim, -30.0), (30.0, -30.0), (30.0, 30.0), (rim, 30.0)]
    site = replace(SITE, ground=ground_of([(u, v, 0.0) for u, v in corners]))
    assert (misfit(site) is None) is fits


def test_a_foot_beyond_the_survey_is_told() -> None:
    corners = [(FOOT_U + 0.1, -30.0), (30.0, -30.0), (30.0, 30.0), (FOOT_U + 0.1, 30.0)]
    site = replace(SITE, ground=ground_of([(u, v, 0.0) for u, v in corners]))
    assert misfit(site) == "its foot would be beyond the surveyed ground"


@pytest.mark.parametrize(("across", "fits"), [(1.9999, True), (2.0, True), (2.0001, False)])
def test_the_bed_evens_out_what_the_part_says(across: float, *, fits: bool) -> None:
    """The ground falls along v, so from the middle of the foot by half the width."""
    fall = across * INCH / (20 * INCH)
    site = replace(only(SITE, "flight-4", rise_min_m=0.5, rise_max_m=1.0), ground=falling_ground(0.0, fall))
    around = build_surroundings(site, LAYOUT)
    found = find_misfit(trial_at_the_wall(site), around)
    assert (found is None or "across its foot" not in found.reason) is fits


@pytest.mark.parametrize("way", [-1.0, 1.0])
@pytest.mark.parametrize(("off_m", "fits"), [(0.0761, True), (0.0762, True), (0.0763, False)])
def test_the_ground_beyond_the_foot_is_no_step(off_m: float, way: float, *, fits: bool) -> None:
    """Level to the foot, then falling or rising by so much over the 36 in beyond it."""
    far = FOOT_U - 20 * 36 * INCH
    levels = [(far, 20 * way * off_m), (FOOT_U, 0.0), (30.0, 0.0)]
    found = misfit(replace(SITE, ground=ground_of([(u, v, z) for u, z in levels for v in (-30.0, 30.0)])))
    assert (found is None) is fits, found


def test_a_bed_is_dug_only_where_digging_is_allowed() -> None:
    roots = with_zone(SITE, "drip_line", box_at(SPACE_U, 0.0, FOOT_U, 1.0))
    assert misfit(roots) is None
    for across, fits in ((0.249, True), (0.25, True), (0.251, False)):
        site = replace(roots, ground=falling_ground(0.0, across / 20))
        found = misfit(site)
        assert (found is None) is fits, found


@pytest.mark.parametrize(("spare_m", "fits"), [(HAIR, True), (0.0, True), (-HAIR, False)])
def test_the_ground_may_not_touch_a_tread(spare_m: float, *, fits: bool) -> None:
    """Level to 0.1 m before the landing and rising to it: the upper tread is the one that touches."""
    top = DECK_M * 3 / 4 - 3 * INCH - spare_m
    levels = [(FOOT_U - 30, 0.0), (EDGE_U - 0.1, 0.0), (EDGE_U, top), (30.0, top)]
    site = replace(SITE, ground=ground_of([(u, v, z) for u, z in levels for v in (-30.0, 30.0)]))
    found = misfit(only(site, "flight-4", frame_depth_m=3 * INCH))
    assert (found is None) is fits, found
    if not fits:
        assert found == "the ground would touch its tread 1"


@pytest.mark.parametrize(("by_m", "fits"), [(HAIR, True), (0.0, True), (-HAIR, False)])
def test_headroom_is_measured_over_the_line_through_the_nosings(by_m: float, *, fits: bool) -> None:
    """Over the lower half of the flight: one riser and a half below the deck."""
    middle = (EDGE_U + FOOT_U) / 2
    deck = DECK_M - 1.5 * DECK_M / 4
    site = with_headroom(SITE, box_at(middle - 2, 0.0, middle, 1.0), deck + 2.0 + by_m, 2.0)
    assert (misfit(site) is None) is fits


@pytest.mark.parametrize(("by_m", "fits"), [(HAIR, True), (0.0, True), (-HAIR, False)])
def test_the_flight_keeps_the_gap_to_other_pieces(by_m: float, *, fits: bool) -> None:
    """Flush with the outer end it lies beside the run that leaves to the front, 11 in off in u."""
    site = with_parts(SITE, piece_gap_m=11 * INCH - by_m)
    _, outer = list_trials(site, left_edge(), flight_of(site))
    found = find_misfit(outer, build_surroundings(site, without_rails(LAYOUT)))
    assert (found is None) is fits, found


def without_rails(layout: PlacedLayout) -> PlacedLayout:
    return replace(layout, rails=())


def test_the_rail_end_of_a_run_may_not_reach_before_the_top() -> None:
    """A run flush with the left of the front edge sends its rail end back along the left edge."""
    spec = replace(LAYOUTS["straight"][1], attach_m=-11 * INCH)
    layout = build_layout(with_wishes(SITE, guard_above_m=0.1524), spec)
    assert any(rail.kind == "end" for rail in layout.rails)
    site = with_parts(SITE, piece_gap_m=0.0)
    wall, outer = list_trials(site, left_edge(layout), flight_of(site))
    around = build_surroundings(site, layout)
    assert find_misfit(wall, around) is None
    found = find_misfit(outer, around)
    assert found is not None
    assert "rail end" in found.reason
    assert find_misfit(outer, build_surroundings(site, without_rails(layout))) is None


def test_the_space_at_the_foot_of_the_ramp_stays_free() -> None:
    toe = replace_toe(LAYOUT, box_at(FOOT_U, 0.0, FOOT_U + 0.3, 0.3))
    assert misfit(SITE, toe) == "it would stand in the space at the foot of the ramp"
    beside = replace_toe(LAYOUT, box_at(SPACE_U, 0.0, FOOT_U, 0.3))
    assert misfit(SITE, beside) is None


@pytest.mark.parametrize(("by_m", "fits"), [(HAIR, True), (0.0, True), (-HAIR, False)])
def test_no_piece_lies_in_the_space_beyond_the_foot(by_m: float, *, fits: bool) -> None:
    """A piece just beyond the space is further from the flight than the gap asks."""
    corners = tuple((float(x), float(y), 0.0) for x, y in box_at(SPACE_U - 1.0, 0.0, SPACE_U - by_m, 1.0))
    pad = LAYOUT.pieces[0].model_copy(
        update={"id": "B1", "catalogue_id": "pad-60", "kind": "bottom_pad", "corners_m": corners}
    )
    found = misfit(SITE, replace(LAYOUT, pieces=(*LAYOUT.pieces, pad)))
    assert (found is None) is fits, found
    assert fits or found == "the space beyond its foot would overlap B1"


def replace_toe(layout: PlacedLayout, ring: np.ndarray) -> PlacedLayout:
    corners = tuple((float(x), float(y), 0.0) for x, y in ring)
    return replace(layout, toe=layout.toe.model_copy(update={"bottom_space_m": corners}))


def test_a_mirrored_yard_gets_mirrored_steps() -> None:
    """The right edge is tried like the left one: blocked on the left, the flight goes to the right."""
    site = with_zone(SITE, "no_build", box_at(EDGE_U - 2.0, 0.0, EDGE_U - 0.1, 1.7))
    placed = find_steps(site, LAYOUT).placed
    assert placed is not None
    assert placed.edge == "right"
    uv = in_door_frame(site, placed.piece.corners_m)
    assert uv[0] == pytest.approx([-EDGE_U, NEAR_V + 64 * INCH])
    assert uv[1] == pytest.approx([-EDGE_U, NEAR_V + 24 * INCH])
    assert uv[2] == pytest.approx([-FOOT_U, NEAR_V + 24 * INCH])


@pytest.mark.parametrize("name", LAYOUTS)
def test_risers_are_equal_on_a_plane_that_falls_unequally(name: str) -> None:
    threshold_m, spec, _ = LAYOUTS[name]
    site = with_wishes(plane_site(threshold_m), steps="wanted")
    layout: LayoutSpec = spec
    placed = find_steps(site, build_layout(site, layout)).placed
    assert placed is not None
    part = flight_of(site, placed.piece.catalogue_id)
    corners = np.array(placed.piece.corners_m)
    x, y, low = (corners[2] + corners[3]) / 2
    assert low - site.ground.elevation_at(x, y) == pytest.approx(placed.riser_m, abs=1e-9)
    assert (corners[0, 2] - low) / (part.risers - 1) == pytest.approx(placed.riser_m, abs=1e-9)
