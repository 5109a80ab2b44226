"""Published values of the rule sets, at the level of the law: inside, exactly on, just off.

Each row names where the value was read; what is worked out here from published numbers says 'derived'.
Tolerance: the one comparator's micrometre.  'Plan' is the length on the level, which every source means or
leaves open; along the deck a run at 1:12 is 0.35 % longer.
"""

from __future__ import annotations

import math
from fractions import Fraction
from typing import Final, Literal

import pytest

from optimizer.rulebook.combine_law import combine_laws
from optimizer.rulebook.facts import JobFacts
from optimizer.rulebook.read_rule_set import read_rule_set, rule_set_ids
from optimizer.rulebook.resolve import resolve_rules
from optimizer.rulebook.rules import Limit, Place, Quantity, RuleSet
from optimizer.rulebook.run_law import RunLaw
from optimizer.units import is_at_least, is_at_most
from tests.validation.published_runs import FT, IN, NEW, RUNS, Published


def resolved(rule_set_id: str, facts: JobFacts = NEW, swing: Literal["in", "out"] = "in") -> RuleSet:
    return resolve_rules(read_rule_set(rule_set_id), facts, swing)


def laws_of(rule_set_id: str, facts: JobFacts = NEW) -> tuple[RunLaw, ...]:
    return combine_laws(resolved(rule_set_id, facts))


def allows(rule_set_id: str, rise_m: float, plan_m: float, facts: JobFacts = NEW) -> bool:
    return all(law.allows(rise_m, plan_m) for law in laws_of(rule_set_id, facts))


def only(rules: RuleSet, quantity: Quantity) -> Limit:
    (limit,) = rules.limits_on(quantity)
    return limit


@pytest.mark.parametrize("value", RUNS, ids=lambda value: value.name)
def test_a_published_run_is_allowed_exactly_on_its_limit_and_refused_just_off(value: Published) -> None:
    assert allows(value.rules, *value.inside, value.facts)
    assert allows(value.rules, *value.on, value.facts)
    for rise_m, plan_m in value.off:
        assert not allows(value.rules, rise_m, plan_m, value.facts), (rise_m, plan_m)


def test_the_steep_short_runs_are_refused_on_new_sites() -> None:
    """ADA Table 405.2 is for existing sites short of space alone."""
    for facts in (NEW, JobFacts(works="existing", space_limited="no")):
        assert not allows("ada-2010", 6 * IN, 60 * IN, facts)
        assert not allows("ada-2010", 3 * IN, 24 * IN, facts)


@pytest.mark.parametrize(("unit_m", "rules"), [(IN, "ada-2010"), (0.001, "nz-d1-as1")])
def test_a_thousand_ramps_at_exactly_1_12_are_all_allowed(unit_m: float, rules: str) -> None:
    """Typed in the document's unit, each number rounded to a float once; derived from 1:12 alone."""
    exact_unit = Fraction(repr(unit_m))
    step = Fraction(30 if unit_m == IN else 750, 1000)
    laws = laws_of(rules)
    for count in range(1, 1001):
        rise, plan = count * step * exact_unit, 12 * count * step * exact_unit
        assert all(law.allows(float(rise), float(plan)) for law in laws), count
        assert not all(law.allows(float(rise), float(plan) - 5e-5) for law in laws), count


@pytest.mark.parametrize("tenths", range(30, 61))
def test_luxembourg_is_one_line_in_length_and_percent(tenths: int) -> None:
    """Annex A.3: L = 14 - 4P/3 metres for 3 to 6 percent."""
    percent = tenths / 10
    longest_m = 14 - 4 * percent / 3
    assert allows("luxembourg-a3", percent / 100 * longest_m, longest_m)
    assert not allows("luxembourg-a3", percent / 100 * (longest_m + 0.01), longest_m + 0.01)


@pytest.mark.parametrize("plan_m", [2.0, 2.5, 3.0, 4.0, 5.0, 7.5, 9.0, 10.0])
def test_the_three_rows_of_england_lie_on_one_line(plan_m: float) -> None:
    """Derived: n = L + 10 for 2 to 10 m goes through 1:12 at 2 m, 1:15 at 5 m and 1:20 at 10 m."""
    rise_m = plan_m / (plan_m + 10)
    assert allows("england-adm-2", rise_m, plan_m)
    assert not allows("england-adm-2", rise_m + 2e-6, plan_m)


