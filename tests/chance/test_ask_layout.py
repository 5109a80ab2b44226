from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from optimizer.catalogue.parts import StockLevel
from optimizer.chance.ask_layout import LandingLimits, ask_layout
from optimizer.chance.joint_chance import add_chances, measure_chances
from optimizer.chance.layout_question import LayoutQuestion, Window
from optimizer.chance.regrade import regrade
from optimizer.chance.sampled_layout import sample_layout
from optimizer.errors import InternalError
from optimizer.plan import Candidate
from optimizer.standards.case import CheckCase
from tests.chance.made_questions import NONE, NormalGround
from tests.standards.ramp_on_a_plane import build_ramp

SLOPE = 1 / 13
LIMITS = LandingLimits(1 / 12, 1 / 48, 0.00635)
TURNED = ((("section", "section"), ("section",)), ("left",))


def ask(ramp: tuple[Candidate, CheckCase], limits: LandingLimits = LIMITS) -> LayoutQuestion:
    candidate, case = ramp
    return ask_layout(candidate, case.catalogue, case.ground, limits)


def on_ground(question: LayoutQuestion, case: CheckCase, shift_m: float = 0.0) -> NormalGround:
    """The ground of the case, raised everywhere by the same, known without error."""
    places = np.vstack([one.xy_m for one in (*question.supports, *question.windows)])
    places = np.vstack([places, question.tip_xy_m])
    return NormalGround(places, case.ground.elevation(places) + shift_m, np.zeros((len(places),) * 2))


def heights_at(question: LayoutQuestion, case: CheckCase, shift_m: float) -> np.ndarray:
    return sample_layout(question, on_ground(question, case, shift_m), NONE, 1, 1).heights_m[0]


def kinds_held(question: LayoutQuestion, case: CheckCase, shift_m: float) -> dict[str, float]:
    chances = measure_chances(sample_layout(question, on_ground(question, case, shift_m), NONE, 4, 1))
    return {kind: chance.share for kind, chance in chances.kinds}


@pytest.mark.parametrize("shape", [((("section",) * 3,), ()), TURNED])
def test_on_the_planned_ground_every_height_is_the_plan_s_and_all_holds(
    shape: tuple[tuple[tuple[str, ...], ...], tuple[str, ...]],
) -> None:
    ramp = build_ramp(*shape)
    question = ask(ramp)
    heights = heights_at(question, ramp[1], 0.0)
    assert heights == pytest.approx([leg.height_m for leg in ramp[0].legs], abs=1e-4)
    chances = measure_chances(sample_layout(question, on_ground(question, ramp[1]), NONE, 4, 1))
    assert chances.legs_fit is not None
    assert chances.all_holds is not None
    assert (chances.legs_fit.share, chances.all_holds.share) == (1.0, 1.0)
    assert {kind for kind, _ in chances.kinds} == {"clearance", "plate", "bottom"}


def test_supports_may_be_any_type_their_piece_takes() -> None:
    ramp = build_ramp()
    catalogue = ramp[1].catalogue
    for spot, leg in zip(ask(ramp).supports, ramp[0].legs, strict=True):
        piece = next(piece for piece in ramp[0].pieces if piece.id == leg.piece)
        part = catalogue.part(piece.catalogue_id)
        assert leg.leg_type in spot.options
        if leg.station.startswith("hinge"):
            assert set(spot.options) == set(part.low_supports)
        elif piece.kind == "landing":
            assert set(spot.options) == set(part.legs)
        else:
            assert set(spot.options) == {*part.legs, *part.low_supports}


def test_a_range_loses_its_reserve_at_both_ends() -> None:
    ramp = build_ramp()
    for spot, leg in zip(ask(ramp).supports, ramp[0].legs, strict=True):
        assert spot.low_m == pytest.approx(leg.range_m[0] + leg.reserve_m, abs=2e-6)
        assert spot.high_m == pytest.approx(leg.range_m[1] - leg.reserve_m, abs=2e-6)


