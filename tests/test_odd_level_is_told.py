"""A staff misread by a foot is named by `ground` and `plan`, not only blurred into an error."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from optimizer.cli import run_command

Out = pytest.CaptureFixture[str]


def test_one_wrong_shot_of_a_level_book_is_named_by_ground_and_plan(tmp_path: Path, capsys: Out) -> None:
    scene = tmp_path / "scene"
    shutil.copytree("scenes/level-book", scene)
    book = scene / "book.csv"
    text = book.read_text(encoding="utf-8")
    assert text.count(",4.66,") == 1
    book.write_text(text.replace(",4.66,", ",3.66,"), encoding="utf-8")
    for command in ("ground", "plan"):
        run_command([command, str(scene), "--out", str(tmp_path / command), "--pictures", "none"])
        shown = " ".join(capsys.readouterr().out.split())
        assert 'the level of "P8" lies +' in shown
        assert "Look at its reading in the book" in shown
