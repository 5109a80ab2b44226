"""The pages of the report: long tables, pictures, names, the same bytes twice, and what is refused."""

from __future__ import annotations

import io
import os
import re
from pathlib import Path

import pytest
from PIL import Image
from pypdf import PdfReader

from optimizer.cli import run_command
from optimizer.errors import InputError
from optimizer.plan_file import write_plan
from optimizer.report.build_report import build_plan_report
from optimizer.report.parts import Rows, Still, set_report
from optimizer.report.read_stills import StillFile, are_current, read_stills
from optimizer.report.source_files import SourceFile
from tests.planned_scene import planned
from tests.report.report_reading import (
    NOTHING_DRAWN,
    SITE,
    build,
    change_candidate,
    job_of,
    read,
    read_pages,
    surveyed,
)

Out = pytest.CaptureFixture[str]


def test_a_long_price_runs_over_pages_and_loses_no_row() -> None:
    candidate = planned().candidates[0]
    lines = tuple(
        line.model_copy(update={"part": f"{line.part}-{n}"})
        for n in range(6)
        for line in candidate.price_lines
        if line.group == "direct"
    )
    plan = change_candidate(planned(), candidate.model_copy(update={"price_lines": lines}))
    pages = read_pages(set_report(build(job_of(plan=plan)))[0])
    held = [page for page in pages if any(f"{line.part} {line.count} " in page for line in lines)]
    assert len(held) >= 3
    assert all("part named count each sum used by" in page for page in held)
    assert all(sum(f" {line.part} {line.count} " in page for page in held) == 1 for line in lines)


def draw_png(size: tuple[int, int]) -> bytes:
    buffer = io.BytesIO()
    Image.new("RGB", size, (20, 90, 160)).save(buffer, format="PNG")
    return buffer.getvalue()


def test_pictures_are_in_it_with_their_captions_else_it_says_why_not() -> None:
    stills = tuple(Still(f"view {n}", draw_png((320, 200 + n))) for n in (1, 2, 3))
    content = set_report(build(job_of(), stills))[0]
    sizes = [
        image.image.size
        for page in PdfReader(io.BytesIO(content)).pages
        for image in page.images
        if image.image
    ]
    assert sizes == [(320, 201), (320, 202), (320, 203)]
    text = " ".join(read_pages(content))
    assert all(f"view {n}" in text for n in (1, 2, 3))
    assert NOTHING_DRAWN not in text
    assert NOTHING_DRAWN in read(build(job_of()))


def test_pictures_beside_the_plan_are_taken_only_when_whole_and_no_older(tmp_path: Path) -> None:
    plan, picture = tmp_path / "plan.json", tmp_path / "candidate-1-overview.png"
    plan.write_text("{}", encoding="utf-8")
    named = [StillFile(picture.name, "the whole ramp")]
    assert not are_current(named, plan)
    picture.write_bytes(b"png")
    made_ns = plan.stat().st_mtime_ns
    for offset, is_fresh in ((0, True), (1_000_000, True), (-1_000_000, False)):
        os.utime(picture, ns=(made_ns + offset, made_ns + offset))
        assert are_current(named, plan) is is_fresh
    assert read_stills(named, tmp_path) == (Still("the whole ramp", b"png"),)
    with pytest.raises(InputError, match=r"gone\.png.*ask for no pictures"):
        read_stills([StillFile("gone.png", "")], tmp_path)


def test_the_command_takes_the_pictures_that_lie_beside_the_plan(tmp_path: Path, capsys: Out) -> None:
    write_plan(planned(), tmp_path / "plan.json")
    names = [f"candidate-{n}-overview.png" for n in range(1, len(planned().candidates) + 1)]
    names.insert(1, "candidate-1-street.png")
    for n, name in enumerate(names):
        (tmp_path / name).write_bytes(draw_png((300 + n, 100)))
    assert run_command(["report", str(tmp_path / "plan.json"), "--site", str(SITE)]) == 0
    pages = PdfReader(tmp_path / "report.pdf").pages
    widths = [image.image.width for page in pages for image in page.images if image.image]
    assert widths == [300 + n for n in range(len(names))]
    assert "no pictures" not in capsys.readouterr().err


def test_it_says_on_every_page_that_it_is_no_approval_and_cautions_end_it() -> None:
    pages = read_pages(set_report(build(job_of()))[0])
    assert all("Not an approval. Local codes, the authority having jurisdiction" in page for page in pages)
    assert "nobody under an unsupported section" in pages[-1]
    assert not re.search(
        r"\b(approved|certified|guaranteed|compliant)\b", " ".join(pages), flags=re.IGNORECASE
    )


def test_names_are_text_whatever_they_hold() -> None:
    name = '#emph[x] $y$ "=1" <tag> Straße'
    plan = planned().model_copy(update={"site": planned().site.model_copy(update={"name": name})})
    text = read(build(job_of(plan=plan)))
    assert text.count(name) >= 2


def test_columns_and_rows_of_every_table_agree() -> None:
    whole = build_plan_report(job_of(), surveyed(), (), NOTHING_DRAWN, (SourceFile("a", "b", 1, "c"),))
    tables = [one for one in whole.parts if isinstance(one, Rows)]
    assert len(tables) > 8
    for table in tables:
        assert len(table.head) == len(table.widths)
        assert {len(row) for row in table.rows} == {len(table.head)}


@pytest.mark.parametrize("paper", ["a4", "us-letter"])
def test_the_same_plan_gives_the_same_bytes_on_both_papers(paper: str, tmp_path: Path, capsys: Out) -> None:
    write_plan(planned(), tmp_path / "plan.json")
    made = []
    for name in ("a.pdf", "b.pdf"):
        words = ["report", str(tmp_path / "plan.json"), "--paper", paper, "--pictures", "none"]
        assert run_command([*words, "--site", str(SITE), "--out", str(tmp_path / name)]) == 0
        made.append((tmp_path / name).read_bytes())
    assert made[0] == made[1]
    size = PdfReader(io.BytesIO(made[0])).pages[0].mediabox
    assert (round(size.width), round(size.height)) == {"a4": (595, 842), "us-letter": (612, 792)}[paper]
    assert "written:" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--out", "report.html"], "Name a file that ends in .pdf"),
        (["--candidate", "99"], "99 is not a candidate"),
        (["--candidate", "0"], "0 is not a candidate"),
        (["--paper", "a5"], "a5"),
    ],
)
def test_what_cannot_be_reported_is_bad_input_and_nothing_is_written(
    words: list[str], told: str, tmp_path: Path, capsys: Out, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    write_plan(planned(), tmp_path / "plan.json")
    assert run_command(["report", "plan.json", "--site", str(SITE), "--pictures", "none", *words]) == 3
    assert told in capsys.readouterr().err
    assert [path.name for path in tmp_path.iterdir()] == ["plan.json"]


def test_a_folder_that_cannot_be_written_is_told_before_anything_is_drawn(
    tmp_path: Path, capsys: Out
) -> None:
    write_plan(planned(), tmp_path / "plan.json")
    (tmp_path / "file").write_text("", encoding="utf-8")
    command = ["report", str(tmp_path / "plan.json"), "--site", str(SITE)]
    assert run_command([*command, "--out", str(tmp_path / "file" / "r.pdf")]) == 3
    assert "results cannot be written there" in capsys.readouterr().err
