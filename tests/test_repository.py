"""The repository as a stranger finds it."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path

import pytest

TOP = Path(__file__).parents[1]
MOST_LINES = 400
NAMED = {
    "README.md",
    "DEVELOPERS.md",
    "LICENSE",
    "pyproject.toml",
    "requirements.lock",
    "optimizer",
    "viewer",
    "tests",
    "scenes",
}
#: Paths and hosts that say where the files were made.  Spelt in halves, so as not to find themselves.
FOREIGN = re.compile(
    "|".join(
        (
            r"(?<![\w.])/" + r"(?:work|tmp|root|home|farm)\b/?",
            r"\bshar" + r"ed/(?:design|checks|data)",
            r"\.libr" + r"ary\b",
            r"pyp" + r"i\.org|python" + r"hosted|--(?:extra-)?ind" + r"ex-url [^\\]",
            r"npm" + r"js\.(?:org|com)|deb\.deb" + r"ian\.org",
        )
    )
)


@pytest.fixture(scope="module")
def files() -> list[Path]:
    """What is, or is about to be, committed."""
    if not (TOP / ".git").exists() or shutil.which("git") is None:
        pytest.skip("this is no git checkout, or git is not installed")
    listed = subprocess.run(
        ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"],
        cwd=TOP,
        capture_output=True,
        text=True,
        check=True,
    )
    paths = [TOP / name for name in listed.stdout.split("\0") if name]
    return [path for path in paths if path.is_file()]


def test_the_top_level_is_exactly_what_the_readme_needs(files: list[Path]) -> None:
    top = {path.relative_to(TOP).parts[0] for path in files}
    assert {name for name in top if not name.startswith(".")} == NAMED


def test_no_file_names_the_machine_it_was_made_on(files: list[Path]) -> None:
    found = []
    for path in files:
        try:
            text = path.read_text(encoding="utf-8")
        except UnicodeDecodeError:
            continue  # pictures and models
        found += [
            f"{path.relative_to(TOP)}:{number}: {match.group()}"
            for number, line in enumerate(text.splitlines(), start=1)
            if (match := FOREIGN.search(line)) is not None
        ]
    assert found == []


@pytest.mark.parametrize(
    ("line", "is_foreign"),
    [
        ("see /" + "work/notes", True),
        ('path = "/' + 'tmp/x"', True),
        ("read shar" + "ed/design/house.md", True),
        ("https://pyp" + "i.org/simple", True),
        ("tmp_path / 'x'", False),
        ("a shared landing / work in progress", False),
        ("optimizer/work/x", False),
        ("#!/usr/bin/env bash", False),
    ],
)
def test_the_search_for_foreign_names_bites(line: str, *, is_foreign: bool) -> None:
    assert (FOREIGN.search(line) is not None) is is_foreign


def test_no_module_is_longer_than_a_reader_can_hold(files: list[Path]) -> None:
    sources = [path for path in files if path.suffix == ".py" and path.relative_to(TOP).parts[0] != "tests"]
    lengths = {str(path.relative_to(TOP)): len(path.read_text().splitlines()) for path in sources}
    assert {name: lines for name, lines in lengths.items() if lines > MOST_LINES} == {}


def test_no_room_is_named_for_everything(files: list[Path]) -> None:
    vague = {"util", "utils", "helpers", "common", "misc"}
    named = {part for path in files for part in path.relative_to(TOP).with_suffix("").parts}
    assert named & vague == set()


def test_the_lock_is_hashed_and_names_no_host() -> None:
    text = (TOP / "requirements.lock").read_text()
    lines = text.splitlines()
    pinned = [line for line in lines if re.match(r"[a-z0-9]", line)]
    assert len(pinned) > 20
    assert all(re.match(r"[a-z0-9._-]+(\[[a-z,]+\])?==\S+( ;.*)? \\$", line) for line in pinned)
    assert text.count("--hash=sha256:") >= len(pinned)
    assert "://" not in text
