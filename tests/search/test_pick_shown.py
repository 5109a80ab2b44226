"""Which layouts are shown: the cheapest always, near copies never both, variety before cost."""

from __future__ import annotations

from itertools import combinations

from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import box

from optimizer.search.pick_shown import DEAREST_PERCENT, Offer, is_near_copy, pick_shown

SHAPES = ("straight", "L left", "L right", "switchback right")
EXITS = ("front", "left", "right")


def offer(cost: int, shape: str = "straight", leaves: str = "front", at: float = 0.0) -> Offer:
    """An offer that covers one metre by ten, so far along."""
    return Offer(cost, shape, leaves, box(at, 0.0, at + 1.0, 10.0))


def worth(offers: tuple[Offer, ...], picked: tuple[int, ...]) -> tuple[int, int, int, int]:
    """What a choice is judged by, in order: shapes, exits, number, and least total cost."""
    chosen = [offers[n] for n in picked]
    return (
        len({one.shape for one in chosen}),
        len({one.exit for one in chosen}),
        len(chosen),
        -sum(one.cost_cents for one in chosen),
    )


def may_be_shown(offers: tuple[Offer, ...], picked: tuple[int, ...]) -> bool:
    """Whether a choice has the cheapest, no near copies, and nothing dearer than thrice the cheapest."""
    least = min(one.cost_cents for one in offers)
    chosen = [offers[n] for n in picked]
    return (
        min(one.cost_cents for one in chosen) == least
        and all(one.cost_cents * 100 <= DEAREST_PERCENT * least for one in chosen)
        and not any(is_near_copy(a, b) for a, b in combinations(chosen, 2))
    )


def best_by_hand(offers: tuple[Offer, ...], most: int) -> tuple[int, int, int, int]:
    """The best worth of all choices there are."""
    choices = [
        picked
        for size in range(1, most + 1)
        for picked in combinations(range(len(offers)), size)
        if may_be_shown(offers, picked)
    ]
    return max(worth(offers, picked) for picked in choices)


OFFERS = st.lists(
    st.builds(
        offer,
        st.integers(100_000, 500_000),
        st.sampled_from(SHAPES),
        st.sampled_from(EXITS),
        st.sampled_from((0.0, 0.1, 0.2, 2.0, 4.0, 6.0)),
    ),
    min_size=1,
    max_size=7,
    unique_by=lambda one: one.cost_cents,
).map(tuple)


@settings(max_examples=60)
@given(offers=OFFERS, most=st.integers(1, 5))
def test_the_choice_is_as_good_as_the_best_of_all_choices(offers: tuple[Offer, ...], most: int) -> None:
    picked = pick_shown(offers, most, "either", seed=1)
    assert len(picked) <= most
    assert may_be_shown(offers, picked)
    assert worth(offers, picked) == best_by_hand(offers, most)
    costs = [offers[n].cost_cents for n in picked]
    assert costs == sorted(costs)


def test_the_cheapest_is_shown_though_it_stands_against_variety() -> None:
    # The cheapest is a near copy of the two others of which each would bring a new shape.
    offers = (
        offer(100, "straight", at=0.1),
        offer(110, "L left", at=0.0),
        offer(120, "L right", at=0.2),
        offer(130, "straight", at=5.0),
    )
    assert pick_shown(offers, 5, "either", 1) == (0, 3)


def test_of_two_near_copies_one_is_shown() -> None:
    assert pick_shown((offer(100), offer(101, at=0.14)), 5, "either", 1) == (0,)
    assert pick_shown((offer(100), offer(101, at=0.16)), 5, "either", 1) == (0, 1)


def test_two_layouts_are_near_copies_when_the_smaller_lies_within_the_larger() -> None:
    large = Offer(1, "straight", "front", box(0.0, 0.0, 10.0, 10.0))
    assert is_near_copy(large, offer(2, at=3.0))
    assert is_near_copy(offer(2, at=3.0), large)
    assert not is_near_copy(large, offer(2, at=9.5))


def test_a_new_shape_is_shown_before_a_cheaper_repeat() -> None:
    offers = (offer(100), offer(110, at=2.0), offer(290, "L left", at=4.0))
    assert pick_shown(offers, 2, "either", 1) == (0, 2)
    assert pick_shown(offers, 3, "either", 1) == (0, 1, 2)


def test_a_new_exit_is_shown_before_a_cheaper_repeat() -> None:
    offers = (offer(100), offer(110, at=2.0), offer(150, leaves="left", at=4.0))
    assert pick_shown(offers, 2, "either", 1) == (0, 2)


def test_nothing_dearer_than_three_times_the_cheapest_is_shown() -> None:
    assert pick_shown((offer(100), offer(300, "L left", at=3.0)), 5, "either", 1) == (0, 1)
    assert pick_shown((offer(100), offer(301, "L left", at=3.0)), 5, "either", 1) == (0,)


def test_no_more_are_shown_than_asked_for() -> None:
    offers = tuple(offer(100 + n, at=2.0 * n) for n in range(6))
    for most in range(1, 7):
        assert pick_shown(offers, most, "either", 1) == tuple(range(most))


def test_from_nothing_nothing_is_shown() -> None:
    assert pick_shown((), 5, "either", 1) == ()