def shortest_run_m(laws: tuple[RunLaw, ...], rise_m: float) -> float:
    """The shortest plan length in which the laws let a run rise so much: by centimetres, then halving."""

    def fits(plan_m: float) -> bool:
        return all(law.allows(rise_m, plan_m) for law in laws)

    upper_m = next((step / 100 for step in range(1, 1201) if fits(step / 100)), math.inf)
    lower_m = upper_m - 0.01
    for _ in range(40):
        middle_m = (lower_m + upper_m) / 2
        lower_m, upper_m = (lower_m, middle_m) if fits(middle_m) else (middle_m, upper_m)
    return upper_m


def test_450_mm_in_england_are_two_flights_of_2_90_m() -> None:
    """Optimised over the law, not quoted: the best split of the rise over two flights.

    Derived beside it: each flight rises L / (L + 10), least for equal flights: L = 2.25 / 0.775 = 2.903 m.
    """
    laws = laws_of("england-adm-2")
    totals = {
        upper: shortest_run_m(laws, upper / 1000) + shortest_run_m(laws, 0.45 - upper / 1000)
        for upper in range(100, 351, 5)
    }
    best = min(totals, key=lambda upper: totals[upper])
    flight_m = shortest_run_m(laws, best / 1000)
    assert best == 225
    assert flight_m == pytest.approx(2.25 / 0.775, abs=1e-4)
    assert flight_m / 0.225 == pytest.approx(12.9, abs=0.01)
    assert totals[best] < shortest_run_m(laws, 0.45)


@pytest.mark.parametrize(("rise_cm", "total_cm"), [(36, 900), (72, 1650), (90, 2100)])
def test_totals_of_german_ramps(rise_cm: int, total_cm: int) -> None:
    """72 cm take 16.50 m: din18040.de/rampen.htm and Leitfaden 5.2 (d/0.06 + n x 150 + 2 x 150).

    36 and 90 cm are derived by that formula: 600 + 300; 1500 + 2 x 150 + 300.
    """
    rules = resolved("din-18040-1")
    slope, longest = only(rules, "running_slope"), only(rules, "length_per_run")
    landing = only(rules, "landing_length")
    plan_m = rise_cm / 100 / slope.value_si
    between = math.ceil(plan_m / longest.value_si - 1e-9) - 1
    assert plan_m + (between + 2) * landing.value_si == pytest.approx(total_cm / 100, abs=1e-9)


def test_1_12_for_5_m_is_allowed_in_ireland_and_not_in_england() -> None:
    """TGD M 2010 3.1.2.4(d): 5 m; AD M vol. 1 1.7: 2 m."""
    first = JobFacts(dwelling_category="1")
    assert allows("ireland-tgdm-dwellings", 5 / 12, 5.0)
    assert not allows("england-adm-1", 5 / 12, 5.0, first)
    assert allows("england-adm-1", 2 / 12, 2.0, first)
    assert not allows("england-adm-1", 2.01 / 12, 2.01, first)


def test_1_12_is_off_for_category_3_dwellings() -> None:
    """AD M vol. 1 3.10 as an approved inspector reads it."""
    third = JobFacts(dwelling_category="3")
    assert not allows("england-adm-1", 2 / 12, 2.0, third)
    assert allows("england-adm-1", 2 / 15, 2.0, third)


@pytest.mark.parametrize("rules", ["england-adm-1", "england-adm-2", "ireland-tgdm-dwellings"])
def test_a_way_flatter_than_1_20_is_no_ramp_and_may_be_long(rules: str) -> None:
    """AD K 2.3, TGD M 3.1.2.4: a ramp is 1:20 or steeper, so exactly 1:20 is one."""
    facts = JobFacts(dwelling_category="1")
    assert allows(rules, 1.0, 20.01, facts)
    assert not allows(rules, 1.0, 20.0, facts)


def test_a_way_of_exactly_1_20_may_be_long_on_a_trail() -> None:
    """ABA 1017.7.1 limits what is steeper than 1:20."""
    assert allows("aba-1017", 20 * FT, 400 * FT)
    assert not allows("aba-1017", 20 * FT, 399.9 * FT)


def test_the_irc_slope_hangs_on_the_egress_door() -> None:
    """R311.8.1 (2015 and later): 1:12 at the required egress door, 1:8 elsewhere."""
    for answer, on, off in (("yes", 12.0, 11.99), ("no", 8.0, 7.99)):
        facts = JobFacts(egress_door="yes" if answer == "yes" else "no")
        assert allows("irc-2015", 1.0, on, facts)
        assert not allows("irc-2015", 1.0, off, facts)


