"""Which rule sets bind a site, who decides each, and the facts they depend on: asked, not assumed."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

from optimizer.brief.bind_rules import bind_alone, bind_site
from optimizer.brief.site_file import site_schema
from optimizer.brief.site_in_code import BoundSet, JobFacts, build_site
from optimizer.errors import InputError, InternalError
from optimizer.rulebook.own_limits import OwnLimits, build_own_limits
from optimizer.rulebook.read_rule_set import read_rule_set
from tests.brief.site_texts import HOUSE, LOT, START, TOP, read, refusal
from tests.brief.test_site_in_code import DOOR, YARD

YARD_TEXT = TOP + START + HOUSE + LOT
NEW = '\n[facts]\nworks = "new"\ncloser = "no"\n'
TWO = """
[[rules]]
set = "irc-2015"
[[rules]]
set = "ada-2010"
role = "guide"
[[rules]]
set = "own-limits"
role = "wish"
decided_by = "funder"
[rules.own]
steepest = "1:14"
"""
SECOND_DOOR = """
[[start]]
name = "back door"
kind = "landing"
midpoint = [11.5, 2.4]
outward_deg = 30
threshold = 100.55
clear_width = 0.9
swing = "in"
hinge_side = "left"
"""


def test_the_short_form_binds_and_the_authority_decides(tmp_path: Path) -> None:
    site = read(tmp_path, YARD_TEXT + '[rules]\nset = "ada-2010"\n' + NEW)
    assert site.rulings.sets == (BoundSet(read_rule_set("ada-2010"), "binding", "authority"),)
    assert site.rulings.facts == JobFacts(works="new", closer="no")
    (door,) = site.yard.starts
    # ADA 2010, 405.2 and 405.6: 1:12 and 30 in.
    assert site.design_of(door).steepest == pytest.approx(1 / 12, rel=1e-12)
    assert site.design_of(door).rise_per_run_m == pytest.approx(30 * 0.0254, rel=1e-12)


def test_several_sets_keep_their_order_roles_and_deciders(tmp_path: Path) -> None:
    site = read(tmp_path, YARD_TEXT + TWO + NEW + 'egress_door = "no"\n')
    told = [(one.rules.id, one.role, one.decided_by) for one in site.rulings.sets]
    assert told == [
        ("irc-2015", "binding", "authority"),
        ("ada-2010", "guide", "client"),
        ("own-limits", "wish", "funder"),
    ]
    # IRC R311.8.1: 1:8 elsewhere than at the egress door; guide and wish do not steer the search.
    assert site.designs[0].steepest == pytest.approx(1 / 8, rel=1e-12)


def test_what_depends_on_a_fact_asks_for_it_naming_set_clause_question_and_answer(tmp_path: Path) -> None:
    told = refusal(tmp_path, YARD_TEXT + TWO)
    egress, works, closer = told.splitlines()
    assert "egress_door is not given, and irc-2015 needs it (R311.8.1" in egress
    assert "Is this door the required egress door" in egress
    assert egress.endswith('Write egress_door = "yes" or "no" under [facts].')
    # A guide asks as well as what binds; space is asked for only once the work is on an existing site.
    assert "works is not given, and ada-2010 needs it (" in works
    assert "closer is not given, and ada-2010 needs it (Table 404.2.4.1" in closer
    assert "space_limited" not in told


@pytest.mark.parametrize(
    ("facts", "asked"),
    [
        ('works = "existing"\ncloser = "no"\n', "space_limited is not given"),
        ('works = "new"\ncloser = "yes"\n', "latch is not given"),
    ],
)
def test_an_answer_may_ask_for_another(facts: str, asked: str, tmp_path: Path) -> None:
    (told,) = refusal(tmp_path, YARD_TEXT + f'[rules]\nset = "ada-2010"\n[facts]\n{facts}').splitlines()
    assert asked in told


@pytest.mark.parametrize(
    ("facts", "told"),
    [
        ('works = "new"\negres_door = "yes"\n', 'not known. Did you mean "egress_door"?'),
        ('works = "old"\n', 'works = "old" is not one of the known words. Use one of: new, existing.'),
        ("closer = true\n", 'closer = true: it is answered in a word. Write "yes", with the quotes.'),
        ("egress_door = false\n", 'Write "no", with the quotes.'),
        (
            'works = "new"\nspace_limited = "yes"\nspace_limited_reason = "the wall"\n',
            'space_limited = "yes" is of an existing site, and works = "new" says that it is none.',
        ),
        ('works = "existing"\nspace_limited = "yes"\n', 'space_limited = "yes" needs its reason.'),
        ('works = "existing"\nspace_limited = "yes"\nspace_limited_reason = " "\n', "needs its reason."),
        ('works = "new"\nspace_limited_reason = "narrow"\n', "it goes with space_limited"),
        ("dwelling_category = 4\n", "is not one of the known words. Use one of: 1, 2, 3."),
    ],
)  # fmt: skip
def test_a_fact_that_is_misspelt_or_unreasoned_is_refused(facts: str, told: str, tmp_path: Path) -> None:
    assert told in refusal(tmp_path, YARD_TEXT + '[rules]\nset = "ada-2010"\n[facts]\n' + facts)


def test_a_category_may_be_written_as_a_number(tmp_path: Path) -> None:
    site = read(tmp_path, YARD_TEXT + '[rules]\nset = "england-adm-1"\n[facts]\ndwelling_category = 2\n')
    assert site.rulings.facts.dwelling_category == "2"


def test_space_limited_with_its_reason_opens_the_short_steep_runs(tmp_path: Path) -> None:
    facts = 'works = "existing"\ncloser = "no"\nspace_limited = "yes"\nspace_limited_reason = "the street"\n'
    site = read(tmp_path, YARD_TEXT + f'[rules]\nset = "ada-2010"\n[facts]\n{facts}')
    (law,) = site.designs[0].laws
    # ADA 2010, Table 405.2: 1:8 up to 3 in, 1:10 up to 6 in; exactly on, and just beyond.
    inch_m = 0.0254
    assert law.allows(3 * inch_m, 24 * inch_m)
    assert not law.allows(3.01 * inch_m, 8 * 3.01 * inch_m)
    assert law.allows(6 * inch_m, 60 * inch_m)
    assert not law.allows(6.01 * inch_m, 60.1 * inch_m)
    assert site.rulings.facts.space_limited_reason == "the street"


@pytest.mark.parametrize(
    ("rules", "told"),
    [
        ("[[rules]]\nset = 'ada-2010'\n[[rules]]\nset = 'ada-2010'\nrole = 'guide'\n", "is named twice"),
        ("[[rules]]\nset = 'ada-2010'\nrole = 'guide'\n", "no rule set binds this job"),
        ("[rules]\nset = 'ada-2011'\n", '"ada-2011" is no known rule set'),
        ("[rules]\nset = 'ada-2010'\nrole = 'law'\n", 'role = "law" is not one of the known words'),
        ("[rules]\nset = 'ada-2010'\ndecided_by = 'me'\n", 'decided_by = "me" is not one of the known words'),
        ("[[rules]]\nset = 'ada-2010'\n[[rules]]\nset = 'own-limits'\n", '"own-limits" needs numbers'),
        ("[[rules]]\nset = 'ada-2010'\n[[rules]]\nsett = 'x'\n", '"sett" is not known. Did you mean "set"?'),
        ("[[rules]]\nset = 'ada-2010'\n[[rules]]\nrole = 'guide'\n", 'the key "set" is missing'),
    ],
)  # fmt: skip
def test_rule_sets_that_cannot_be_are_refused(rules: str, told: str, tmp_path: Path) -> None:
    assert told in refusal(tmp_path, YARD_TEXT + rules + NEW)


@pytest.mark.parametrize(
    ("rules", "told"),
    [
        ('rules = "ada-2010"\n', "is no table. Write [rules]"),
        ('rules = ["ada-2010"]\n', "is no table. Write [rules]"),
        ("rules = []\n", "has too few entries"),
    ],
)
def test_other_shapes_of_rules_are_refused(rules: str, told: str, tmp_path: Path) -> None:
    assert told in refusal(tmp_path, TOP + rules + START + HOUSE + LOT)


def test_the_second_set_at_fault_is_told_at_its_line(tmp_path: Path) -> None:
    text = YARD_TEXT + '[[rules]]\nset = "ada-2010"\n[[rules]]\nset = "ada-2011"\n' + NEW
    line = text.splitlines().index('set = "ada-2011"') + 1
    assert refusal(tmp_path, text).startswith(f"site.toml:{line}: ")


def test_own_limits_steeper_than_published_stay_what_they_are(tmp_path: Path) -> None:
    own = '[[rules]]\nset = "own-limits"\n[rules.own]\nsteepest = "1:8"\n'
    (bound,) = read(tmp_path, YARD_TEXT + own).rulings.sets
    assert "outside the published access limits" in bound.rules.statement
    assert "steeper than 1:6" in refusal(tmp_path, YARD_TEXT + own.replace("1:8", "1:5"))


def test_doors_may_differ_and_each_has_its_own_rulings(tmp_path: Path) -> None:
    rules = '[rules]\nset = "irc-2015"\n[facts]\negress_door = "no"\n'
    front = START + 'egress_door = "yes"\n'
    site = read(tmp_path, TOP + front + SECOND_DOOR + HOUSE + LOT + rules)
    door, back = site.yard.starts
    assert [site.rulings_of(one).facts.egress_door for one in (door, back)] == ["yes", "no"]
    assert site.rulings.facts.egress_door == "no"
    # IRC R311.8.1: 1:12 at the egress door, 1:8 elsewhere.
    assert site.design_of(door).steepest == pytest.approx(1 / 12, rel=1e-12)
    assert site.design_of(back).steepest == pytest.approx(1 / 8, rel=1e-12)
    with pytest.raises(InternalError, match="no start 'side door'"):
        site.design_of(replace(back, name="side door"))


def test_the_door_that_is_not_answered_for_is_named(tmp_path: Path) -> None:
    rules = '[rules]\nset = "irc-2015"\n'
    told = refusal(tmp_path, TOP + START + 'egress_door = "yes"\n' + SECOND_DOOR + HOUSE + LOT + rules)
    assert "(start back door)" in told
    assert "or under the [[start]] itself" in told


def test_an_edge_has_no_closer(tmp_path: Path) -> None:
    edge = START.replace('"landing"', '"edge"').replace('swing = "in"\nhinge_side = "left"\n', "")
    rules = '[rules]\nset = "ada-2010"\n[facts]\nworks = "new"\n'
    assert read(tmp_path, TOP + edge + HOUSE + LOT + rules).rulings.facts.closer is None
    assert "an edge has no door" in refusal(tmp_path, TOP + edge + 'closer = "no"\n' + HOUSE + LOT + rules)


def in_code_refusal(**changes: object) -> str:
    with pytest.raises(InputError) as caught:
        build_site("yard", **{**YARD, **changes})
    return str(caught.value)


def test_a_site_in_code_takes_sets_and_facts_as_a_file_does(tmp_path: Path) -> None:
    text = TWO.replace('decided_by = "funder"\n', "") + NEW + 'egress_door = "no"\n'
    own = build_own_limits(OwnLimits(steepest=1 / 14, unit="mm"))
    site = build_site(
        "yard",
        **{
            **YARD,
            "rules": [
                "irc-2015",
                BoundSet(read_rule_set("ada-2010"), "guide", "client"),
                BoundSet(own, "wish", "client"),
            ],
            "facts": JobFacts(works="new", closer="no", egress_door="no"),
        },
    )
    of_file = read(tmp_path, YARD_TEXT + text)
    assert site.rulings == of_file.rulings
    assert site.start_facts == of_file.start_facts
    assert site.designs == of_file.designs
    doors = [replace(DOOR, egress_door="yes")]
    other = build_site("yard", **{**YARD, "rules": "irc-2015", "facts": JobFacts(), "starts": doors})
    assert other.start_facts[0].egress_door == "yes"


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"rules": ["ada-2010", "ada-2010"]}, "rules: the rule set"),
        ({"rules": [BoundSet(read_rule_set("ada-2010"), "wish", "client")]}, "no rule set binds"),
        ({"rules": []}, "rules: no rule set is given"),
        ({"rules": [3]}, "rules[0]: this is a int"),
        ({"rules": 3}, "rules: this is a int"),
        ({"rules": ["ada-2010", "ada-2011"]}, 'rules[1]: "ada-2011" is no known rule set'),
        ({"facts": JobFacts()}, "facts: works is not given, and ada-2010 needs it"),
        ({"facts": "new"}, "facts: this is a str. Give a JobFacts."),
        ({"facts": JobFacts(works="existing", space_limited="yes")}, "needs its reason"),
        ({"facts": JobFacts(works="old")}, "facts.works: facts: works ="),  # type: ignore[arg-type]  # the fault itself
    ],
)  # fmt: skip
def test_sets_and_facts_in_code_that_cannot_be_are_refused(changes: dict[str, object], told: str) -> None:
    assert told in in_code_refusal(**changes)


def test_a_site_may_be_bound_to_other_rules(tmp_path: Path) -> None:
    site = read(tmp_path, YARD_TEXT + '[rules]\nset = "ada-2010"\n' + NEW)
    own = build_own_limits(OwnLimits(steepest=1 / 10, unit="mm"))
    bound = bind_site(site, bind_alone(own))
    assert bound.designs[0].steepest == pytest.approx(1 / 10, rel=1e-12)
    assert bound.start_facts == site.start_facts


def test_the_schema_takes_one_table_or_several() -> None:
    rules = json.loads(site_schema())["properties"]["rules"]
    one, several = rules["anyOf"]
    assert one == several["items"] == {"$ref": "#/$defs/RulesTable"}
    assert several["minItems"] == 1
