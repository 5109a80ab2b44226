"""One landing, judged by the sizes that different documents ask of it at different places.

Sources and values (clear sizes; length along the way that arrives):
- ADA 2010, 405.7.3 and 405.7.4: 60 in long; 60 x 60 in where the way turns.
- ICC A117.1-2017, 304.3.1.1 with 405.7.4: 67 in both ways where the way turns, in new buildings.
- California 2019, 11B-405.7.2 to 405.7.4: top 60 in wide, bottom 72 in long, turns 60 x 72 in with the
  72 in the direction of downward travel of the upper run.
- IRC, R311.8.2: 36 x 36 in.
- England, Approved Document M volume 2, 1.26: ends 1.2 m, between runs 1.5 m long; a passing place of
  1.8 x 1.8 m where there are three flights and more; landings 1:60 along and 1:40 across.
- Ontario, 3.8.3.4(1)(d): 1670 mm long between runs and at turns, as wide as the ramp.
- Australia, AS 1428.1 (2009), 10.8: a quarter turn 1500 x 1500 mm, a half turn 1540 x 2070 mm.
Tolerance: one micrometre.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from optimizer.plan import Candidate, Finding, Piece
from optimizer.rulebook.facts import Condition, JobFacts
from optimizer.rulebook.read_rule_set import read_rule_set
from optimizer.rulebook.rules import Limit, Place, Quantity, RuleSet
from optimizer.standards.check_candidate import CheckCase, check_candidate
from tests.standards.damage import change_piece
from tests.standards.ramp_on_a_plane import build_ramp
from tests.standards.rulings_by_hand import make_limit, make_rules, with_rules

INCH_M = 0.0254
QUARTER = build_ramp((("section",) * 2, ("section",) * 3), ("right",))
HALF = build_ramp((("section",) * 3, ("section",)), ("half_left",))
STRAIGHT = build_ramp((("section",), ("section",) * 3), ("straight",))
BY_SIDE = build_ramp((("section",) * 3,), leave="left")
#: Gentle enough to stay above its ground.
THREE = build_ramp(
    (("section",), ("section",), ("section",)), ("right", "left"), slope=1 / 13, gradient=(0.0, 0.0)
)


def at_least(quantity: Quantity, size_m: float, place: Place = "any") -> Limit:
    return make_limit(quantity, ">=", size_m, place=place)


def document(name: str, *limits: Limit) -> RuleSet:
    return make_rules(*limits, name=name)


ADA = document("ada", at_least("landing_length", 60 * INCH_M), at_least("landing_turn", 60 * INCH_M))
A117 = document("a117", at_least("landing_length", 60 * INCH_M), at_least("landing_turn", 67 * INCH_M))
CALIFORNIA = document(
    "california",
    at_least("landing_length", 60 * INCH_M, "top"),
    at_least("landing_width", 60 * INCH_M, "top"),
    at_least("landing_length", 60 * INCH_M, "between"),
    at_least("landing_length", 72 * INCH_M, "turn"),
    at_least("landing_turn", 60 * INCH_M),
)
IRC = document("irc", at_least("landing_length", 36 * INCH_M), at_least("landing_width", 36 * INCH_M))
ENGLAND = document(
    "england",
    at_least("landing_length", 1.2, "top"),
    at_least("landing_length", 1.2, "bottom"),
    at_least("landing_length", 1.5, "between"),
)
AUSTRALIA = document(
    "australia",
    at_least("landing_turn", 1.5, "quarter_turn"),
    at_least("landing_length", 1.54, "half_turn"),
    at_least("landing_width", 2.07, "half_turn"),
)
ALL = (ADA, A117, CALIFORNIA, IRC, ENGLAND, AUSTRALIA)


def resized(case: CheckCase, length_m: float, width_m: float, *parts: str) -> CheckCase:
    """The landings (or those named) of these clear sizes."""
    landings = tuple(
        replace(part, clear_length_m=length_m, clear_width_m=width_m)
        if not parts or part.id in parts
        else part
        for part in case.catalogue.landings
    )
    return replace(case, catalogue=replace(case.catalogue, landings=landings))


def find(ramp: tuple[Candidate, CheckCase], *sets: RuleSet, subject: str) -> list[Finding]:
    candidate, case = ramp
    names = {rules.id for rules in sets}
    return [
        finding
        for finding in check_candidate(candidate, with_rules(case, *sets))
        if finding.rules in names and finding.subject == subject
    ]


def who_fails(ramp: tuple[Candidate, CheckCase], subject: str) -> set[str]:
    found = find(ramp, *ALL, subject=subject)
    assert {finding.verdict for finding in found} <= {"meets", "fails", "does not apply"}
    return {finding.rules for finding in found if finding.verdict == "fails"}


@pytest.mark.parametrize(
    ("length", "width", "failing"),
    [
        (60.0, 60.0, {"a117", "california"}),
        (72.0, 60.0, {"a117"}),
        (60.0, 72.0, {"a117", "california"}),
        (67.0, 67.0, {"california"}),
        (72.0, 67.0, set()),
        (66.9999, 72.0, {"a117", "california"}),
        (59.999, 72.0, {"ada", "a117", "california"}),
        (72.0, 59.999, {"ada", "a117", "california"}),
        (59.0, 59.0, {"ada", "a117", "california", "england", "australia"}),
        (36.0, 36.0, {"ada", "a117", "california", "england", "australia"}),
        (35.999, 36.0, {"ada", "a117", "california", "england", "australia", "irc"}),
    ],
)
def test_one_quarter_turn_passes_one_document_and_fails_another(
    length: float, width: float, failing: set[str]
) -> None:
    candidate, case = QUARTER
    assert who_fails((candidate, resized(case, length * INCH_M, width * INCH_M)), "L1") == failing


def test_a_hair_below_each_documents_own_turn_fails_it_and_nothing_less_does() -> None:
    candidate, case = QUARTER
    for rules, length_m, width_m in (
        (ADA, 60 * INCH_M, 60 * INCH_M),
        (A117, 67 * INCH_M, 67 * INCH_M),
        (CALIFORNIA, 72 * INCH_M, 60 * INCH_M),
        (IRC, 36 * INCH_M, 36 * INCH_M),
        (ENGLAND, 1.5, 1.5),
        (AUSTRALIA, 1.5, 1.5),
    ):
        for hair_m, verdict in ((-1e-5, True), (-1e-7, False), (0.0, False)):
            for sizes in ((length_m + hair_m, width_m), (length_m, width_m + hair_m)):
                ramp = (candidate, resized(case, *sizes))
                failed = [f for f in find(ramp, rules, subject="L1") if f.verdict == "fails"]
                assert bool(failed) is verdict, (rules.id, sizes)


@pytest.mark.parametrize(
    ("length_m", "width_m", "failing"),
    [(1.83, 2.07, set()), (1.54, 2.07, {"a117", "california"}), (1.83, 2.069, {"australia"})],
)
def test_a_half_turn_has_sizes_of_its_own(length_m: float, width_m: float, failing: set[str]) -> None:
    candidate, case = HALF
    assert who_fails((candidate, resized(case, length_m, width_m, "landing-half")), "L1") == failing


def test_a_landing_that_does_not_turn_is_as_wide_as_any_document_wants_runs() -> None:
    candidate, case = STRAIGHT
    assert who_fails((candidate, resized(case, 1.53, 0.95)), "L1") == set()
    assert who_fails((candidate, resized(case, 1.45, 0.95)), "L1") == {"ada", "a117", "california", "england"}


def test_the_landing_at_the_door_turns_when_it_is_left_by_its_side() -> None:
    candidate, case = BY_SIDE
    assert who_fails((candidate, resized(case, 60 * INCH_M, 60 * INCH_M)), "L0") == {"a117", "california"}
    front, front_case = STRAIGHT
    assert who_fails((front, resized(front_case, 60 * INCH_M, 60 * INCH_M)), "L0") == set()
    # The top landing of England is 1.2 m long for the run that leaves it, too.
    assert "england" in who_fails((candidate, resized(case, 1.3, 1.1)), "L0")
    assert "england" not in who_fails((front, resized(front_case, 1.3, 1.1)), "L0")


def test_each_place_speaks_of_its_own_landings_alone() -> None:
    candidate, case = HALF
    subjects: dict[Place, set[str]] = {
        "any": {"L0", "L1", "bottom space"},
        "top": {"L0"},
        "bottom": {"bottom space"},
        "between": {"L1"},
        "turn": {"L1"},
        "half_turn": {"L1"},
    }
    for place, expected in subjects.items():
        rules = make_rules(make_limit("landing_length", ">=", 1.0, place=place))
        found = [f for f in check_candidate(candidate, with_rules(case, rules)) if f.rules == "test"]
        assert {f.subject for f in found} == expected, place
    elsewhere: tuple[Place, ...] = ("straight", "quarter_turn")
    for place in elsewhere:
        rules = make_rules(make_limit("landing_length", ">=", 1.0, place=place))
        (found_none,) = [f for f in check_candidate(candidate, with_rules(case, rules)) if f.rules == "test"]
        assert found_none.verdict == "does not apply"


#: Shipped rule sets and what is answered where they ask.
FACTS = JobFacts(egress_door="yes", works="new", space_limited="no", building="other",
                 dwelling_category="1", occupants="fewer_than_50")  # fmt: skip
SHIPPED = (
    "ada-2010",
    "a117.1-2017",
    "california-11b",
    "irc-2015",
    "england-adm-2",
    "as-1428.1",
    "ontario-obc",
)


def shipped_failing(ramp: tuple[Candidate, CheckCase], subject: str, facts: JobFacts = FACTS) -> set[str]:
    """The shipped sets by which a landing's size fails."""
    candidate, case = ramp
    sets = [read_rule_set(name) for name in SHIPPED]
    sizes = {one.clause for rules in sets for one in rules.limits if one.quantity.startswith("landing_")}
    found = check_candidate(candidate, with_rules(case, *sets, facts=facts))
    return {f.rules for f in found if f.subject == subject and f.verdict == "fails" and f.clause in sizes}


