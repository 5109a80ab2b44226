"""Where north is, how far off the origin lies and which hand is which do not change a price."""

from __future__ import annotations

import pytest

from optimizer.search.solve import Solved, solve_site
from tests.properties.never_dearer import shape_costs
from tests.properties.scene_sites import SCENES, ceiling_of, coarse_scene
from tests.validation.small_yards import MIRRORED_SIDE, MIRRORED_TURN, mirrored, moved, turned


def prices(solved: Solved) -> tuple[object, ...]:
    """What is shown, by shape and price, and what is proven of it."""
    shown = tuple((one.exit, one.turns, one.cost_cents, one.bound_cents) for one in solved.shown)
    return (solved.status, solved.bound_cents, shown)


@pytest.mark.parametrize("name", SCENES)
def test_a_scene_moved_and_turned_keeps_every_price_and_everything_shown(name: str) -> None:
    scene = coarse_scene(name)
    answer = prices(solve_site(scene))
    assert answer[2]
    assert prices(solve_site(moved(scene, 131.7, -42.9, 7.3))) == answer
    assert prices(solve_site(turned(scene, 90.0))) == answer
    assert prices(solve_site(turned(moved(scene, -5.5, 2.25, -1.0), 217.3))) == answer


@pytest.mark.parametrize("name", SCENES)
def test_a_scene_seen_in_a_mirror_swaps_left_and_right_and_keeps_every_price(name: str) -> None:
    scene = coarse_scene(name)
    ceiling = ceiling_of(name)
    costs = shape_costs(scene, ceiling)
    assert costs
    sides: dict[str, str] = dict(MIRRORED_SIDE.items())
    in_a_mirror = {
        (sides[side], tuple(MIRRORED_TURN[turn] for turn in turns)): cost
        for (side, turns), cost in costs.items()
    }
    assert shape_costs(mirrored(scene), ceiling) == in_a_mirror
    assert shape_costs(turned(mirrored(scene), 33.0), ceiling) == in_a_mirror
