"""``evenfall documents``: files by name, all of them or none."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from pypdf import PdfReader

from optimizer.cli import Exit, run_command
from optimizer.documents import registered
from optimizer.documents.registered import DOCUMENTS, Document
from optimizer.errors import DrawingError
from optimizer.plan_file import write_plan
from tests.planned_scene import NAME, SCENES, planned

Out = pytest.CaptureFixture[str]
SITE = ("--site", str(SCENES / NAME))


def plan_file(folder: Path) -> str:
    write_plan(planned(), folder / "plan.json")
    return str(folder / "plan.json")


def test_all_documents_are_written_and_named_for_their_candidate(tmp_path: Path, capsys: Out) -> None:
    out = tmp_path / "out"
    words = ["documents", plan_file(tmp_path), *SITE, "--candidate", "2", "--out", str(out)]
    assert run_command(words) == Exit.ALLOWED
    names = {f"candidate-2-{one.name}{one.suffix}" for one in DOCUMENTS}
    assert {path.name for path in out.iterdir()} == names
    told = capsys.readouterr().err
    assert all(name in told for name in names)


@pytest.mark.parametrize(("paper", "wide_mm"), [("A4", 210.0), ("letter", 215.9), ("a4", 210.0)])
def test_one_document_on_the_paper_asked_for(paper: str, wide_mm: float, tmp_path: Path) -> None:
    out = tmp_path / "out"
    words = [
        "documents",
        plan_file(tmp_path),
        *SITE,
        "--only",
        "pick-list",
        "--paper",
        paper,
        "--out",
        str(out),
    ]
    assert run_command(words) == Exit.ALLOWED
    (path,) = out.iterdir()
    page = PdfReader(io.BytesIO(path.read_bytes())).pages[0]
    assert float(page.mediabox.width) * 25.4 / 72 == pytest.approx(wide_mm, abs=0.1)


def test_spare_legs_are_loaded_where_asked_for(tmp_path: Path) -> None:
    out = tmp_path / "out"
    words = ["documents", plan_file(tmp_path), *SITE, "--only", "pick-list", "--spares", "0.9"]
    assert run_command([*words, "--out", str(out)]) == Exit.ALLOWED
    text = " ".join(page.extract_text() for page in PdfReader(out / "candidate-1-pick-list.pdf").pages)
    assert "Spare legs: none needed for the share of days asked for." in text


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--candidate", "99"], "--candidate: 99 is not a candidate"),
        (["--only", "poem"], '--only: "poem" is no document. Name one of field-sheet'),
        (["--spares", "1.5"], "--spares: 1.5 is no chance"),
        (["--paper", "napkin"], "napkin"),
        (["--site", str(SCENES / "level-book")], "was made for"),
    ],
)
def test_what_cannot_be_printed_is_bad_input_and_nothing_is_written(
    words: list[str], told: str, tmp_path: Path, capsys: Out
) -> None:
    out = tmp_path / "out"
    asked = ["documents", plan_file(tmp_path), *SITE, *words, "--out", str(out)]
    assert run_command(asked) == Exit.BAD_INPUT
    assert told in capsys.readouterr().err
    assert not out.exists()


def test_a_folder_that_cannot_be_written_is_bad_input(tmp_path: Path, capsys: Out) -> None:
    (tmp_path / "file").write_text("mine", encoding="utf-8")
    words = ["documents", plan_file(tmp_path), *SITE, "--out", str(tmp_path / "file" / "out")]
    assert run_command(words) == Exit.BAD_INPUT
    assert "results cannot be written there" in capsys.readouterr().err


def test_when_the_last_document_fails_the_others_are_not_left_behind(
    tmp_path: Path, capsys: Out, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(_: object) -> bytes:
        raise DrawingError("no ink")

    monkeypatch.setattr(registered, "DOCUMENTS", (*DOCUMENTS, Document("last", ".pdf", fail)))
    out = tmp_path / "out"
    assert run_command(["documents", plan_file(tmp_path), *SITE, "--out", str(out)]) == Exit.BAD_INPUT
    assert "no ink" in capsys.readouterr().err
    assert list(out.iterdir()) == []


def test_every_document_has_its_own_name() -> None:
    assert len({one.name for one in DOCUMENTS}) == len(DOCUMENTS)
