"""``evenfall page``: the command, its file names and what it refuses."""

from __future__ import annotations

from pathlib import Path

import pytest

from optimizer.cli import run_command
from optimizer.plan_file import write_plan
from optimizer.run_record import write_run_record
from tests.planned_scene import NAME, SCENES, planned


@pytest.fixture
def plan(tmp_path: Path) -> Path:
    write_plan(planned(), tmp_path / "plan.json")
    write_run_record(tmp_path, 1.0, SCENES / NAME)
    return tmp_path / "plan.json"


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def test_the_page_lies_beside_the_plan(plan: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run_command(["page", str(plan), "--pictures", "none"]) == 0
    models = [f"ramp-{n}.glb" for n in range(1, len(planned().candidates) + 1)]
    assert names(plan.parent) == sorted(["plan.json", "run.json", "ramp.html", *models])
    told = capsys.readouterr()
    assert told.out == ""
    assert told.err.count("written: ") == 1 + len(models)
    assert "English" in (plan.parent / "ramp.html").read_text()


def test_languages_title_and_place_can_be_chosen(plan: Path) -> None:
    out = plan.parent / "to send" / "rampa.html"
    options = ["--language", "es", "--language", "en", "--title", " Casa & jardín ", "--north", "30"]
    assert run_command(["page", str(plan), "--out", str(out), "--pictures", "none", *options]) == 0
    text = out.read_text(encoding="utf-8")
    assert '<html lang="es">' in text
    assert "<h1>Casa &amp; jardín</h1>" in text
    assert 'id="north"' in text


@pytest.mark.needs_gl
def test_with_pictures_the_page_carries_them(plan: Path) -> None:
    assert run_command(["page", str(plan), "--language", "en"]) == 0
    text = (plan.parent / "ramp.html").read_text()
    assert text.count('src="data:image/webp;base64,') == 3 * len(planned().candidates)
    assert len(text.encode()) < 4_000_000


def test_a_machine_that_cannot_draw_makes_the_page_and_says_so(
    plan: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("sys.executable", "/bin/false")
    assert run_command(["page", str(plan)]) == 0
    assert "no pictures in the page: Drawing failed" in capsys.readouterr().err
    assert "apt-get install" not in (plan.parent / "ramp.html").read_text()
    assert "No pictures are in this file" in (plan.parent / "ramp.html").read_text()


def test_a_plan_without_candidates_is_refused(plan: Path, capsys: pytest.CaptureFixture[str]) -> None:
    write_plan(planned().model_copy(update={"candidates": ()}), plan)
    assert run_command(["page", str(plan), "--out", str(plan.parent / "new" / "x.html")]) == 3
    assert "no candidate" in capsys.readouterr().err
    assert names(plan.parent) == ["plan.json", "run.json"]


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["--out", "ramp.pdf"], "--out: ramp.pdf is not named as a page. Name a file that ends in .html."),
        (["--north", "361"], "--north: 361 is no bearing. Give degrees from -360 to 360."),
        (["--north", "nan"], "--north: nan is no bearing. Give degrees from -360 to 360."),
        (["--language", "fr"], "fr"),
    ],
)
def test_wrong_options_are_told(
    plan: Path, capsys: pytest.CaptureFixture[str], options: list[str], said: str
) -> None:
    assert run_command(["page", str(plan), *options]) == 3
    assert said in capsys.readouterr().err
    assert names(plan.parent) == ["plan.json", "run.json"]


def test_a_place_that_cannot_be_written_is_told_before_anything_is_drawn(
    plan: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run_command(["page", str(plan), "--out", str(plan / "ramp.html")]) == 3
    assert "results cannot be written there" in capsys.readouterr().err
    assert names(plan.parent) == ["plan.json", "run.json"]


def test_a_plan_that_is_not_there_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run_command(["page", str(tmp_path / "nothing.json")]) == 3
    assert "nothing.json" in capsys.readouterr().err
