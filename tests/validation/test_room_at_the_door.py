"""Room in front of a door that stands at a landing: search and brute force against a published table.

Validates: which landing, place and exit go with which door.  Source: U.S. Access Board, ADA Standards,
404.2.4.1 and table 404.2.4.1 (front, pull: 60 in deep, 18 in beyond the latch; hinge side, pull: 60 in
deep and 36 in beyond the latch, or 54 and 42; latch side, pull: 48 and 24, with a closer 54; front, push:
48 in, with closer and latch 12 in beyond the latch; hinge side, push: 42 and 22 beyond the hinge, with
closer and latch 48).  Tolerance: the page's 1e-6 m.  Why it may differ: depth counts from the landing's
own edge here, so a landing that stands off the wall is asked a little more than the table asks.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from optimizer.brief.site import Site
from optimizer.catalogue.parts import Landing
from optimizer.layout.spec import Exit
from optimizer.rulebook.design_limits import DesignLimits
from optimizer.rulebook.door_clearance import DoorClearance
from optimizer.search.door_room import has_door_room
from optimizer.search.every_shape import find_best_of_every_shape
from optimizer.search.solve_shapes import solve_shapes
from optimizer.terrain.yard import Start
from tests.validation.bound_yards import bound, door_limit, limit
from tests.validation.brute_doors import Door
from tests.validation.brute_force import find_cheapest
from tests.validation.flat_site import flat_site

INCH_M = 0.0254
HAIR_M = 2e-6


def row(*inches: float, approach: str, side: str, **more: float) -> DoorClearance:
    """A row in inches: depth, beyond the latch, beyond the hinge."""
    depth, latch, hinge = (one * INCH_M for one in inches)
    added = {name: one * INCH_M for name, one in more.items()}
    return DoorClearance(approach, side, depth, latch, hinge, **added)  # type: ignore[arg-type]


TABLE = (
    row(60, 18, 0, approach="front", side="pull"),
    row(48, 0, 0, approach="front", side="push", closer_latch_beyond_m=12),
    row(60, 36, 0, approach="hinge", side="pull"),
    row(54, 42, 0, approach="hinge", side="pull"),
    row(42, 0, 22, approach="hinge", side="push", closer_latch_depth_m=6),
    row(48, 24, 0, approach="latch", side="pull", closer_depth_m=6),
    row(42, 24, 0, approach="latch", side="push", closer_depth_m=6),
)
SITE = flat_site(0.4, 3.0, 1)


def door(swing: str, hinge: str) -> Start:
    """A doorway 32 in wide."""
    start = SITE.yard.starts[0]
    return replace(start, swing=swing, hinge_side=hinge, clear_width_m=32 * INCH_M)  # type: ignore[arg-type]


def design(*, closer: bool = False, latch: bool = False) -> DesignLimits:
    """The table alone."""
    return replace(SITE.designs[0], doors=(TABLE,), closer=closer, latch=latch)


def landing(wide_in: float, deep_in: float) -> Landing:
    """A landing whose clear sizes these are."""
    part = SITE.catalogue.landings[0]
    clear = {"clear_width_m": wide_in * INCH_M, "clear_length_m": deep_in * INCH_M}
    return replace(part, width_m=(wide_in + 4) * INCH_M, length_m=(deep_in + 4) * INCH_M, **clear)  # type: ignore[arg-type]


def fits(limits: DesignLimits, start: Start, part: Landing, slide_m: float, leaves: Exit) -> bool:
    """What both programs say."""
    answer = has_door_room(limits, start, part, slide_m, leaves)
    assert answer is Door(limits, start).has_room(part, slide_m, leaves)
    return answer


def slides(part: Landing, start: Start) -> list[float]:
    """Places along the wall in steps of half an inch, as far as the doorway stays on the landing."""
    most = int((part.width_m - start.clear_width_m) / 2 / (INCH_M / 2))
    return [k * INCH_M / 2 for k in range(-most, most + 1)]


def fits_somewhere(limits: DesignLimits, start: Start, part: Landing, leaves: Exit) -> bool:
    return any(fits(limits, start, part, slide, leaves) for slide in slides(part, start))


@pytest.mark.parametrize("hinge", ["left", "right"])
def test_a_door_pulled_from_its_hinge_side_never_fits_sixty_by_sixty(hinge: Exit) -> None:
    start = door("out", hinge)
    latch: Exit = "right" if hinge == "left" else "left"
    square = landing(60, 60)
    assert not fits_somewhere(design(), start, square, hinge)
    assert fits_somewhere(design(), start, square, "front")
    assert fits_somewhere(design(), start, square, latch)
    # 32 in of doorway and 36 in beyond its latch; or 42 in, 54 in deep.
    assert fits_somewhere(design(), start, landing(72, 60), hinge)
    assert fits_somewhere(design(), start, landing(78, 54), hinge)
    assert not fits_somewhere(design(), start, landing(78, 53.9), hinge)
    assert not fits_somewhere(design(), start, landing(67.9, 60), hinge)


@pytest.mark.parametrize(("hinge", "sign"), [("left", 1), ("right", -1)])
@pytest.mark.parametrize(("more_m", "is_enough"), [(0.0, True), (-HAIR_M, False)])
def test_the_landing_lies_far_enough_to_the_latch_s_side(
    hinge: str, sign: int, more_m: float, *, is_enough: bool
) -> None:
    # Pulled from the front: 18 in beyond the latch; a landing 60 in wide reaches 14 in beyond it.
    start, square = door("out", hinge), landing(60, 60)
    assert fits(design(), start, square, sign * (4 * INCH_M + more_m), "front") is is_enough
    # On the hinge's side only the doorway itself must lie on it.
    assert fits(design(), start, square, sign * 14 * INCH_M, "front")
    assert not fits(design(), start, square, sign * (14 * INCH_M + HAIR_M), "front")


@pytest.mark.parametrize(("more_m", "is_enough"), [(0.0, True), (-HAIR_M, False)])
def test_the_landing_is_deep_enough(more_m: float, *, is_enough: bool) -> None:
    part = replace(landing(60, 48), clear_length_m=48 * INCH_M + more_m)
    assert fits(design(), door("in", "left"), part, 0.0, "front") is is_enough


def test_a_closer_and_a_latch_ask_for_more() -> None:
    pushed, pulled = door("in", "left"), door("out", "left")
    closer, both, latch = design(closer=True), design(closer=True, latch=True), design(latch=True)
    narrow = landing(43, 60)
    assert fits(closer, pushed, narrow, 0.0, "front")
    assert fits(latch, pushed, narrow, 0.0, "front")
    assert not fits_somewhere(both, pushed, narrow, "front")
    assert fits(both, pushed, landing(60, 48), 0.0, "front")
    shallow = landing(100, 48)
    assert fits(design(), pulled, shallow, 0.0, "right")
    assert not fits(closer, pulled, shallow, 0.0, "right")
    assert fits(closer, pulled, landing(100, 54), 0.0, "right")
    assert fits(both, pushed, landing(100, 48), 0.0, "left")
    assert not fits(both, pushed, landing(100, 47.9), 0.0, "left")
    assert fits(closer, pushed, landing(100, 42), 0.0, "left")


def test_every_table_is_asked_and_one_without_such_rows_asks_nothing() -> None:
    start, square = door("out", "left"), landing(60, 60)
    other = (row(66, 0, 0, approach="front", side="pull"),)
    assert fits(design(), start, square, 4 * INCH_M, "front")
    stricter = replace(design(), doors=(TABLE, other))
    assert not fits(stricter, start, square, 4 * INCH_M, "front")
    assert fits(replace(design(), doors=(other,)), start, square, 0.0, "right")


def site_with(start: Start) -> Site:
    """The flat yard under the table, with one landing of 60 in, both ways."""
    site = replace(
        SITE,
        yard=replace(SITE.yard, starts=(start,)),
        wishes=replace(SITE.wishes, exits=("front", "left", "right")),
        search=replace(SITE.search, lattice_m=4 * INCH_M, finest_lattice_m=4 * INCH_M),
    )
    return bound(site, limit("running_slope", 1 / 8), *(door_limit(one) for one in TABLE))


@pytest.mark.parametrize(
    ("swing", "exits"), [("out", {"front", "right"}), ("in", {"front", "left", "right"})]
)
def test_the_search_leaves_only_by_sides_that_leave_room_at_the_door(swing: str, exits: set[str]) -> None:
    site = site_with(door(swing, "left"))
    costs = dict(find_best_of_every_shape(site))
    assert {leaves for leaves, _ in costs} == exits
    assert costs == dict(find_cheapest(site).costs)


def test_a_door_that_no_landing_leaves_room_for_is_said() -> None:
    site = site_with(door("out", "left"))
    asked = solve_shapes(replace(site, wishes=replace(site.wishes, exits=("left",))))
    assert asked.status == "infeasible_on_lattice"
    assert asked.missing == (
        "start 'door': no landing leaves the room in front of the door that the rules ask for",
    )