def test_stock_bounds_the_spares_beyond_what_is_planned() -> None:
    candidate, case = build_ramp()
    planned = candidate.legs[0].leg_type
    used = sum(leg.leg_type == planned for leg in candidate.legs)
    for in_stock, most in ((used + 2, 2), (used, 0), (used - 1, 0)):
        catalogue = replace(case.catalogue, stock=(StockLevel(planned, in_stock),))
        types = ask_layout(candidate, catalogue, case.ground, LIMITS).types
        assert {one.id: one.most for one in types}[planned] == most
        assert all(one.most is None for one in types if one.id != planned)


def test_hung_from_the_door_every_leg_bears_all_of_a_common_error() -> None:
    ramp = build_ramp(*TURNED)
    question = ask(ramp)
    longer = heights_at(question, ramp[1], -0.02) - heights_at(question, ramp[1], 0.0)
    assert longer == pytest.approx(np.full(len(longer), 0.02), abs=1e-4)


def test_set_anew_the_first_legs_bear_a_common_error_and_the_last_hardly_any() -> None:
    ramp = build_ramp(*TURNED)
    question = regrade(ask(ramp), ramp[0], 1 / 12)
    longer = heights_at(question, ramp[1], -0.02) - heights_at(question, ramp[1], 0.0)
    deck = {leg.id: leg.frame_elevation_m for leg in ramp[0].legs}
    door = [i for i, leg in enumerate(ramp[0].legs) if leg.piece == ramp[0].legs[0].piece]
    assert longer[door] == pytest.approx(np.full(len(door), 0.02), abs=1e-4)
    # At the hinge what is left is the plate's share of the fall.
    plate_fall = 0.9 * SLOPE / math.hypot(1, SLOPE)
    fall = max(deck.values()) + 0.0 - min(deck.values()) + plate_fall
    assert longer[-2:] == pytest.approx(np.full(2, 0.02 * plate_fall / fall), rel=0.05)
    assert (np.diff(longer) <= 1e-4).all()


def test_the_threshold_s_error_acts_like_one_of_all_the_ground() -> None:
    ramp = build_ramp(*TURNED)
    for question in (ask(ramp), regrade(ask(ramp), ramp[0], 1 / 12)):
        up = replace(NONE, threshold_m=1.0)
        sampled = sample_layout(question, on_ground(question, ramp[1]), up, 1, 5)
        raised = float(np.random.default_rng((5, 1)).standard_normal((1, 1))[0, 0])
        lowered = heights_at(question, ramp[1], -raised)
        assert sampled.heights_m[0] == pytest.approx(lowered, abs=2e-4)


def test_set_anew_the_allowed_slope_can_be_used_up() -> None:
    ramp = build_ramp()
    candidate = ramp[0]
    decks = [p for p in candidate.pieces if p.kind in ("landing", "section")]
    fall = max(c[2] for p in decks for c in p.corners_m) - candidate.toe.ground_elevation_m
    spare = fall * ((1 / 12) / SLOPE - 1.0)
    question = regrade(ask(ramp), candidate, 1 / 12)
    assert kinds_held(question, ramp[1], -spare + 2e-6)["slope"] == 1.0
    assert kinds_held(question, ramp[1], -spare - 2e-5)["slope"] == 0.0


def test_the_plate_s_slope_is_held_to_its_limit() -> None:
    ramp = build_ramp()
    piece = next(p for p in ramp[0].pieces if p.kind == "transition_plate")
    length = ramp[1].catalogue.part(piece.catalogue_id).length_m
    most = length / math.hypot(12.0, 1.0)
    now = piece.corners_m[0][2] - ramp[0].toe.ground_elevation_m
    question = ask(ramp)
    assert kinds_held(question, ramp[1], -(most - now) + 2e-5)["plate"] == 1.0
    assert kinds_held(question, ramp[1], -(most - now) - 2e-5)["plate"] == 0.0
    assert kinds_held(question, ramp[1], now - 2e-5)["plate"] == 1.0
    assert kinds_held(question, ramp[1], now + 2e-5)["plate"] == 0.0


def test_clearance_is_lost_where_the_ground_comes_up() -> None:
    ramp = build_ramp()
    question = ask(ramp)
    spare = min(
        one.steel_m - float(ramp[1].ground.elevation(one.xy_m)[0]) - one.low_m
        for one in question.windows
        if one.kind == "clearance"
    )
    assert spare > 0.0
    assert kinds_held(question, ramp[1], spare - 1e-5)["clearance"] == 1.0
    assert kinds_held(question, ramp[1], spare + 1e-5)["clearance"] == 0.0


