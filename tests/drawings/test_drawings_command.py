"""``evenfall drawings``: the paper by the site's units or as asked for, and faults told."""

from __future__ import annotations

from pathlib import Path

import pytest

from optimizer.cli import Exit, run_command
from optimizer.plan_file import write_plan
from tests.drawings.pdf_lines import read_page_size
from tests.planned_scene import NAME, SCENES, planned

Out = pytest.CaptureFixture[str]
SITE = ("--site", str(SCENES / NAME))


def plan_file(folder: Path) -> str:
    write_plan(planned(), folder / "plan.json")
    return str(folder / "plan.json")


@pytest.mark.parametrize(("asked", "wide_mm"), [((), 420.0), (("--paper", "us"), 431.8)])
def test_three_files_beside_the_plan(
    asked: tuple[str, ...], wide_mm: float, tmp_path: Path, capsys: Out
) -> None:
    assert run_command(["drawings", plan_file(tmp_path), *SITE, *asked]) == Exit.ALLOWED
    names = {f"candidate-1-drawings{suffix}" for suffix in (".pdf", ".dxf", ".geojson")}
    assert {path.name for path in tmp_path.iterdir()} == {"plan.json", *names}
    told = capsys.readouterr().err
    assert all(name in told for name in names)
    # The section's sheet is never greater than the smallest paper.
    width, _ = read_page_size((tmp_path / "candidate-1-drawings.pdf").read_bytes(), 2)
    assert width * 25.4 / 72 == pytest.approx(wide_mm, abs=0.05)


def test_the_second_candidate_goes_where_it_is_asked_for(tmp_path: Path) -> None:
    out = tmp_path / "new" / "folder"
    words = ["drawings", plan_file(tmp_path), *SITE, "--candidate", "2", "--out", str(out)]
    assert run_command(words) == Exit.ALLOWED
    assert {path.name for path in out.iterdir()} == {
        f"candidate-2-drawings{suffix}" for suffix in (".pdf", ".dxf", ".geojson")
    }


def test_a_candidate_beyond_the_last_is_a_fault_and_writes_nothing(tmp_path: Path, capsys: Out) -> None:
    out = tmp_path / "out"
    words = ["drawings", plan_file(tmp_path), *SITE, "--candidate", "9", "--out", str(out)]
    assert run_command(words) == Exit.BAD_INPUT
    assert "--candidate: 9 is not a candidate. The plan has 1 to 4." in capsys.readouterr().err
    assert not out.exists()
