"""The computed order, replayed by other code: at no step is a piece without support."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest

from optimizer.assembly.bearings import list_bearings
from optimizer.assembly.build_order import BuildStep, find_build_order, find_heaviest
from optimizer.assembly.lifting import (
    FEWEST_TO_HOLD,
    FEWEST_TO_LAY,
    LIFT_PER_PERSON_KG,
    MOST_AT_A_LANDING,
    MOST_AT_A_SECTION,
    Lift,
    count_lifters,
)
from optimizer.assembly.removal_order import RemovalStep, find_removal_order
from optimizer.errors import InputError
from tests.assembly.ramps_to_build import NAMES, Ramp, build_ramp
from tests.assembly.replay_order import Standing, list_fallen, list_missing_feet


def order_of(ramp: Ramp) -> tuple[BuildStep, ...]:
    return find_build_order(ramp.candidate, ramp.site.catalogue)


def replay(ramp: Ramp, steps: tuple[BuildStep, ...]) -> list[str]:
    """What goes wrong on the way: pieces that fall, weight on feet that are not there, props left over."""
    wrong: list[str] = []
    now = Standing(frozenset(), frozenset(), frozenset())
    for step in steps:
        held = now
        now = Standing(
            now.pieces | ({step.piece} if step.piece else set()),
            now.legs | {*step.legs},
            (now.props | {*step.props}),
        )
        if step.piece and step.piece not in held.pieces:
            wrong += [
                f"{step.number}: {leg} missing"
                for leg in list_missing_feet(ramp.candidate, step.piece, replace(held, legs=now.legs))
            ]
        wrong += [f"{step.number}: {piece} falls" for piece in list_fallen(ramp.candidate, ramp.door, now)]
        now = replace(now, props=now.props - {*step.props_away})
        wrong += [
            f"{step.number}: {piece} falls without its prop"
            for piece in list_fallen(ramp.candidate, ramp.door, now)
        ]
    return wrong + [f"prop left under {piece}" for piece in now.props]


def replay_removal(ramp: Ramp, steps: tuple[RemovalStep, ...]) -> list[str]:
    wrong: list[str] = []
    now = Standing(
        frozenset(piece.id for piece in ramp.candidate.pieces),
        frozenset(leg.id for leg in ramp.candidate.legs),
        frozenset(),
    )
    for step in steps:
        now = Standing(now.pieces - {step.piece}, now.legs - {*step.legs}, now.props | {*step.props})
        now = replace(now, props=now.props - {*step.props_away})
        wrong += [f"{step.number}: {piece} falls" for piece in list_fallen(ramp.candidate, ramp.door, now)]
    return wrong + [f"left: {one}" for one in (*now.pieces, *now.legs, *now.props)]


@pytest.mark.parametrize("name", NAMES)
def test_at_no_step_is_a_piece_without_support(name: str) -> None:
    ramp = build_ramp(name)
    assert replay(ramp, order_of(ramp)) == []


@pytest.mark.parametrize("name", NAMES)
def test_taken_down_from_the_lowest_end_nothing_is_left_hanging(name: str) -> None:
    ramp = build_ramp(name)
    steps = find_removal_order(ramp.candidate, ramp.site.catalogue)
    assert replay_removal(ramp, steps) == []
    walked = [step.piece for step in steps if step.piece[0] in "PST"]
    levels = {piece.id: piece.corners_m[2][2] for piece in ramp.candidate.pieces}
    assert [levels[one] for one in walked] == sorted(levels[one] for one in walked)
    rails = [rail for step in steps for rail in step.rails]
    assert Counter(rails) == Counter(rail.id for rail in ramp.candidate.rails)


@pytest.mark.parametrize("name", NAMES)
def test_every_piece_leg_and_rail_of_the_plan_is_in_the_order_once(name: str) -> None:
    ramp = build_ramp(name)
    steps = order_of(ramp)
    assert [step.number for step in steps] == list(range(1, len(steps) + 1))
    placed = [step.piece for step in steps if step.piece and step.action != "fit rails"]
    assert Counter(placed) == Counter(piece.id for piece in ramp.candidate.pieces)
    assert Counter(leg for step in steps for leg in step.legs) == Counter(
        leg.id for leg in ramp.candidate.legs
    )
    assert Counter(rail for step in steps for rail in step.rails) == Counter(
        rail.id for rail in ramp.candidate.rails
    )


@pytest.mark.parametrize("name", NAMES)
def test_structure_from_the_door_down_then_rails_from_the_top(name: str) -> None:
    ramp = build_ramp(name)
    steps = order_of(ramp)
    first_rail = min((step.number for step in steps if step.action == "fit rails"), default=len(steps) + 1)
    assert [step.action for step in steps if step.number == first_rail - 1] == ["tighten"]
    assert all(step.action == "fit rails" for step in steps if step.number >= first_rail)
    levels = {piece.id: piece.corners_m[0][2] for piece in ramp.candidate.pieces}
    for kinds in ({"set"}, {"fit rails"}):
        falling = [levels[step.piece] for step in steps if step.action in kinds]
        assert falling == sorted(falling, reverse=True)


def test_a_section_that_ends_on_a_landing_waits_on_a_prop_for_it() -> None:
    steps = order_of(build_ramp("half turn left"))
    propped = [step for step in steps if step.props]
    freed = [step for step in steps if step.props_away]
    assert [(step.piece, step.props) for step in propped] == [("S2", ("S2",))]
    assert [(step.piece, step.props_away) for step in freed] == [("P2", ("S2",))]


def test_steps_are_hung_as_soon_as_their_landing_stands_and_go_just_before_it() -> None:
    ramp = build_ramp("with steps")
    placed = [step.piece for step in order_of(ramp) if step.piece and step.action != "fit rails"]
    assert placed[:3] == ["P1", "D1", "F1"]
    gone = [step.piece for step in find_removal_order(ramp.candidate, ramp.site.catalogue)]
    assert gone[-3:] == ["F1", "D1", "P1"]


def swap(steps: tuple[BuildStep, ...], first: int, second: int) -> tuple[BuildStep, ...]:
    order = list(steps)
    order[first], order[second] = order[second], order[first]
    return tuple(replace(step, number=i) for i, step in enumerate(order, start=1))


def test_every_exchange_of_two_steps_that_set_neighbours_is_noticed() -> None:
    """A wrong order is one where the lower piece comes first; the replay must object to each."""
    ramp = build_ramp("half turn left")
    steps = order_of(ramp)
    sections = [i for i, step in enumerate(steps) if step.action == "set" and step.piece.startswith("S")]
    assert len(sections) == 5
    for i in sections:
        assert replay(ramp, swap(steps, i, i - 1 if steps[i - 1].action == "set" else i - 2)) != [], i


def test_damage_to_feet_and_props_is_noticed() -> None:
    ramp = build_ramp("half turn left")
    steps = order_of(ramp)
    for i, step in enumerate(steps):
        for name in ("legs", "props"):
            if getattr(step, name):
                damaged = (*steps[:i], replace(step, **{name: ()}), *steps[i + 1 :])
                assert replay(ramp, damaged) != [], (i, name)
        if step.props_away:
            early = (*steps[: i - 1], replace(steps[i - 1], props_away=step.props_away), *steps[i:])
            assert replay(ramp, early) != []
            assert replay(ramp, (*steps[:i], replace(step, props_away=()), *steps[i + 1 :])) == [
                f"prop left under {step.props_away[0]}"
            ]


def test_a_prop_too_few_when_taken_down_is_noticed() -> None:
    ramp = build_ramp("half turn left")
    steps = find_removal_order(ramp.candidate, ramp.site.catalogue)
    bare = tuple(replace(step, props=()) for step in steps)
    assert replay_removal(ramp, bare) != []


def test_a_plan_whose_legs_are_gone_is_refused_with_every_place() -> None:
    ramp = build_ramp("straight")
    legless = ramp.candidate.model_copy(update={"legs": ()})
    with pytest.raises(InputError) as told:
        list_bearings(legless)
    text = str(told.value)
    assert "P1: nothing carries its corners" in text
    assert "S1: nothing carries its lower end" in text
    assert "S3: nothing carries its lower end" in text
    assert "T1: nothing carries its upper end" in text


def test_the_lift_limit_is_the_load_constant_of_the_lifting_equation() -> None:
    """23 kg or 51 lb: DHHS (NIOSH) 94-110, load constant LC; the two agree to half a pound."""
    assert pytest.approx(51 * 0.45359237, abs=0.25) == LIFT_PER_PERSON_KG


@pytest.mark.parametrize(
    ("weight_kg", "people"),
    [(1.0, 2), (46.0, 2), (46.001, 3), (69.0, 3), (69.001, 4), (92.0, 4), (92.001, 5)],
)
def test_people_by_weight_exactly_on_and_just_off(weight_kg: float, people: int) -> None:
    assert count_lifters(weight_kg, FEWEST_TO_HOLD) == people
    assert Lift(weight_kg, people, MOST_AT_A_SECTION).needs_gear is (weight_kg > 92.0)
    assert Lift(weight_kg, people, MOST_AT_A_LANDING).needs_gear is False


def test_a_plate_that_one_can_carry_takes_one() -> None:
    assert count_lifters(23.0, FEWEST_TO_LAY) == 1
    assert count_lifters(23.001, FEWEST_TO_LAY) == 2


@pytest.mark.parametrize("name", NAMES)
def test_lifts_weigh_what_is_bolted_together(name: str) -> None:
    """All lifts, pads and rails make the weight of the ramp in the plan."""
    ramp = build_ramp(name)
    steps = order_of(ramp)
    catalogue = ramp.site.catalogue
    lifted = sum(step.lift.weight_kg for step in steps if step.lift is not None)
    rails = sum(catalogue.part(rail.catalogue_id).weight_kg for rail in ramp.candidate.rails)
    pads = sum(
        catalogue.part(one.catalogue_id).weight_kg
        for one in ramp.candidate.pieces
        if one.kind == "bottom_pad"
    )
    assert lifted + rails + pads == pytest.approx(ramp.candidate.weight_kg, abs=1e-6)
    heaviest = find_heaviest(steps)
    assert heaviest is not None
    assert heaviest.lift is not None
    assert heaviest.lift.weight_kg == max(step.lift.weight_kg for step in steps if step.lift is not None)
