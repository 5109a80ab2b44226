"""``evenfall check PLAN --as-drawn``: a searched scene's export, the table, the JSON, the exit codes."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from optimizer.audit.audit_model import audit_model
from optimizer.audit.report import CLAUSES
from optimizer.audit_table import CAUTION, OTHER_STATE, draw_audit
from optimizer.cli import Exit, fill_bare_option, run_command
from optimizer.plan_file import write_plan
from tests.audit.drawn_scene import drawn_bytes, drawn_plan, edit
from tests.planned_scene import planned, planned_site
from viewer.glb import write_glb

Out = pytest.CaptureFixture[str]


@pytest.fixture(name="saved")
def fixture_saved(tmp_path: Path) -> Path:
    """A plan with its model beside it."""
    write_plan(drawn_plan(), tmp_path / "plan.json")
    (tmp_path / "model.glb").write_bytes(drawn_bytes())
    return tmp_path / "plan.json"


@pytest.fixture(name="tilted")
def fixture_tilted(saved: Path) -> Path:
    """The same with a leg 5 mm too short."""
    glb = edit()
    shaft = glb.named("leg L05")
    levels = glb.points(shaft)[:, 2]
    glb.lift(shaft, levels < levels.min() + 1e-4, 0.005)
    glb.save(saved.parent / "model.glb")
    return saved


def test_every_candidate_of_a_searched_scene_agrees_as_drawn(tmp_path: Path) -> None:
    for number, candidate in enumerate(planned().candidates, start=1):
        path = tmp_path / f"{number}.glb"
        write_glb(planned_site(), candidate, path)
        report = audit_model(planned(), path)
        assert [finding.text for finding in report.findings if finding.verdict != "agrees"] == []
        assert report.candidate == candidate.name
        looked_at = {finding.subject for finding in report.findings}
        assert looked_at >= {piece.id for piece in candidate.pieces} | {leg.id for leg in candidate.legs}


def test_models_of_two_candidates_are_not_taken_for_each_other(tmp_path: Path, capsys: Out) -> None:
    write_plan(planned(), tmp_path / "plan.json")
    write_glb(planned_site(), planned().candidates[1], tmp_path / "model.glb")
    words = ["check", str(tmp_path / "plan.json"), "--as-drawn"]
    assert run_command(words) == Exit.ALLOWED
    assert run_command([*words, "--candidate", "2"]) == Exit.ALLOWED
    assert run_command([*words, "--candidate", "1"]) == Exit.BAD_INPUT
    assert "shows 'candidate 2'; looked for in the plan: 'candidate 1'" in capsys.readouterr().err


def test_a_model_that_agrees_exits_with_0(saved: Path, capsys: Out) -> None:
    assert run_command(["check", str(saved), "--as-drawn"]) == Exit.ALLOWED
    shown = " ".join(capsys.readouterr().out.split())
    for clause, _ in CLAUSES:
        assert clause.startswith("rule.") or clause in shown
    for words in ("steepest walking face", "smallest side of a landing", "0 disagree", CAUTION):
        assert words in shown


def test_a_model_that_disagrees_exits_with_1_and_says_where(tilted: Path, capsys: Out) -> None:
    assert run_command(["check", str(tilted), "--as-drawn", str(tilted.parent / "model.glb")]) == 1
    shown = " ".join(capsys.readouterr().out.split())
    assert "disagrees: drawn.leg_length: L05: length:" in shown
    assert "off by 5.00 mm" in shown
    assert "1 disagree" in shown


def test_the_audit_as_json(tilted: Path, capsys: Out) -> None:
    out = tilted.parent / "audit.json"
    assert run_command(["check", str(tilted), "--as-drawn", "--json", "--report", str(out)]) == 1
    shown = json.loads(capsys.readouterr().out)
    assert json.loads(out.read_text()) == shown
    (wrong,) = [finding for finding in shown["findings"] if finding["verdict"] != "agrees"]
    (leg,) = [leg for leg in drawn_plan().candidates[0].legs if leg.id == "L05"]
    assert wrong["clause"] == "drawn.leg_length"
    assert wrong["stated"] == leg.height_m
    assert wrong["measured"] == pytest.approx(leg.height_m - 0.005, abs=1e-5)
    assert wrong["difference_m"] == pytest.approx(0.005, abs=1e-5)


def test_a_bad_model_exits_with_3(saved: Path, capsys: Out) -> None:
    (saved.parent / "model.glb").write_bytes(drawn_bytes()[:-10])
    assert run_command(["check", str(saved), "--as-drawn"]) == Exit.BAD_INPUT
    assert "is cut short" in capsys.readouterr().err
    (saved.parent / "model.glb").unlink()
    assert run_command(["check", str(saved), "--as-drawn"]) == Exit.BAD_INPUT
    assert "no model lies there" in capsys.readouterr().err


def test_the_audit_asks_for_a_plan_and_nothing_of_its_site(saved: Path, capsys: Out) -> None:
    for words in ([str(saved), "--site", "."], ["layout.toml"]):
        assert run_command(["check", *words, "--as-drawn"]) == Exit.BAD_INPUT
        assert "--as-drawn: compares a model with a plan.json alone" in capsys.readouterr().err


def test_a_plan_without_findings_leaves_clearances_untold(saved: Path, capsys: Out) -> None:
    plan = drawn_plan()
    bare = plan.candidates[0].model_copy(update={"findings": ()})
    write_plan(plan.model_copy(update={"candidates": (bare,)}), saved)
    assert run_command(["check", str(saved), "--as-drawn"]) == 1
    assert "cannot tell: drawn.clearance" in " ".join(capsys.readouterr().out.split())


def test_a_model_of_an_earlier_state_of_the_plan_is_told_as_one(saved: Path) -> None:
    glb = edit()
    for points in glb.every_position():
        points[:, 1] += 0.01
    report = audit_model(drawn_plan(), glb.save(saved.parent / "model.glb"))
    assert OTHER_STATE in " ".join(draw_audit(report, 400).split("\n"))
    assert OTHER_STATE not in draw_audit(audit_model(drawn_plan(), edit().save(saved.parent / "m.glb")), 400)


@pytest.mark.parametrize(
    ("typed", "filled"),
    [
        (["check", "p", "--as-drawn"], ["check", "p", "--as-drawn="]),
        (["check", "p", "--as-drawn", "--json"], ["check", "p", "--as-drawn=", "--json"]),
        (["check", "--as-drawn", "p.json"], ["check", "--as-drawn=", "p.json"]),
        (["check", "p", "--as-drawn", "m.glb"], ["check", "p", "--as-drawn", "m.glb"]),
        (["check", "p", "--as-drawn=m.glb"], ["check", "p", "--as-drawn=m.glb"]),
        ([], []),
    ],
)
def test_the_option_may_stand_alone(typed: list[str], filled: list[str]) -> None:
    assert fill_bare_option(typed) == filled


@pytest.mark.parametrize(
    ("part", "field"),
    [
        ("legs", "height_m"),
        ("legs", "x_m"),
        ("legs", "y_m"),
        ("legs", "frame_elevation_m"),
        ("legs", "ground_elevation_m"),
        ("pieces", "slope"),
    ],
)
def test_a_number_of_the_plan_that_is_two_millimetres_off_is_noticed(
    part: str, field: str, tmp_path: Path
) -> None:
    """Of every leg and every piece, one after the other."""
    plan, path = drawn_plan(), tmp_path / "model.glb"
    path.write_bytes(drawn_bytes())
    candidate = plan.candidates[0]
    rows = getattr(candidate, part)
    for place, row in enumerate(rows):
        other = row.model_copy(update={field: getattr(row, field) + (0.2 if field == "slope" else 0.002)})
        changed = candidate.model_copy(update={part: (*rows[:place], other, *rows[place + 1 :])})
        report = audit_model(plan.model_copy(update={"candidates": (changed,)}), path)
        found = report.pick("disagrees")
        assert found, (row.id, field)
        assert {finding.subject for finding in found} == {row.id}


@pytest.mark.parametrize("axis", [0, 1, 2])
def test_a_corner_of_the_plan_that_is_two_millimetres_off_is_noticed(axis: int, tmp_path: Path) -> None:
    plan, path = drawn_plan(), tmp_path / "model.glb"
    path.write_bytes(drawn_bytes())
    candidate = plan.candidates[0]
    for place, piece in enumerate(candidate.pieces):
        corners = [list(corner) for corner in piece.corners_m]
        corners[2][axis] += 0.002
        other = piece.model_copy(update={"corners_m": tuple(tuple(corner) for corner in corners)})
        pieces = (*candidate.pieces[:place], other, *candidate.pieces[place + 1 :])
        changed = candidate.model_copy(update={"pieces": pieces})
        report = audit_model(plan.model_copy(update={"candidates": (changed,)}), path)
        found = {(finding.clause, finding.subject) for finding in report.pick("disagrees")}
        assert ("drawn.level" if axis == 2 else "drawn.place", piece.id) in found
