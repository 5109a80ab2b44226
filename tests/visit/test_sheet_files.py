"""``evenfall survey-sheet``: pages that can be printed and a level book that can be filled in and read."""

from __future__ import annotations

import csv
import io
import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from pypdf import PdfReader

from optimizer.brief.read_site import read_site
from optimizer.cli import Exit, run_command
from optimizer.plan_file import write_plan
from optimizer.survey.level_reader import read_level_book
from optimizer.survey.level_reduction import accept_levels, reduce_level_book
from optimizer.visit.book_csv import format_book
from optimizer.visit.build_sheet import build_first_sheet, build_shot_sheet
from optimizer.visit.questions import list_groups
from optimizer.visit.set_pages import set_pdf, set_pictures, show_level, show_place
from optimizer.visit.sheet import VisitSheet
from tests.planned_scene import NAME, SCENES, planned, planned_site

Out = pytest.CaptureFixture[str]


def shot_sheet() -> VisitSheet:
    return build_shot_sheet(planned_site(), planned().candidates[0])


def plan_file(folder: Path) -> Path:
    write_plan(planned(), folder / "plan.json")
    return folder / "plan.json"


def test_a_blank_sheet_needs_no_files(tmp_path: Path, capsys: Out) -> None:
    assert run_command(["survey-sheet", "--blank", "--out", str(tmp_path)]) == Exit.ALLOWED
    assert (tmp_path / "visit-sheet.pdf").read_bytes().startswith(b"%PDF-")
    told = capsys.readouterr().err
    assert "visit-sheet.pdf" in told
    assert "level-book.csv" in told


def test_a_book_with_readings_is_never_written_over(tmp_path: Path, capsys: Out) -> None:
    words = ["survey-sheet", "--blank", "--out", str(tmp_path)]
    assert run_command(words) == Exit.ALLOWED
    assert run_command(words) == Exit.ALLOWED, "an empty book may be written again"
    book = tmp_path / "level-book.csv"
    filled = book.read_text(encoding="utf-8") + "the day's readings\n"
    book.write_text(filled, encoding="utf-8")
    assert run_command(words) == Exit.BAD_INPUT
    assert "level-book.csv" in capsys.readouterr().err
    assert book.read_text(encoding="utf-8") == filled


def test_a_plan_gives_a_shot_list_with_names_and_places_in_the_book(tmp_path: Path) -> None:
    words = ["survey-sheet", str(SCENES / NAME), "--plan", str(plan_file(tmp_path)), "--out", str(tmp_path)]
    assert run_command(words) == Exit.ALLOWED
    rows = list(csv.DictReader(io.StringIO((tmp_path / "level-book.csv").read_text(encoding="utf-8"))))
    names = [row["name"] for row in rows]
    assert names == ["sill left", *(shot.name for shot in shot_sheet().shots[1:]), "sill left"]
    sill = next(value for key, value in rows[0].items() if key.startswith("known_elevation"))
    unit_m = 0.3048 if "known_elevation_ft" in rows[0] else 1.0
    site = planned_site()
    expected_m = site.yard.starts[0].threshold_m + site.origin_shift_m[2]
    assert float(sill) * unit_m == pytest.approx(expected_m, abs=0.0005)


def test_the_book_filled_in_is_read_as_a_level_book_with_the_levels_that_were_there(tmp_path: Path) -> None:
    """The instrument stands 1.2 m above the sill; every reading is 1.2 m and what the point lies below."""
    sheet = shot_sheet()
    unit_m = 1.0 if sheet.unit == "m" else 0.3048
    rows = list(csv.reader(io.StringIO(format_book(sheet, 20.0))))
    below = {shot.name: shot.below_m for shot in sheet.shots}
    column = {name.rpartition("_")[0]: i for i, name in enumerate(rows[0])}
    rows[1][column["bs"]] = f"{1.2 / unit_m:.4f}"
    for row in rows[2:-1]:
        row[column["is"]] = f"{(1.2 + below[row[0]]) / unit_m:.4f}"
    rows[-1][column["fs"]] = f"{1.2 / unit_m:.4f}"
    path = tmp_path / "book.csv"
    path.write_text("\n".join(",".join(row) for row in rows) + "\n", encoding="utf-8")
    points = accept_levels(reduce_level_book(read_level_book(path))).points
    found = {point.name: point.elevation_m for point in points if point.kind == "spot"}
    assert len(found) == len(sheet.shots) - 1
    for name, level_m in found.items():
        assert level_m == pytest.approx(20.0 - below[name], abs=0.001)


def test_an_empty_book_is_refused_as_one_without_readings(tmp_path: Path, capsys: Out) -> None:
    path = tmp_path / "book.csv"
    path.write_text(format_book(build_first_sheet(None, "m"), None), encoding="utf-8")
    site = tmp_path / "site.toml"
    text = (SCENES / NAME / "site.toml").read_text(encoding="utf-8")
    site.write_text(text.replace('"levels.csv"', '"book.csv"'), encoding="utf-8")
    assert run_command(["ground", str(tmp_path), "--out", str(tmp_path / "out")]) == Exit.BAD_INPUT
    assert "book.csv:2: " in capsys.readouterr().err


