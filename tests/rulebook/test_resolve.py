"""Which limits bind: conditions against what was answered."""

from dataclasses import replace

from optimizer.rulebook.facts import JobFacts
from optimizer.rulebook.read_rule_set import read_rule_set
from optimizer.rulebook.resolve import list_open_questions, resolve_rules
from optimizer.rulebook.rules import Quantity, RuleSet

NOTHING = JobFacts()


def ids(rules: RuleSet, quantity: Quantity) -> set[str]:
    return {limit.id for limit in rules.limits if limit.quantity == quantity}


def test_a_limit_whose_condition_holds_stays_and_the_others_go() -> None:
    irc = read_rule_set("irc-2015")
    egress = resolve_rules(irc, JobFacts(egress_door="yes"), "out")
    other = resolve_rules(irc, JobFacts(egress_door="no"), "out")
    assert ids(egress, "running_slope") == {"irc.running_slope"}
    assert ids(other, "running_slope") == {"irc.running_slope_other"}


def test_the_way_the_door_swings_is_known_from_the_start() -> None:
    irc, facts = read_rule_set("irc-2015"), JobFacts(egress_door="yes")
    drops = {
        swing: [limit.value for limit in resolve_rules(irc, facts, swing).limits_on("threshold_drop")]
        for swing in ("in", "out")
    }
    assert drops == {"in": [7.75], "out": [1.5]}


def test_everything_else_of_the_rule_set_stays() -> None:
    ada = read_rule_set("ada-2010")
    resolved = resolve_rules(ada, JobFacts(works="new", space_limited="no"), "in")
    assert replace(resolved, limits=ada.limits) == ada
    gone = {limit.id for limit in ada.limits} - {limit.id for limit in resolved.limits}
    assert gone == {"ada.run_law", "ada.threshold_drop_existing"}


def test_every_condition_of_a_limit_must_hold() -> None:
    ada = read_rule_set("ada-2010")
    for facts, wanted in (
        (JobFacts(works="existing", space_limited="yes"), {"ada.run_law"}),
        (JobFacts(works="existing", space_limited="no"), set()),
        (JobFacts(works="new", space_limited="yes"), set()),
    ):
        assert ids(resolve_rules(ada, facts, "in"), "run_law") == wanted


def test_a_condition_on_the_number_of_runs_is_left_to_the_checker() -> None:
    england = read_rule_set("england-adm-2")
    assert ids(resolve_rules(england, NOTHING, "in"), "landing_passing") == {"uk2.landing_passing"}


def test_where_nobody_answered_the_stricter_reading_stands() -> None:
    ada, irc = read_rule_set("ada-2010"), read_rule_set("irc-2015")
    assert ids(resolve_rules(ada, NOTHING, "in"), "run_law") == set()
    assert ids(resolve_rules(irc, NOTHING, "out"), "running_slope") == {
        "irc.running_slope",
        "irc.running_slope_other",
    }


def test_open_questions_are_told_once_and_without_what_is_known_otherwise() -> None:
    assert list_open_questions(read_rule_set("ibc-2018"), NOTHING) == ("egress_door", "building", "occupants")
    assert list_open_questions(read_rule_set("england-adm-1"), NOTHING) == ("dwelling_category",)
    assert list_open_questions(read_rule_set("england-adm-2"), NOTHING) == ()
    assert list_open_questions(read_rule_set("din-18040-1"), NOTHING) == ()


def test_an_answer_that_puts_a_limit_aside_closes_its_other_questions() -> None:
    ada, ibc = read_rule_set("ada-2010"), read_rule_set("ibc-2018")
    assert list_open_questions(ada, JobFacts(works="new")) == ()
    assert list_open_questions(ada, JobFacts(works="existing")) == ("space_limited",)
    house = JobFacts(building="house", egress_door="yes")
    assert list_open_questions(ibc, house) == ()
    assert list_open_questions(ibc, replace(house, building="other")) == ("occupants",)