@pytest.mark.parametrize("direction", np.linspace(0.0, 2 * math.pi, 17).tolist())
@pytest.mark.parametrize(("share", "holds"), [(0.999, True), (1.0095, False)])
def test_the_bottom_s_slope_is_held_in_every_direction(
    direction: float, share: float, *, holds: bool
) -> None:
    ramp = build_ramp()
    question = replace(ask(ramp), windows=tuple(w for w in ask(ramp).windows if w.subject == "bottom"))
    assert len(question.windows) == 12
    model = on_ground(question, ramp[1])
    uphill = np.array([math.cos(direction), math.sin(direction)]) * share / 48
    tilted = NormalGround(model.places, model.places @ uphill, model.matrix)
    sampled = sample_layout(question, tilted, NONE, 1, 1)
    assert bool(sampled.holds.all()) is holds


def test_with_a_pad_levels_may_differ_by_what_it_evens_out() -> None:
    ramp = build_ramp(pad=True)
    question = ask(ramp)
    pads = [one for one in question.windows if one.kind == "bottom"]
    most = ramp[1].catalogue.bottom_pads[0].greatest_level_difference_m
    assert len(pads) == 4
    assert all(one.high_m == pytest.approx(most, abs=2e-6) for one in pads)


def test_a_foot_on_something_built_does_not_follow_the_ground() -> None:
    candidate, case = build_ramp()
    first = candidate.legs[0]
    on_slab = first.model_copy(update={"ground_elevation_m": first.ground_elevation_m + 0.1})
    candidate = candidate.model_copy(update={"legs": (on_slab, *candidate.legs[1:])})
    question = ask((candidate, case))
    assert question.supports[0].built_level_m == on_slab.ground_elevation_m
    assert question.supports[1].built_level_m is None
    heights = heights_at(question, case, -0.5)
    assert heights[0] == pytest.approx(on_slab.height_m, abs=1e-6)
    assert heights[1] == pytest.approx(candidate.legs[1].height_m + 0.5, abs=1e-4)


def test_chances_go_into_the_plan_s_own_fields() -> None:
    ramp = build_ramp()
    question = ask(ramp)
    chances = measure_chances(sample_layout(question, on_ground(question, ramp[1]), NONE, 4, 1))
    told = add_chances(ramp[0], chances)
    assert told.fit_chance == 1.0
    assert [leg.fit_chance for leg in told.legs] == [1.0] * len(told.legs)
    assert told.model_copy(update={"legs": ramp[0].legs, "fit_chance": None}) == ramp[0]


def test_ground_left_open_makes_its_legs_and_the_layout_unknown() -> None:
    ramp = build_ramp()
    question = ask(ramp)
    model = on_ground(question, ramp[1])
    gone = np.abs(model.places - question.supports[2].xy_m[0]).max(axis=1) < 1e-9
    holed = NormalGround(model.places, np.where(gone, np.nan, model.mean), model.matrix)
    chances = measure_chances(sample_layout(question, holed, NONE, 4, 1))
    assert [one.id for one in chances.legs if one.chance is None] == [question.supports[2].id]
    assert chances.open_ids == (question.supports[2].id,)
    assert chances.legs_fit is None
    assert chances.all_holds is None
    assert add_chances(ramp[0], chances).fit_chance is None


def test_a_ramp_that_does_not_descend_cannot_be_set_anew() -> None:
    ramp = build_ramp()
    level = ramp[0].model_copy(update={"steepest_slope": 0.0})
    with pytest.raises(InternalError, match="descend"):
        regrade(ask(ramp), level, 1 / 12)


def test_a_window_far_from_its_end_is_not_sampled() -> None:
    ramp = build_ramp()
    question = ask(ramp)
    high = Window("S9", "clearance", question.tip_xy_m[None], np.ones(1), 50.0, 0.05, math.inf, 1.0)
    with_high = replace(question, windows=(*question.windows, high))
    sampled = sample_layout(with_high, on_ground(with_high, ramp[1]), NONE, 2, 1)
    assert "S9" not in {one.subject for one in sampled.windows}
