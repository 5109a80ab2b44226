"""Candidates, price and findings of the report: every figure the plan's, read back by a second library."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable
from dataclasses import replace

import pytest

from optimizer.brief.site import DisplayUnits
from optimizer.fit_words import show_rise
from optimizer.plan import Candidate, ConstraintPrice, PartToBuy, StockAdvice
from tests.planned_scene import planned, planned_site
from tests.report.report_reading import (
    MONEY,
    build,
    change_candidate,
    cut,
    job_of,
    metres_as_feet,
    metres_as_mm,
    read,
    show,
)


@pytest.mark.parametrize("number", [1, 2])
def test_every_amount_on_the_price_page_is_a_price_line_and_every_line_is_there(number: int) -> None:
    job = job_of(number)
    candidate = job.candidate
    text = cut(read(build(job)), f"Price of {candidate.name}", "To make the plan again")
    direct = [one for one in candidate.price_lines if one.group == "direct"]
    added = [one for one in candidate.price_lines if one.group == "added"]
    cents = [*(one.unit_cents for one in direct), *(one.total_cents for one in direct + added)]
    cents += [candidate.direct_cost_cents, candidate.price_cents]
    assert Counter(MONEY.findall(text)) == Counter(show(one) for one in cents)
    for line in direct:
        assert f"{line.part} {line.count} {show(line.unit_cents)} {show(line.total_cents)}" in text


@pytest.mark.parametrize(
    ("display", "shown"),
    [
        (DisplayUnits("mm", 0.001), metres_as_mm),
        (DisplayUnits("ft-in", 0.0254 / 8), metres_as_feet),
    ],
)
def test_every_candidate_stands_with_the_figures_of_the_plan_in_the_units_of_the_site(
    display: DisplayUnits, shown: Callable[[float], str]
) -> None:
    job = replace(job_of(), site=replace(planned_site(), display=display))
    text = cut(read(build(job)), "Candidates", "Pictures")
    figures: tuple[tuple[str, Callable[[Candidate], str]], ...] = (
        ("walking length", lambda one: shown(one.walking_length_m)),
        (f"price, {planned().currency}", lambda one: show(one.price_cents)),
        (f"direct cost, {planned().currency}", lambda one: show(one.direct_cost_cents)),
        ("none cheaper than", lambda one: show(one.bound_cents)),
        ("area", lambda one: f"{one.footprint_m2:.1f} m²"),
        ("weight", lambda one: f"{one.weight_kg:.0f} kg"),
        ("pieces", lambda one: str(len(one.pieces))),
    )
    # The rise stands with its plus-minus, rounded to what that carries (``test_fit_chances``).
    rises = " ".join(show_rise(job.plan, job.site, one) for one in planned().candidates)
    assert f" rise at the tip {rises} " in text
    assert rises.count("±") == len(planned().candidates)
    for name, figure in figures:
        row = " ".join(figure(one) for one in planned().candidates)
        assert f" {name} {row} " in text
    for one in planned().candidates:
        legs = sum(leg.kind == "leg" for leg in one.legs)
        assert f"{legs} legs, {len(one.legs) - legs} low supports" in text
        assert f"1:{int(100.0 / one.steepest_slope) / 100.0:g} ({100.0 * one.steepest_slope:.1f} %)" in text


@pytest.mark.parametrize("number", [1, 2])
def test_findings_are_counted_as_in_the_plan_and_every_clause_is_named(number: int) -> None:
    job = job_of(number)
    text = cut(read(build(job)), "Findings Not an approval", "Price of")
    sets = {one.id: one.id for one in job.plan.rules} | {"build": "(our own checks)"}
    for candidate in job.plan.candidates:
        for rules, name in sets.items():
            verdicts = Counter(one.verdict for one in candidate.findings if one.rules == rules)
            counts = [verdicts[one] for one in ("meets", "fails", "cannot tell", "does not apply")]
            assert re.search(
                rf"{candidate.name} {re.escape(name)} [a-z, ]+ {' '.join(map(str, counts))} ", text
            )
    for finding in job.candidate.findings:
        own = finding.clause.removeprefix("build.")
        assert (finding.clause if own == finding.clause else own.replace("_", " ")) in text
        if finding.verdict in ("fails", "cannot tell") and finding.measured is None:
            assert " ".join(finding.text.split()) in text


def test_what_was_not_checked_and_who_decides_is_told_whole() -> None:
    text = read(build(job_of()))
    for rules in planned().rules:
        for words in rules.not_checked:
            assert f"\u2013 {words} " in text
    assert "For those who decide" in text


def test_a_finding_that_fails_is_told_first_and_with_its_own_numbers() -> None:
    candidate = planned().candidates[0]
    (place, *_) = (
        n
        for n, one in enumerate(candidate.findings)
        if one.verdict == "meets" and one.unit == "in" and one.limit
    )
    broken = candidate.findings[place].model_copy(
        update={"verdict": "fails", "measured": 77.25, "text": "S9: a made-up failure."}
    )
    findings = (*candidate.findings[:place], broken, *candidate.findings[place + 1 :])
    plan = change_candidate(planned(), candidate.model_copy(update={"findings": findings}))
    text = read(build(job_of(plan=plan)))
    told = cut(text, "What fails", "not checked of" if "not checked of" in text else "Price of")
    assert f"candidate 1 {broken.rules} {broken.clause} S9: a made-up failure. 77.25 in" in told
    assert "Nothing that was checked fails" not in text


def test_what_changes_would_give_is_told_where_the_plan_has_it() -> None:
    part = PartToBuy(part="section-9", name="deck section", in_stock=2, count=3, unit_cents=12345)
    price = ConstraintPrice(
        subject="oak tree",
        change="without it",
        granted_by="owner",
        verdict="saves",
        saving_cents=45678,
        cost_cents=654321,
    )
    plan = planned().model_copy(
        update={
            "to_buy": StockAdvice(parts=(part,), cost_cents=765432, saving_cents=98765, is_least=True),
            "constraint_prices": (price,),
            "trials": ("Without the shed there is no layout either.",),
            "candidates": planned().candidates * 2,
            "status": "feasible",
        }
    )
    text = read(build(job_of(plan=plan)))
    assert "section-9 deck section 2 3 123.45" in text
    assert "987.65" in text
    assert f"oak tree without it 456.78 6,543.21 {plan.currency} owner" in text
    assert "Without the shed there is no layout either." in text
    assert "--price-constraints on" in text
    assert "The search was stopped before it could prove its answer" in text
    # Eight candidates stand in two tables.
    row = " ".join(metres_as_mm(one.walking_length_m) for one in planned().candidates)
    assert len(planned().candidates) == 4
    assert text.count(f" walking length {row} ") == 2
