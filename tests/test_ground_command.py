"""``evenfall ground``: what it prints and writes, and how bad surveys end."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from PIL import Image

from optimizer.brief.read_site import read_surveyed_site
from optimizer.cli import Exit, run_command
from optimizer.errors import DrawingError
from optimizer.ground_records import GroundReport
from optimizer.ground_report import build_ground_report
from optimizer.ground_table import show_small

SCENES = Path(__file__).parents[1] / "scenes"
Out = pytest.CaptureFixture[str]


def ground(site: Path, out: Path, *more: str) -> int:
    return run_command(["ground", str(site), "--out", str(out), "--pictures", "none", *more])


def changed_scene(folder: Path, name: str, file: str, old: str, new: str) -> Path:
    shutil.copytree(SCENES / name, folder / name)
    path = folder / name / file
    text = path.read_text(encoding="utf-8")
    assert text.count(old) == 1
    path.write_text(text.replace(old, new), encoding="utf-8")
    return folder / name


def test_a_level_book_is_told_with_sums_misclosure_averages_and_errors(tmp_path: Path, capsys: Out) -> None:
    assert ground(SCENES / "level-book", tmp_path) == Exit.ALLOWED
    shown = capsys.readouterr()
    for words in (
        "ground from 20 levelled points",
        "Not ground (marks, overhead, or no position): sill.",
        "Sums of the page 1",
        "they agree",
        "misses by +0.12 in, allowed 0.27 in",
        "P7: mean of 2 shots, 0.12 in apart",
        "Standard error of one set-up",
    ):
        assert words in " ".join(shown.out.split()), words
    assert f"written: {tmp_path / 'ground.json'}" in shown.err


def test_the_misclosure_told_is_that_of_the_readings(tmp_path: Path) -> None:
    # By hand: backsights 2.35 + 3.90 less foresights 4.63 + 1.61 is +0.01 ft, and the sill is known.
    assert ground(SCENES / "level-book", tmp_path) == Exit.ALLOWED
    (file,) = json.loads((tmp_path / "ground.json").read_text(encoding="utf-8"))["files"]
    (closure,) = file["closures"]
    assert closure["misclosure_m"] == pytest.approx(0.01 * 0.3048, abs=1e-9)
    assert closure["verdict"] == "closes"
    # Half of it after the first of two set-ups, all of it at the end.
    by_name = {row["name"]: row for row in file["rows"]}
    assert by_name["P1"]["correction_m"] == pytest.approx(-0.005 * 0.3048, abs=1e-9)
    assert by_name["sill"]["correction_m"] == pytest.approx(-0.01 * 0.3048, abs=1e-9)


def test_a_scan_is_told_with_its_frame_its_placing_and_what_was_thrown_away(
    tmp_path: Path, capsys: Out
) -> None:
    assert ground(SCENES / "phone-scan", tmp_path) == Exit.ALLOWED
    shown = " ".join(capsys.readouterr().out.split())
    for words in (
        "38,058 points read; 0 were no numbers",
        'confirmed unit = "m", up = "z"',
        "Flat patches lie",
        "as the others foretell it",
        "K1 check",
        "The tilt stays 0: 5 levelled points, 6 are needed to fit it.",
        "of things that stand or hang there",
        "Held against 4 levelled ground points that did not make it",
        "Limit of the sorting: ",
        "Door sills are not taken from the scan",
    ):
        assert words in shown, words
    assert "not fit for ordering legs" not in shown


def test_the_json_printed_is_the_file_written_and_meets_its_own_schema(tmp_path: Path, capsys: Out) -> None:
    assert ground(SCENES / "phone-scan", tmp_path, "--json") == Exit.ALLOWED
    text = (tmp_path / "ground.json").read_text(encoding="utf-8")
    assert capsys.readouterr().out.rstrip("\n") == text.rstrip("\n")
    report = GroundReport.model_validate_json(text)
    assert report == build_ground_report(read_surveyed_site(SCENES / "phone-scan"))


def test_too_few_levelled_marks_are_told_by_ground_plan_and_sheet(tmp_path: Path, capsys: Out) -> None:
    shutil.copytree(SCENES / "phone-scan", tmp_path / "scene")
    book = tmp_path / "scene" / "book.csv"
    lines = book.read_text(encoding="utf-8").splitlines()
    left = [line for line in lines if not line.startswith(("C3,", "C4,", "C5,", "K1,"))]
    book.write_text("\n".join(left) + "\n", encoding="utf-8")
    warning = "eights not fit for ordering legs: 2 levelled control points carry the scan, 3 are needed"
    assert ground(tmp_path / "scene", tmp_path / "out") == Exit.ALLOWED
    assert warning in " ".join(capsys.readouterr().out.split())
    run_command(["plan", str(tmp_path / "scene"), "--out", str(tmp_path / "plan"), "--pictures", "none"])
    shown = " ".join(capsys.readouterr().out.split())
    assert f"H{warning}." in shown
    assert f"Do not order by these: h{warning}." in shown
    made = json.loads((tmp_path / "plan" / "plan.json").read_text(encoding="utf-8"))
    assert made["ground"]["label"].startswith(f"h{warning}; rough: ")
    run_command(["check", str(tmp_path / "plan" / "plan.json"), "--report", str(tmp_path / "r.json")])
    assert f"H{warning}." in " ".join(capsys.readouterr().out.split())
    assert json.loads((tmp_path / "r.json").read_text(encoding="utf-8"))["heights"] == f"h{warning}"


@pytest.mark.parametrize(
    ("scene", "file", "old", "new", "told"),
    [
        pytest.param(
            "level-book", "book.csv", "CP1,3.90,,4.63,", "CP1,3.90,,,", "book.csv:14: ", id="no foresight"
        ),
        pytest.param("level-book", "book.csv", "P5,,4.6", "P5,,nan4.6", "book.csv:7: ", id="no number"),
        pytest.param("level-book", "book.csv", "sill,,,1.61", "sill,,,1.51", "misses by", id="misclosure"),
        pytest.param(
            "phone-scan", "site.toml", 'unit = "m"\nup = "z"', "", "must be confirmed by a person", id="frame"
        ),
    ],
)  # fmt: skip
def test_a_bad_survey_ends_with_bad_input_and_nothing_is_written(
    scene: str, file: str, old: str, new: str, told: str, tmp_path: Path, capsys: Out
) -> None:
    site = changed_scene(tmp_path, scene, file, old, new)
    for verb in ("ground", "plan", "survey-sheet"):
        assert run_command([verb, str(site), "--out", str(tmp_path / "out")]) == Exit.BAD_INPUT
        assert told in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


def test_a_folder_that_cannot_be_written_is_bad_input(tmp_path: Path, capsys: Out) -> None:
    (tmp_path / "file").write_text("mine", encoding="utf-8")
    assert ground(SCENES / "level-book", tmp_path / "file" / "out") == Exit.BAD_INPUT
    assert "results cannot be written there" in capsys.readouterr().err
    assert (tmp_path / "file").read_text(encoding="utf-8") == "mine"


def test_without_opengl_the_report_is_made_and_the_line_that_mends_it_is_told(
    tmp_path: Path, capsys: Out, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object) -> Path:
        message = "Drawing was killed. On Debian or Ubuntu run as root: apt-get install libegl1"
        raise DrawingError(message)

    monkeypatch.setattr("viewer.relief_still.write_relief", fail)
    assert run_command(["ground", str(SCENES / "level-book"), "--out", str(tmp_path)]) == Exit.ALLOWED
    assert "no picture of the ground: " in (told := capsys.readouterr().err)
    assert "apt-get install" in told
    assert [path.name for path in tmp_path.iterdir()] == ["ground.json"]


@pytest.mark.needs_gl
@pytest.mark.slow
def test_the_relief_is_drawn_and_is_no_blank_page(tmp_path: Path) -> None:
    assert run_command(["ground", str(SCENES / "phone-scan"), "--out", str(tmp_path)]) == Exit.ALLOWED
    with Image.open(tmp_path / "ground.png") as picture:
        assert picture.size == (1600, 1000)
        assert len(picture.convert("RGB").getcolors(maxcolors=2_000_000) or ()) > 500


def test_small_errors_are_shown_in_the_units_a_surveyor_of_the_site_uses() -> None:
    metric = read_surveyed_site(SCENES / "phone-scan").site
    inches = read_surveyed_site(SCENES / "level-book").site
    assert show_small(metric, 0.00254) == "2.5 mm"
    assert show_small(inches, 0.00254) == "0.10 in"
