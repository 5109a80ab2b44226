"""Closed slopes: within the limit, with every part kept, joints connected and the tip on the ground."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

from optimizer.estimate.price import build_price
from optimizer.layout.build_layout import build_layout
from optimizer.layout.placed import PlacedLayout
from optimizer.plan import XYZ, Piece
from optimizer.search.close_slopes import close_slopes
from optimizer.search.slope_levels import steepest_slope
from optimizer.search.solve import build_spec, solve_site
from optimizer.search.tables import TURN_CODES
from optimizer.units import TOLERANCE_M
from tests.search.flat_yard import (
    SECTION_M,
    flat_site,
    with_limits,
    with_parts,
    with_search,
    with_start,
    with_steepest,
)
from tests.search.searched import named_layouts, small_yard, solved_yard

#: Yards whose layouts close in all three ways: one to three runs, with turns of all kinds.
YARDS = (9, 12, 18, 20, 23, 38, 39, 51, 53, 68)
EVEN = "one slope, plate included"
NEARER = "slopes as even as the parts allow"
STANDS = "each run at its own slope level"


def middle(a: XYZ, b: XYZ) -> np.ndarray:
    return (np.array(a) + np.array(b)) / 2


def walked(layout: PlacedLayout) -> list[Piece]:
    """Pieces in walking order, from the first landing (or run) to the plate."""
    return [one for one in layout.pieces if one.kind in ("landing", "section", "transition_plate")]


def gap_between(upper: Piece, lower: Piece) -> float:
    """How far the lower piece's upper edge lies off the upper piece's outline, at either end of that edge."""
    ring = [*upper.corners_m, upper.corners_m[0]]
    worst = 0.0
    for corner in lower.corners_m[:2]:
        point = np.array(corner)
        nearest = min(distance_to(point, np.array(a), np.array(b)) for a, b in itertools.pairwise(ring))
        worst = max(worst, nearest)
    return worst


def gap_to_landing(run: Piece, landing: Piece) -> float:
    """How far the middle of the run's lower edge lies off the landing's upper edge."""
    tip = middle(run.corners_m[2], run.corners_m[3])
    return distance_to(tip, np.array(landing.corners_m[0]), np.array(landing.corners_m[1]))


def distance_to(point: np.ndarray, a: np.ndarray, b: np.ndarray) -> float:
    t = float(np.clip(np.dot(point - a, b - a) / np.dot(b - a, b - a), 0.0, 1.0))
    return float(np.linalg.norm(point - (a + t * (b - a))))


def check_joints(layout: PlacedLayout) -> None:
    for upper, lower in itertools.pairwise(walked(layout)):
        off = gap_to_landing(upper, lower) if lower.kind == "landing" else gap_between(upper, lower)
        assert off < 1e-4, f"{lower.id} lies {off} m off {upper.id}"


def plate_of(layout: PlacedLayout) -> Piece:
    return next(one for one in layout.pieces if one.kind == "transition_plate")


def spread(slopes: Sequence[float], plate: float) -> float:
    """How far the slopes of runs and plate lie apart."""
    return max(*slopes, plate) - min(*slopes, plate)


@pytest.mark.parametrize("seed", YARDS)
def test_a_closed_layout_is_no_steeper_than_the_limit_anywhere(seed: int) -> None:
    site = small_yard(seed)
    for one in solved_yard(seed).shown:
        layout = build_layout(site, one.spec)
        for piece in walked(layout):
            start, end = middle(*piece.corners_m[:2]), middle(*piece.corners_m[2:])
            run = float(np.hypot(*(end - start)[:2]))
            assert start[2] - end[2] <= steepest_slope(site, site.yard.starts[0]) * run + TOLERANCE_M


@pytest.mark.parametrize("seed", YARDS)
def test_the_joints_of_a_closed_layout_connect_within_a_tenth_of_a_millimetre(seed: int) -> None:
    site = small_yard(seed)
    for one in solved_yard(seed).shown:
        check_joints(build_layout(site, one.spec))


@pytest.mark.parametrize("seed", YARDS)
def test_the_tip_of_a_closed_layout_meets_the_ground_at_its_middle(seed: int) -> None:
    site = small_yard(seed)
    for one in solved_yard(seed).shown:
        layout = build_layout(site, one.spec)
        plate = plate_of(layout)
        x, y, z = middle(plate.corners_m[2], plate.corners_m[3])
        assert abs(z - site.ground.elevation_at(float(x), float(y))) < 1e-3
        assert np.allclose(layout.toe.tip_m, (x, y, z), atol=1e-9)


@pytest.mark.parametrize("seed", YARDS)
def test_closing_keeps_every_leg_piece_rail_and_the_price(seed: int) -> None:
    site = small_yard(seed)
    for skeleton, named in named_layouts(seed):
        closing = close_slopes(skeleton, named)
        before = build_layout(site, build_spec(skeleton, named, skeleton.slopes))
        after = build_layout(site, build_spec(skeleton, named, closing.slopes))
        assert [leg.leg_type for leg in after.legs] == list(named.supports)
        assert [(x.leg_type, x.brace) for x in before.legs] == [(x.leg_type, x.brace) for x in after.legs]
        assert [x.catalogue_id for x in before.pieces] == [x.catalogue_id for x in after.pieces]
        assert [(x.catalogue_id, x.piece, x.edge) for x in before.rails] == [
            (x.catalogue_id, x.piece, x.edge) for x in after.rails
        ]
        assert build_price(after, site.catalogue, site.rates, site.yard).direct_cents == skeleton.cost_cents


@pytest.mark.parametrize("seed", YARDS)
def test_every_leg_of_a_closed_layout_keeps_its_range_and_reserve(seed: int) -> None:
    site = small_yard(seed)
    for one in solved_yard(seed).shown:
        for leg in build_layout(site, one.spec).legs:
            low, high = leg.range_m
            assert low + leg.reserve_m - TOLERANCE_M <= leg.height_m <= high - leg.reserve_m + TOLERANCE_M


@pytest.mark.parametrize("seed", YARDS)
def test_closing_makes_the_slopes_as_even_as_it_says(seed: int) -> None:
    site = small_yard(seed)
    for skeleton, named in named_layouts(seed):
        closing = close_slopes(skeleton, named)
        before = plate_of(build_layout(site, build_spec(skeleton, named, skeleton.slopes))).slope
        after = plate_of(build_layout(site, build_spec(skeleton, named, closing.slopes))).slope
        match closing.evenness:
            case "one slope, plate included":
                assert spread(closing.slopes, after) < 1e-6
            case "slopes as even as the parts allow":
                assert 1e-6 < spread(closing.slopes, after) < spread(skeleton.slopes, before)
            case other:
                assert other == STANDS
                assert closing.slopes == skeleton.slopes


def test_these_yards_close_in_all_three_ways_with_turns_of_all_kinds() -> None:
    found = [(skeleton, close_slopes(skeleton, named)) for n in YARDS for skeleton, named in named_layouts(n)]
    assert {closing.evenness for _, closing in found} == {EVEN, NEARER, STANDS}
    assert {turn.kind for skeleton, _ in found for turn in skeleton.turns} == {*TURN_CODES}
    assert {len(skeleton.slopes) for skeleton, _ in found} == {1, 2, 3}
    assert any(len(set(closing.slopes)) > 1 for _, closing in found)


def test_on_level_ground_runs_and_plate_get_one_slope() -> None:
    # At 1:7 the section leaves the plate flatter than itself; one slope for both lies between.
    site = with_start(with_limits(flat_site(), running_slope=1 / 6), threshold_m=0.465)
    one = solve_site(with_search(site, slope_levels=2, flattest_share=6 / 7)).shown[0]
    assert one.evenness == EVEN
    slope = one.spec.runs[0].slope
    # h = (S + P) s / sqrt(1 + s^2) for section, plate and one slope.
    length = (96 + 36) * 0.0254
    assert length * slope / math.hypot(1, slope) == pytest.approx(0.465, abs=1e-6)
    assert plate_of(build_layout(site, one.spec)).slope == pytest.approx(slope, abs=1e-6)
    assert slope < 1 / 7


def test_closing_does_not_brace_a_leg_that_the_search_left_bare() -> None:
    # At 1:7 the joint's frame is 0.4015 m up, at the even slope 0.4054 m.
    site = with_steepest(flat_site(), 1 / 5)
    share, step = math.hypot(1, 5) / math.hypot(1, 7), SECTION_M / math.hypot(1, 7) / 64
    site = with_search(site, slope_levels=2, flattest_share=share, longest_run_m=5.0, height_step_m=step)
    site = with_start(site, threshold_m=0.465 + 96 * 0.0254 / 7 / math.hypot(1, 1 / 7))
    even = solve_site(site).shown[0]
    assert even.evenness == EVEN
    legs = tuple(
        replace(leg, brace_above_m=0.4035) if leg.id == "leg-middle" else leg for leg in site.catalogue.legs
    )
    site = with_parts(site, legs=legs)
    one = solve_site(site).shown[0]
    assert one.evenness == NEARER
    layout = build_layout(site, one.spec)
    assert [leg.brace is not None for leg in layout.legs] == [True] * 4 + [False] * 4
    assert build_price(layout, site.catalogue, site.rates, site.yard).direct_cents == one.cost_cents
