"""Six steps of one wish, each solved anew."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from optimizer.cli import run_command
from optimizer.compare.study import Subject, list_changes, study
from optimizer.pipeline import make_plan
from tests.planned_scene import planned_site

Out = pytest.CaptureFixture[str]


def test_every_step_of_a_slope_study_keeps_its_slope_and_none_costs_less_than_the_first() -> None:
    site = planned_site()
    fast = replace(site, search=replace(site.search, lattice_m=0.3, finest_lattice_m=0.3))
    costs = []
    steps = study(fast, "slope", make_plan)
    for step, (asked, changed) in zip(steps, list_changes(fast, "slope"), strict=True):
        assert step.asked == asked
        assert changed.wishes.steepest is not None
        if step.candidate is not None:
            assert step.candidate.steepest_slope <= changed.wishes.steepest + 1e-9
            costs.append(step.candidate.direct_cost_cents)
    assert len(costs) >= 3
    # Each step has slopes of its own to choose from, so only the steepest is sure to be the cheapest.
    assert costs[0] == min(costs)


@pytest.mark.parametrize("subject", ["slope", "width", "threshold"])
def test_a_study_has_six_steps_and_changes_nothing_else(subject: Subject) -> None:
    site = planned_site()
    changes = list_changes(site, subject)
    assert len(changes) == 6
    assert len({asked for asked, _ in changes}) == 6
    for _, changed in changes:
        if subject == "threshold":
            assert replace(changed, yard=site.yard) == site
        else:
            assert replace(changed, wishes=site.wishes) == site


def test_the_command_writes_table_and_chart_and_nothing_for_a_bad_number(tmp_path: Path, capsys: Out) -> None:
    from optimizer.plan_file import write_plan
    from tests.planned_scene import planned

    write_plan(planned(), tmp_path / "plan.json")
    assert run_command(["compare", str(tmp_path / "plan.json"), "--out", str(tmp_path / "a")]) == 0
    assert {path.name for path in (tmp_path / "a").iterdir()} == {"compare.csv", "compare.svg"}
    capsys.readouterr()
    bad = ["compare", str(tmp_path / "plan.json"), "--candidate", "99", "--out", str(tmp_path / "b")]
    assert run_command(bad) == 3
    assert not (tmp_path / "b").exists()
    assert "99 is not a candidate" in capsys.readouterr().err
