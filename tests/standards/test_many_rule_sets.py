"""Several rule sets of one job: each judged on its own, in order, with its own conditions."""

from __future__ import annotations

from dataclasses import replace

import pytest

from optimizer.rulebook.bound import BoundSet, Rulings
from optimizer.rulebook.facts import Condition, JobFacts
from optimizer.rulebook.read_rule_set import read_rule_set
from optimizer.standards.check_candidate import check_candidate
from optimizer.standards.findings import BUILD
from optimizer.standards.verdict import summarise_findings
from tests.standards.ramp_on_a_plane import build_ramp
from tests.standards.rulings_by_hand import make_limit, make_rules, with_rules

RAMP, CASE = build_ramp()
ADA = read_rule_set("ada-2010")
LOOSE = make_rules(make_limit("rise_per_run", "<=", 9.0), name="loose")
TIGHT = make_rules(make_limit("rise_per_run", "<=", 0.1), name="tight")


def test_findings_come_set_by_set_as_the_site_names_them_then_the_physical_checks() -> None:
    found = check_candidate(RAMP, with_rules(CASE, TIGHT, ADA, LOOSE))
    assert list(dict.fromkeys(finding.rules for finding in found)) == ["tight", "ada-2010", "loose", BUILD]


def test_a_set_is_judged_the_same_whatever_stands_beside_it() -> None:
    alone = [f for f in check_candidate(RAMP, with_rules(CASE, ADA)) if f.rules == ADA.id]
    among = [f for f in check_candidate(RAMP, with_rules(CASE, LOOSE, ADA, TIGHT)) if f.rules == ADA.id]
    assert among == alone


@pytest.mark.parametrize("role", ["binding", "guide", "wish"])
def test_guides_and_wishes_are_judged_like_what_binds(role: str) -> None:
    sets = (BoundSet(ADA, "binding", "authority"), BoundSet(TIGHT, role, "client"))  # type: ignore[arg-type]
    found = check_candidate(RAMP, replace(CASE, rulings=Rulings(sets, JobFacts())))
    assert [f.verdict for f in found if f.rules == "tight"] == ["fails"]


def test_only_what_binds_enlarges_the_space_at_the_bottom() -> None:
    wide = make_rules(make_limit("landing_length", ">=", 2.0, place="bottom"), name="wide")
    for role, clauses in (("guide", set()), ("binding", {"build.bottom_space"})):
        sets = (BoundSet(ADA, "binding", "authority"), BoundSet(wide, role, "client"))  # type: ignore[arg-type]
        found = check_candidate(RAMP, replace(CASE, rulings=Rulings(sets, JobFacts())))
        assert [f.verdict for f in found if f.rules == "wide"] == ["fails"]
        broken = {f.clause for f in found if f.verdict == "fails" and f.rules == BUILD}
        assert clauses <= broken
        assert bool(broken) == bool(clauses)


@pytest.mark.parametrize(
    ("answer", "verdicts"), [("yes", ["fails"]), ("no", ["meets"])], ids=["egress door", "other door"]
)
def test_answers_decide_which_limits_bind(answer: str, verdicts: list[str]) -> None:
    egress = replace(make_limit("rise_per_run", "<=", 0.1), when=(Condition("egress_door", ("yes",)),))
    other = replace(make_limit("rise_per_run", "<=", 9.0), when=(Condition("egress_door", ("no",)),))
    facts = JobFacts(egress_door=answer)  # type: ignore[arg-type]
    found = check_candidate(RAMP, with_rules(CASE, make_rules(egress, other), facts=facts))
    assert [f.verdict for f in found if f.rules == "test"] == verdicts


def test_a_fact_nobody_answered_leaves_what_it_would_break_open() -> None:
    egress = replace(make_limit("rise_per_run", "<=", 0.1), when=(Condition("egress_door", ("yes",)),))
    (finding,) = [f for f in check_candidate(RAMP, with_rules(CASE, make_rules(egress))) if f.rules == "test"]
    assert finding.verdict == "cannot tell"
    assert finding.text.endswith("depends on what nobody answered: egress door.")


def test_the_number_of_runs_is_the_ramps_own_answer() -> None:
    ramps = {
        "one": build_ramp(),
        "two": build_ramp((("section",), ("section",) * 2), ("right",)),
        "three_and_more": build_ramp(
            (("section",), ("section",), ("section",)), ("right", "left"), gradient=(0.0, 0.0)
        ),
    }
    for asked in ramps:
        limit = replace(make_limit("rise_per_run", "<=", 9.0), when=(Condition("runs", (asked,)),))
        for count, (candidate, case) in ramps.items():
            found = check_candidate(candidate, with_rules(case, make_rules(limit)))
            verdicts = {f.verdict for f in found if f.rules == "test"}
            assert verdicts == ({"meets"} if count == asked else {"does not apply"})


def test_where_no_start_is_known_its_doors_swing_decides_nothing() -> None:
    swung = replace(make_limit("rise_per_run", "<=", 9.0), when=(Condition("door_swing", ("out",)),))
    plain = make_limit("length_per_run", "<=", 99.0)
    for name, verdicts in (("front door", ["meets"]), ("back door", ["meets", "cannot tell"])):
        case = replace(with_rules(CASE, make_rules(swung, plain)), start_name=name)
        assert [f.verdict for f in check_candidate(RAMP, case) if f.rules == "test"] == verdicts


def test_each_set_is_summed_up_on_its_own_and_by_who_decides() -> None:
    found = check_candidate(RAMP, with_rules(CASE, ADA, TIGHT, LOOSE))
    tight = summarise_findings(found, TIGHT, "funder")
    assert (
        tight.sentence
        == "Fails limits of Test rules 1 that were checked, in 1 place (9.9); the funder decides."
    )
    loose = summarise_findings(found, LOOSE, "landlord")
    assert loose.sentence == "Meets the limits of Test rules 1 that were checked; the landlord decides."
    assert (tight.failed, loose.failed) == (1, 0)
    built = sum(1 for finding in found if finding.rules == BUILD)
    assert tight.looked_at == loose.looked_at == built + 1


def test_what_rests_on_memory_is_counted_apart() -> None:
    recalled = make_rules(
        make_limit("rise_per_run", "<=", 9.0, "memory"), make_limit("clear_width", ">=", 0.9)
    )
    found = check_candidate(RAMP, with_rules(CASE, ADA, recalled))
    summary = summarise_findings(found, recalled)
    assert (summary.from_memory, summary.open) == (1, 1)
    assert {f.how_known for f in found if f.rules == "test"} == {"memory", "text"}
    assert {f.how_known for f in found if f.rules == BUILD} == {"build"}