@pytest.mark.parametrize(
    ("length", "width", "failing"),
    [
        (60.0, 60.0, {"a117.1-2017", "california-11b", "ontario-obc"}),
        (67.0, 67.0, {"california-11b"}),
        (72.0, 60.0, {"a117.1-2017", "ontario-obc"}),
        (72.0, 67.0, set()),
        (72.0, 59.9, {"ada-2010", "a117.1-2017", "california-11b", "ontario-obc"}),
        (36.0, 36.0, {*SHIPPED} - {"irc-2015"}),
        (35.9, 36.0, {*SHIPPED}),
    ],
)
def test_one_quarter_turn_under_the_shipped_rule_sets(length: float, width: float, failing: set[str]) -> None:
    candidate, case = QUARTER
    assert shipped_failing((candidate, resized(case, length * INCH_M, width * INCH_M)), "L1") == failing


def test_a_turn_in_an_existing_building_may_be_smaller() -> None:
    candidate, case = QUARTER
    square = (candidate, resized(case, 60 * INCH_M, 60 * INCH_M))
    existing = replace(FACTS, works="existing", space_limited="yes", space_limited_reason="a party wall")
    assert "a117.1-2017" in shipped_failing(square, "L1")
    assert "a117.1-2017" not in shipped_failing(square, "L1", existing)