def test_a_site_s_sheet_asks_only_what_its_rules_depend_on_and_shows_what_is_known() -> None:
    blank = {question.asked for question in list_groups(None)[1].questions}
    site = read_site(SCENES / "level-book")
    door, facts, *_ = list_groups(site)
    assert {question.asked for question in facts.questions} < blank
    answers = {question.asked: question.answer for question in (*door.questions, *facts.questions)}
    assert answers["Swings"] == "in"
    assert answers["Clear opening"] == "2' 11\""
    assert answers["Is the ramp new work, or work on an existing site?"] == "new"
    assert answers["Old steps"] == ""


@pytest.mark.parametrize("unit", ["m", "ft"])
def test_pages_are_a4_black_on_white_and_never_blank(unit: str) -> None:
    sheets = (build_first_sheet(None, "ft" if unit == "ft" else "m"), replace(shot_sheet(), unit=unit))
    for sheet, count in zip(sheets, (4, 2), strict=True):
        pages = set_pictures(sheet)
        assert len(pages) == count
        for page in pages:
            with Image.open(io.BytesIO(page)) as picture:
                wide, tall = picture.size
                assert tall / wide == pytest.approx(297 / 210, abs=0.01)
                grey = np.asarray(picture.convert("L"))
                colours = np.ptp(np.asarray(picture.convert("RGB")).astype(int), axis=2)
            assert 0.005 < (grey < 128).mean() < 0.3
            assert colours.max() == 0  # nothing is told by colour alone


def test_the_sketch_is_no_mirror_image_looking_out_is_down_so_right_stands_left() -> None:
    """Turned round to face the page's way out, what is right of the door lies on the page's left."""
    sheet = shot_sheet()
    page = PdfReader(io.BytesIO(set_pdf(sheet))).pages[1]
    found: dict[str, float] = {}

    def note(text: str, matrix: list[float], _: object, __: object, ___: object) -> None:
        if text.strip().isdigit():
            found.setdefault(text.strip(), matrix[4])

    page.extract_text(visitor_text=note)
    shots = [(one.along_m, found[str(n)]) for n, one in enumerate(sheet.shots, start=1) if str(n) in found]
    assert len(shots) >= 4
    leftmost, rightmost = min(shots), max(shots)
    assert rightmost[0] - leftmost[0] > 0.5
    assert rightmost[1] < leftmost[1]


def test_the_same_sheet_gives_the_same_bytes() -> None:
    assert set_pdf(shot_sheet()) == set_pdf(shot_sheet())


def test_no_text_of_the_template_is_below_eleven_points() -> None:
    template = Path(__file__).parents[2] / "optimizer" / "visit" / "visit_sheet.typ"
    sizes = [float(size) for size in re.findall(r"size: ([\d.]+)pt", template.read_text(encoding="utf-8"))]
    assert sizes
    assert min(sizes) >= 11.0


def test_lengths_are_told_in_steps_a_staff_is_read_to() -> None:
    metric, feet = replace(shot_sheet(), unit="m"), replace(shot_sheet(), unit="ft")
    assert show_level(metric, 0.4374) == "437\u00a0mm"
    assert show_level(feet, 0.4374) == "1'\u00a05\u00a01/4\""
    shot = replace(metric.shots[2], along_m=-2.348, out_m=1.2)
    assert show_place(metric, shot) == "2.35\u00a0m\u00a0left, 1.20\u00a0m\u00a0out"


def test_names_of_a_site_are_text_and_never_code_of_the_page(tmp_path: Path) -> None:
    odd = replace(read_site(SCENES / NAME), name='#panic("x") *a* _b_ [c] $d$')
    assert set_pdf(build_first_sheet(odd, "m")).startswith(b"%PDF-")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ([], "SITE: no site is named."),
        (["--blank", str(SCENES / NAME)], "SITE: a blank sheet is of no site."),
        (["--blank", "--plan", "plan.json"], "--plan: a plan needs its site."),
        (["{folder}/nothing"], "there is no such file"),
        ([str(SCENES / NAME), "--plan", "{folder}/none.json"], "none.json"),
        (
            [str(SCENES / NAME), "--plan", "{plan}", "--candidate", "99"],
            "--candidate: 99 is not a",
        ),
        ([str(SCENES / "level-book"), "--plan", "{plan}"], "was made for"),
    ],
)
def test_what_cannot_be_printed_is_bad_input_and_nothing_is_written(
    words: list[str], told: str, tmp_path: Path, capsys: Out
) -> None:
    plan = plan_file(tmp_path)
    filled = [word.format(folder=tmp_path, plan=plan) for word in words]
    assert run_command(["survey-sheet", *filled, "--out", str(tmp_path / "out")]) == Exit.BAD_INPUT
    assert told in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


def test_a_folder_that_cannot_be_written_is_bad_input(tmp_path: Path, capsys: Out) -> None:
    (tmp_path / "file").write_text("mine", encoding="utf-8")
    assert run_command(["survey-sheet", "--blank", "--out", str(tmp_path / "file" / "out")]) == Exit.BAD_INPUT
    assert "results cannot be written there" in capsys.readouterr().err
