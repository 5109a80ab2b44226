"""A legal ramp damaged in its legs: exactly the clauses that speak of the damage fail."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.standards.damage import (
    MONEY,
    box_at,
    change_leg,
    failed_clauses,
    find_failed,
    with_obstacle,
)
from tests.standards.ramp_on_a_plane import build_ramp

RAMP, CASE = build_ramp()


def test_a_missing_leg_is_missed_and_an_idle_one_is_refused() -> None:
    without = RAMP.model_copy(update={"legs": RAMP.legs[1:]})
    assert failed_clauses(without, CASE) == {"build.support_count", *MONEY}
    idle = RAMP.legs[0].model_copy(update={"id": "leg 99"})
    assert failed_clauses(RAMP.model_copy(update={"legs": (*RAMP.legs, idle)}), CASE) == {
        "build.support_count",
        *MONEY,
    }


def test_a_leg_at_the_wrong_side_of_its_joint_is_off_its_station() -> None:
    left = next(leg for leg in RAMP.legs if leg.station == "joint-left")
    right = next(leg for leg in RAMP.legs if leg.station == "joint-right" and leg.piece == left.piece)
    changed = change_leg(RAMP, left.id, x_m=right.x_m, y_m=right.y_m)
    assert "build.station" in failed_clauses(changed, CASE)


def test_a_setting_must_give_the_height() -> None:
    leg = next(leg for leg in RAMP.legs if leg.leg_type == "leg-short")
    hole, screw = leg.setting.removeprefix("hole ").removesuffix(" mm").split(", screw ")
    same_height = f"hole {int(hole) - 1}, screw {int(screw) + 25} mm"
    for wrong in (f"hole {hole}, screw {int(screw) + 2} mm", same_height, "hole ?", "screw 12 mm"):
        assert failed_clauses(change_leg(RAMP, leg.id, setting=wrong), CASE) == {"build.setting"}


def test_a_leg_type_its_piece_does_not_list_is_refused() -> None:
    parts = CASE.catalogue
    landings = tuple(replace(landing, legs=("leg-short",)) for landing in parts.landings)
    case = replace(CASE, catalogue=replace(parts, landings=landings))
    assert failed_clauses(RAMP, case) == {"build.support_type"}


def test_a_leg_out_of_its_range_fails_for_that_alone() -> None:
    height = max(leg.height_m for leg in RAMP.legs)
    tallest = next(leg for leg in RAMP.legs if leg.height_m == height)
    for reserve, expected in ((0.02, set()), (0.03, {"build.leg_range"})):
        legs = tuple(
            replace(leg, max_m=height + 0.025, reserve_m=reserve) if leg.id == "leg-long" else leg
            for leg in CASE.catalogue.legs
        )
        case = replace(CASE, catalogue=replace(CASE.catalogue, legs=legs))
        stated = RAMP
        for leg in RAMP.legs:
            if leg.leg_type == "leg-long":
                stated = change_leg(stated, leg.id, range_m=(0.25, height + 0.025), reserve_m=reserve)
        assert failed_clauses(stated, case) == expected
        assert {f.subject for f in find_failed(stated, case)} <= {tallest.id}


def test_a_tall_leg_is_braced_and_a_short_one_is_not() -> None:
    tallest = max(leg.height_m for leg in RAMP.legs)
    for brace_above, fails in ((tallest + 0.001, False), (tallest - 0.001, True)):
        legs = tuple(replace(leg, brace_above_m=brace_above) for leg in CASE.catalogue.legs)
        case = replace(CASE, catalogue=replace(CASE.catalogue, legs=legs))
        unbraced = RAMP
        for leg in RAMP.legs:
            unbraced = change_leg(unbraced, leg.id, brace=None)
        expected = {"build.brace"} if fails else set()
        assert failed_clauses(unbraced, case) - MONEY == expected


def test_a_foot_may_stand_on_a_step_that_carries_all_of_it() -> None:
    leg = next(leg for leg in RAMP.legs if leg.piece == "L0")
    reach = 0.15 / 2**0.5 + 0.02
    top = leg.ground_elevation_m + 0.05
    case = with_obstacle(CASE, box_at((leg.x_m, leg.y_m), reach + 0.001), top, may_stand=True)
    height = leg.height_m - 0.05
    setting = f"screw {round((height - 0.25) * 1000)} mm"
    raised = change_leg(RAMP, leg.id, ground_elevation_m=top, height_m=height, setting=setting)
    assert failed_clauses(raised, case) - {"build.brace"} == set()
    small = with_obstacle(CASE, box_at((leg.x_m, leg.y_m), reach - 0.001), top, may_stand=True)
    assert "build.foot" in failed_clauses(raised, small)
    assert "build.foot" in failed_clauses(
        raised, with_obstacle(CASE, box_at((leg.x_m, leg.y_m), reach + 0.1), top)
    )


def test_a_leg_whose_levels_are_wrong_together_is_still_noticed() -> None:
    """Each pair of numbers agrees with the other, and both are wrong."""
    leg = next(leg for leg in RAMP.legs if leg.leg_type == "leg-long")
    taller = {"height_m": leg.height_m + 0.01, "setting": f"screw {round((leg.height_m - 0.24) * 1000)} mm"}
    sunk = change_leg(RAMP, leg.id, ground_elevation_m=leg.ground_elevation_m - 0.01, **taller)
    assert failed_clauses(sunk, CASE) == {"build.leg_ground"}
    raised = change_leg(RAMP, leg.id, frame_elevation_m=leg.frame_elevation_m + 0.01, **taller)
    assert failed_clauses(raised, CASE) == {"build.frame"}


def test_a_height_is_frame_less_bedded_ground() -> None:
    """Without the bedding every leg would be too short by what its foot sinks."""
    dry = RAMP
    for leg in RAMP.legs:
        dry = change_leg(dry, leg.id, height_m=leg.height_m - CASE.bedding_m)
    assert failed_clauses(dry, CASE) == {"build.leg_height", "build.setting"}


def test_a_leg_shorter_than_its_reserve_allows_fails_for_that_alone() -> None:
    shortest = min((leg for leg in RAMP.legs if leg.leg_type == "leg-long"), key=lambda leg: leg.height_m)
    for low, expected in (
        (shortest.height_m - 0.026, set()),
        (shortest.height_m - 0.024, {"build.leg_range"}),
    ):
        legs = tuple(replace(leg, min_m=low) if leg.id == "leg-long" else leg for leg in CASE.catalogue.legs)
        case = replace(CASE, catalogue=replace(CASE.catalogue, legs=legs))
        stated = RAMP
        for leg in RAMP.legs:
            if leg.leg_type == "leg-long":
                screw = round((leg.height_m - low) * 1000)
                stated = change_leg(stated, leg.id, range_m=(low, 1.4), setting=f"screw {screw} mm")
        assert failed_clauses(stated, case) == expected
        assert {finding.subject for finding in find_failed(stated, case)} <= {shortest.id}


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"leg_type": "stilt"}, 'the catalogue has no support "stilt"'),
        ({"kind": "low_support"}, '"leg-long" is no low support'),
        ({"foot": "shoe"}, 'its foot is "foot" in the catalogue, not "shoe"'),
    ],
)
def test_a_support_is_what_the_catalogue_says_it_is(change: dict[str, object], says: str) -> None:
    leg = next(leg for leg in RAMP.legs if leg.leg_type == "leg-long")
    found = find_failed(change_leg(RAMP, leg.id, **change), CASE)
    assert any(says in f.text for f in found if (f.clause, f.subject) == ("build.support_type", leg.id))


def test_the_place_without_a_leg_and_the_leg_without_a_place_are_named() -> None:
    first, *rest = RAMP.legs
    without = find_failed(RAMP.model_copy(update={"legs": tuple(rest)}), CASE)
    assert "no support at its corner" in next(f.text for f in without if f.subject == first.piece)
    idle = first.model_copy(update={"id": "leg 99"})
    found = find_failed(RAMP.model_copy(update={"legs": (*RAMP.legs, idle)}), CASE)
    assert "asks for it" in next(f.text for f in found if f.subject in (idle.id, first.id))