def test_a_half_turn_under_the_australian_set() -> None:
    candidate, case = HALF
    for length_m, width_m, fails in ((1.54, 2.07, False), (1.5399, 2.07, True), (1.54, 2.0699, True)):
        ramp = (candidate, resized(case, length_m, width_m, "landing-half"))
        assert ("as-1428.1" in shipped_failing(ramp, "L1")) is fails


def passing_place(size_m: float, *, always: bool) -> RuleSet:
    limit = make_limit("landing_passing", ">=", size_m)
    return make_rules(limit if always else replace(limit, when=(Condition("runs", ("three_and_more",)),)))


@pytest.mark.parametrize(
    ("ramp", "verdict"), [(STRAIGHT, "does not apply"), (QUARTER, "does not apply"), (THREE, "fails")]
)
def test_a_passing_place_is_asked_of_three_flights(ramp: tuple[Candidate, CheckCase], verdict: str) -> None:
    candidate, case = ramp
    found = check_candidate(candidate, with_rules(case, passing_place(1.8, always=False)))
    (finding,) = [f for f in found if f.rules == "test"]
    assert finding.verdict == verdict
    assert ("does not bind a ramp of" in finding.text) is (verdict == "does not apply")


def test_one_landing_where_two_can_pass_is_enough() -> None:
    candidate, case = HALF
    rules = passing_place(1.8, always=True)
    for length_m, width_m, verdict in (
        (1.8, 1.8, "meets"),
        (1.8 - 1e-7, 2.3, "meets"),
        (1.8 - 1e-5, 2.3, "fails"),
        (2.3, 1.8 - 1e-5, "fails"),
    ):
        sized = resized(case, length_m, width_m, "landing-half")
        (finding,) = [f for f in check_candidate(candidate, with_rules(sized, rules)) if f.rules == "test"]
        assert (finding.verdict, finding.subject) == (verdict, "L1" if length_m > 1.54 else "L0")


@pytest.mark.parametrize(
    ("ramp", "name", "along", "across", "failing"),
    [
        (STRAIGHT, "L1", 1 / 60, 1 / 40, set()),
        (STRAIGHT, "L1", 1 / 59.9, 0.0, {"along"}),
        (STRAIGHT, "L1", 0.0, 1 / 39.9, {"across"}),
        # A quarter turn is walked along both its sides, so neither may fall more than 1:60.
        (QUARTER, "L1", 0.0, 1 / 60, set()),
        (QUARTER, "L1", 0.0, 1 / 59.9, {"along"}),
        (HALF, "L1", 1 / 60, 1 / 40, set()),
        (HALF, "L1", 0.0, 1 / 39.9, {"across"}),
    ],
)
def test_landings_fall_less_along_the_way_than_across_it(
    ramp: tuple[Candidate, CheckCase], name: str, along: float, across: float, failing: set[str]
) -> None:
    candidate, case = ramp
    piece = next(one for one in candidate.pieces if one.id == name)
    corners = np.array(piece.corners_m)
    length, width = (np.linalg.norm((corners[k] - corners[0])[:2]) for k in (3, 1))
    lifts = (0.0, across * width, across * width + along * length, along * length)

    def tilt(one: Piece) -> Piece:
        lifted = [(x, y, z + lift) for (x, y, z), lift in zip(one.corners_m, lifts, strict=True)]
        return one.model_copy(update={"corners_m": tuple(lifted)})

    found = set()
    limits: tuple[tuple[Quantity, float], ...] = (
        ("landing_slope_along", 1 / 60),
        ("landing_slope_across", 1 / 40),
    )
    for quantity, most in limits:
        rules = make_rules(make_limit(quantity, "<=", most))
        tilted = change_piece(candidate, name, tilt)
        (finding,) = find((tilted, case), rules, subject=name)
        if finding.verdict == "fails":
            found.add(quantity.removeprefix("landing_slope_"))
    assert found == failing