@pytest.mark.parametrize(
    ("rules", "quantity", "free_m", "bound_m"),
    [
        ("ada-2010", "handrail_rise", 6 * IN, 6.01 * IN),  # ADA 405.8: rise greater than 6 in
        ("ibc-2018", "handrail_rise", 6 * IN, 6.01 * IN),  # IBC 1012.8
        ("irc-2015", "guard_drop", 28 * IN, 31 * IN),  # IRC R312.1.1, digested case of 28 and 31 in
        ("irc-2015", "guard_drop", 30 * IN, 30.01 * IN),  # IRC R312.1.1: more than 30 in
        ("england-adm-2", "total_rise", 2.0, 2.001),  # AD M vol. 2 1.26d
        ("england-adm-2", "steps_rise", 0.299, 0.3),  # AD K 2.6: 300 mm or more
        ("nz-d1-as1", "guard_drop", 0.999, 1.0),  # F4: a fall of 1 m or more
        ("england-adm-1", "handrail_drop", 0.6, 0.601),  # AD K 2.12: 600 mm or less
        ("as-1428.1", "handrail_rise", 0.0, 0.001),  # every ramp
    ],
)
def test_a_trigger_is_off_up_to_its_value_and_on_beyond_it(
    rules: str, quantity: Quantity, free_m: float, bound_m: float
) -> None:
    limit = only(resolved(rules, JobFacts(works="new", building="other", egress_door="no")), quantity)
    stands = {
        "<=": lambda measured: is_at_most(measured, limit.value_si),
        "<": lambda measured: not is_at_least(measured, limit.value_si),
    }[limit.operator]
    assert stands(free_m)
    assert not stands(bound_m)


def meets_on_a_quarter_turn(rules: RuleSet, along_m: float, across_m: float) -> bool:
    places: tuple[Place, ...] = ("between", "turn", "quarter_turn")
    limits = {limit for place in places for quantity in SIZES for limit in rules.limits_on(quantity, place)}
    assert limits
    return all(
        is_at_least(along_m, limit.value_si)
        and (limit.quantity == "landing_length" or is_at_least(across_m, limit.value_si))
        for limit in limits
    )


PUBLISHED: Final = tuple(name for name in rule_set_ids() if name != "own-limits")
SIZES: Final[tuple[Quantity, ...]] = ("landing_length", "landing_turn")


def test_one_landing_passes_one_book_and_fails_the_next() -> None:
    """60 x 60 in: ADA 405.7.4; A117.1-2017 304.3.1 (67 in new, 60 existing); California 11B-405.7.4 (72)."""
    existing = JobFacts(works="existing", space_limited="no")
    assert meets_on_a_quarter_turn(resolved("ada-2010"), 60 * IN, 60 * IN)
    assert not meets_on_a_quarter_turn(resolved("ada-2010"), 60 * IN, 59.9 * IN)
    assert not meets_on_a_quarter_turn(resolved("a117.1-2017"), 60 * IN, 60 * IN)
    assert meets_on_a_quarter_turn(resolved("a117.1-2017"), 67 * IN, 67 * IN)
    assert meets_on_a_quarter_turn(resolved("a117.1-2017", existing), 60 * IN, 60 * IN)
    assert not meets_on_a_quarter_turn(resolved("california-11b"), 60 * IN, 60 * IN)
    assert meets_on_a_quarter_turn(resolved("california-11b"), 72 * IN, 60 * IN)


def test_ibc_widths_and_landings_hang_on_who_uses_the_ramp() -> None:
    """IBC 2018 1012.5.1 with Table 1020.2 (44 in from 50 people), 1012.6.4 and its exception."""
    public = JobFacts(building="other", occupants="50_and_more", egress_door="yes")
    few = JobFacts(building="other", occupants="fewer_than_50", egress_door="yes")
    house = JobFacts(building="house", egress_door="yes")
    assert [limit.value for limit in resolved("ibc-2018", public).limits_on("surface_width")] == [44]
    assert resolved("ibc-2018", few).limits_on("surface_width") == ()
    assert [limit.value for limit in resolved("ibc-2018", public).limits_on("landing_turn")] == [60]
    assert [limit.value for limit in resolved("ibc-2018", house).limits_on("landing_turn")] == [36]


def test_no_book_shipped_lets_a_run_be_steeper_than_1_8() -> None:
    """No public building text read so far allows more; 12 % and 1:8 are its steepest short runs."""
    facts = JobFacts("no", "existing", "yes", "", "house", "1", "fewer_than_50")
    steepest = {name: min(law.steepest() for law in laws_of(name, facts)) for name in PUBLISHED}
    assert len(steepest) == len(PUBLISHED) >= 21
    assert max(steepest.values()) == 1 / 8
