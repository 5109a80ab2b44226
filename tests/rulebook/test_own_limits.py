import dataclasses
import math

import pytest

from optimizer.errors import InputError
from optimizer.rulebook.own_limits import OwnLimits, OwnLimitsEntry, build_own_limits
from optimizer.rulebook.read_rule_set import read_rule_set
from optimizer.rulebook.rules import Quantity
from optimizer.toml_model import Reading

TWELFTH = OwnLimits(steepest=1 / 12, unit="in")


def test_own_limits_carry_the_users_numbers() -> None:
    own = OwnLimits(
        steepest=1 / 8,
        unit="mm",
        cross_slope=1 / 50,
        landing_slope=1 / 60,
        clear_width_m=0.8,
        rise_per_run_m=0.5,
        length_per_run_m=9.0,
        landing_length_m=1.2,
        landing_turn_m=1.4,
        handrail_rise_m=0.2,
        handrail_sides=1,
        handrail_height_min_m=0.85,
        handrail_height_max_m=1.0,
        handrail_extension_m=0.3,
        edge_protection_height_m=0.05,
        threshold_drop_m=0.02,
        guard_drop_m=0.6,
    )
    rules = build_own_limits(own)
    expected: dict[Quantity, tuple[str, float]] = {
        "running_slope": ("<=", 1 / 8),
        "cross_slope": ("<=", 1 / 50),
        "landing_slope": ("<=", 1 / 60),
        "clear_width": (">=", 0.8),
        "rise_per_run": ("<=", 0.5),
        "length_per_run": ("<=", 9.0),
        "landing_length": (">=", 1.2),
        "landing_width": (">=", 0.0),
        "landing_turn": (">=", 1.4),
        "handrail_rise": ("<=", 0.2),
        "handrail_sides": (">=", 1),
        "handrail_height_min": (">=", 0.85),
        "handrail_height_max": ("<=", 1.0),
        "handrail_extension": (">=", 0.3),
        "edge_protection_height": (">=", 0.05),
        "tip_vertical_change": ("<=", 0.00635),
        "threshold_drop": ("<=", 0.02),
        "guard_drop": ("<=", 0.6),
    }
    assert {limit.quantity: (limit.operator, limit.value_si) for limit in rules.limits} == expected
    assert rules.id == "own-limits"
    assert {limit.how_known for limit in rules.limits} == {"own"}
    width = rules.limit("clear_width")
    assert width is not None
    assert (width.value, width.unit, width.source) == (800.0, "mm", "the user")


def test_what_is_left_out_takes_the_ada_figure_and_says_so() -> None:
    rules = build_own_limits(TWELFTH)
    ada = read_rule_set("ada-2010")
    for limit in rules.limits:
        twin = ada.limit(limit.quantity)
        assert twin is not None
        assert (limit.operator, limit.value, limit.unit, limit.value_si) == (
            twin.operator,
            twin.value,
            twin.unit,
            twin.value_si,
        )
        given = limit.quantity in ("running_slope", "landing_width")
        assert ("the default is used" in limit.note) != given
    for quantity in ("rise_per_run", "length_per_run", "handrail_extension", "guard_drop"):
        assert rules.limit(quantity) is None


@pytest.mark.parametrize(
    ("steepest", "outside"), [(1 / 14, False), (1 / 12, False), (1 / 11.99, True), (1 / 6, True)]
)
def test_a_slope_steeper_than_1_in_12_is_said_to_lie_outside_the_published_limits(
    steepest: float,
    outside: bool,  # noqa: FBT001
) -> None:
    statement = build_own_limits(dataclasses.replace(TWELFTH, steepest=steepest)).statement
    assert ("outside the published access limits" in statement) == outside
    assert "not an access standard" in statement
    assert "user's own limits" in statement
    assert statement.endswith("The authority having jurisdiction decides.")
    assert "complian" not in statement.lower()


def test_one_in_six_is_allowed_and_anything_steeper_is_refused_with_the_reason() -> None:
    assert build_own_limits(dataclasses.replace(TWELFTH, steepest=1 / 6)).limits[0].value_si == 1 / 6
    with pytest.raises(
        InputError, match=r"site.toml:3: steepest 1:5\.99 .* is steeper than 1:6.*historic buildings"
    ):
        build_own_limits(dataclasses.replace(TWELFTH, steepest=1 / 5.99), "site.toml:3")


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"steepest": 0.0}, "lets no ramp descend"),
        ({"steepest": -0.1}, "is no length or slope"),
        ({"steepest": math.nan}, "is no length or slope"),
        ({"landing_slope": 1 / 19.9}, "landing_slope 1:19.9"),
        ({"cross_slope": 1 / 10}, "cross_slope 1:10"),
        ({"clear_width_m": -0.1}, "clear_width = -0.1 is no length"),
        ({"landing_length_m": math.inf}, "landing_length = inf is no length"),
        ({"handrail_height_min_m": 1.0, "handrail_height_max_m": 0.9}, "is above handrail_height_max"),
    ],
)
def test_a_number_out_of_range_is_refused(changes: dict[str, float], says: str) -> None:
    with pytest.raises(InputError) as caught:
        build_own_limits(dataclasses.replace(TWELFTH, **changes))  # type: ignore[arg-type]
    assert sum(says in str(fault) for fault in caught.value.faults) == 1


def test_a_landing_of_exactly_1_in_20_is_allowed() -> None:
    rules = build_own_limits(dataclasses.replace(TWELFTH, landing_slope=1 / 20))
    assert rules.limits[2].value_si == 1 / 20


def test_all_faults_of_own_limits_come_at_once() -> None:
    with pytest.raises(InputError) as caught:
        build_own_limits(OwnLimits(steepest=1 / 4, unit="in", landing_slope=0.5, clear_width_m=-1.0))
    assert len(caught.value.faults) == 3


def test_the_table_of_a_site_file_becomes_own_limits() -> None:
    table = {"steepest": "1:10", "clear_width": 32, "landing_turn": "1.3 m", "handrail_sides": 1}
    own = OwnLimitsEntry.model_validate(table, context=Reading("in")).build("in")
    assert own == OwnLimits(
        steepest=0.1, unit="in", clear_width_m=0.8128, landing_turn_m=1.3, handrail_sides=1
    )
