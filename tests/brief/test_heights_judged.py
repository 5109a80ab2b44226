"""Whether legs may be ordered by a scan's heights, and every doubt told where the plan is read."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from pathlib import Path

import pytest

from optimizer.brief.read_site import read_site
from optimizer.cli import run_command
from optimizer.errors import InputError
from optimizer.survey.placing.control_points import LEVEL_ERROR_M, PICK_ERROR_M, build_control
from optimizer.survey.placing.placing_report import place_by_control
from optimizer.survey.placing.quantiles import chi_limit
from tests.brief.test_survey_of_a_site import changed_scene, scan_refusal
from tests.survey.placing.exact_control import exact_points

Out = pytest.CaptureFixture[str]


def misread(folder: Path, name: str, by_m: float) -> Path:
    """The scene with one intermediate sight of its level book misread."""
    scene = changed_scene(folder, "book.csv")
    path = scene / "book.csv"
    lines = path.read_text(encoding="utf-8").splitlines()
    column = lines[0].split(",").index("is_m")
    row = next(i for i, line in enumerate(lines) if line.startswith(f"{name},"))
    cells = lines[row].split(",")
    cells[column] = f"{float(cells[column]) + by_m:.3f}"
    lines[row] = ",".join(cells)
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return scene


def test_a_sound_survey_may_order_legs_and_raises_no_doubt() -> None:
    heights = read_site(Path("scenes/phone-scan")).heights
    assert heights.warning == ""
    assert heights.doubts == ()


def test_a_check_point_that_is_missed_stops_the_ordering_of_legs(tmp_path: Path) -> None:
    heights = read_site(misread(tmp_path, "K1", -0.060)).heights
    assert heights.warning.startswith(
        'heights not fit for ordering legs until check point "K1" is shot again: the scan misses it by -67 mm'
    )
    assert any('check point "K1" is off by' in doubt.what for doubt in heights.doubts)


@pytest.mark.parametrize(("by_m", "is_named"), [(0.060, True), (0.010, False)])
def test_a_control_point_far_off_is_named_and_one_little_off_is_not(
    by_m: float, *, is_named: bool, tmp_path: Path
) -> None:
    heights = read_site(misread(tmp_path, "C5", by_m)).heights
    assert ('until "C5" is shot again: its elevation is off by' in heights.warning) == is_named


def test_the_plan_tells_the_doubts_above_its_candidates_and_in_its_file(tmp_path: Path, capsys: Out) -> None:
    scene = misread(tmp_path, "C5", 0.060)
    assert run_command(["plan", str(scene), "--out", str(tmp_path / "out"), "--pictures", "none"]) in (0, 1)
    shown = capsys.readouterr().out
    assert shown.index("Heights not fit for ordering legs until") < shown.index("Candidates, by")
    assert shown.index("Look again: control.csv:") < shown.index("Candidates, by")
    ground = json.loads((tmp_path / "out" / "plan.json").read_text(encoding="utf-8"))["ground"]
    assert ground["warning"].startswith("heights not fit for ordering legs until")
    assert [doubt["where"] for doubt in ground["doubts"]]


@pytest.mark.parametrize(("by_m", "is_named"), [(0.300, True), (0.004, False)])
def test_a_levelled_point_that_contradicts_the_scan_stops_the_ordering_of_legs(
    by_m: float, *, is_named: bool, tmp_path: Path
) -> None:
    heights = read_site(misread(tmp_path, "G2", by_m)).heights
    assert ('until levelled point "G2" is shot again: it lies -' in heights.warning) == is_named
    assert any('the levelled point "G2" lies -' in doubt.what for doubt in heights.doubts) == is_named


def test_what_three_levelled_points_would_not_notice_is_told_in_millimetres() -> None:
    """Three equal elevations and one unknown height: a residual is 2/3 of the error, its own spread
    sqrt(2/3) of one elevation's, so an error up to limit x s x sqrt(3/2) passes (Baarda's 1968 test, whose
    source ``residual_tests`` names; worked by hand).
    """
    report = place_by_control(build_control(exact_points(3)))
    s = math.hypot(PICK_ERROR_M, LEVEL_ERROR_M)
    expected = chi_limit(1, 0.001) * s * math.sqrt(3.0 / 2.0)
    heights = [test.unnoticed_m for test in report.tests if test.part == "height"]
    assert heights == pytest.approx([expected] * 3)
    told = f"one of them {1000 * expected:.0f} mm wrong would not be noticed"
    assert any(told in doubt.what for doubt in report.doubts)


def test_an_error_just_within_is_not_noticed_and_just_beyond_is() -> None:
    points = exact_points(3)
    limit = next(one.unnoticed_m for one in place_by_control(build_control(points)).tests if one.unnoticed_m)
    for share, is_noticed in ((0.99, False), (1.01, True)):
        moved = replace(points[1], elevation_m=(points[1].elevation_m or 0.0) + share * limit)
        report = place_by_control(build_control([points[0], moved, points[2]]))
        assert bool(report.suspects) == is_noticed


def test_a_check_point_silences_that_warning() -> None:
    points = [*exact_points(3), replace(exact_points(4)[3], role="check")]
    report = place_by_control(build_control(points))
    assert not any("would not be noticed" in doubt.what for doubt in report.doubts)


def test_faults_of_control_and_scan_are_told_together(tmp_path: Path) -> None:
    scene = changed_scene(tmp_path, "control.csv", ("C2,", "C1,"))
    with (scene / "yard.laz").open("r+b") as scan:
        scan.truncate(40_000)
    told = scan_refusal(scene)
    assert "control.csv" in told
    assert "yard.laz: the file is cut off at byte 40,000" in told


def test_faults_of_control_and_an_unconfirmed_unit_are_told_together(tmp_path: Path) -> None:
    scene = changed_scene(tmp_path, "control.csv", ("C2,", "C1,"))
    site = scene / "site.toml"
    text = site.read_text(encoding="utf-8").replace('unit = "m"\nup', "up")
    site.write_text(text, encoding="utf-8")
    told = scan_refusal(scene)
    assert "control.csv" in told
    assert "must be confirmed by a person" in told


def test_a_refused_book_invents_no_fault_of_the_control_points(tmp_path: Path) -> None:
    scene = changed_scene(tmp_path, "book.csv")
    path = scene / "book.csv"
    lines = path.read_text(encoding="utf-8").splitlines()
    path.write_text("\n".join(lines[:-1]) + "\n", encoding="utf-8")
    with pytest.raises(InputError) as caught:
        read_site(scene)
    assert len(caught.value.faults) == 1
    assert "has no foresight" in str(caught.value)
    assert "Was a row left out?" in str(caught.value)


def test_picks_read_with_another_axis_up_are_told_how_to_turn_them(tmp_path: Path) -> None:
    told = scan_refusal(changed_scene(tmp_path, "site.toml", ('up = "z"', 'up = "y"')))
    assert 'read in the axes of the file, "y" up: give its x, -z, y as scan_x, scan_y, scan_z.' in told
    assert 'unit = "m" and scan.up = "z" would put every pick within' in told
