"""What findings come to, in words that claim no more than was checked."""

from __future__ import annotations

from dataclasses import replace

from optimizer.standards.check_candidate import check_candidate
from optimizer.standards.verdict import summarise_findings
from tests.standards.damage import change_leg
from tests.standards.ramp_on_a_plane import build_ramp
from tests.standards.rulings_by_hand import rules_of, with_rules

RAMP, CASE = build_ramp()
RULES = rules_of(CASE)


def test_a_ramp_without_failures_meets_the_limits_that_were_checked() -> None:
    findings = check_candidate(RAMP, CASE)
    summary = summarise_findings(findings, RULES)
    assert summary.sentence == (
        "Meets the limits of ADA Standards for Accessible Design 2010 that could be checked, "
        "and cannot be told for 1; the authority having jurisdiction decides."
    )
    # The one is the curb of the plate, which no catalogue states.
    assert (summary.failed, summary.open) == (0, 1)
    assert summary.met + summary.inapplicable + 1 == summary.looked_at == len(findings)
    told = tuple(finding for finding in findings if finding.verdict != "cannot tell")
    assert summarise_findings(told, RULES).sentence == (
        "Meets the limits of ADA Standards for Accessible Design 2010 that were checked; "
        "the authority having jurisdiction decides."
    )


def test_failures_name_their_clauses_and_the_authority_still_decides() -> None:
    catalogue = CASE.catalogue
    narrow = replace(
        CASE,
        catalogue=replace(
            catalogue, sections=tuple(replace(part, clear_width_m=0.9) for part in catalogue.sections)
        ),
    )
    summary = summarise_findings(check_candidate(RAMP, narrow), RULES)
    assert summary.sentence == (
        "Fails limits of ADA Standards for Accessible Design 2010 that were checked, in 1 place (405.5) "
        "and cannot be told for 1; the authority having jurisdiction decides."
    )
    assert summary.failed == 1


def test_what_cannot_be_told_is_counted_and_said() -> None:
    limits = tuple(
        replace(limit, how_known="memory") if limit.quantity == "rise_per_run" else limit
        for limit in RULES.limits
    )
    rules = replace(RULES, limits=limits)
    summary = summarise_findings(check_candidate(RAMP, with_rules(CASE, rules)), rules)
    assert summary.open == 2
    assert summary.sentence == (
        "Meets the limits of ADA Standards for Accessible Design 2010 that could be checked, "
        "and cannot be told for 2; the authority having jurisdiction decides."
    )


def test_a_physical_fault_is_not_laid_on_the_document() -> None:
    damaged = change_leg(RAMP, "leg 1", setting="hole 1, screw 1 mm")
    summary = summarise_findings(check_candidate(damaged, CASE), RULES)
    assert summary.sentence.startswith("Meets")
    assert summary.build_sentence == "Fails 1 of the physical checks (build.setting)."


def test_nothing_checked_is_nothing_met() -> None:
    assert summarise_findings((), RULES).sentence.startswith("No limit of ADA Standards")
