"""Lint, format and types are part of the tests, so that one command is enough."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

TOP = Path(__file__).parents[1]


@pytest.mark.parametrize(
    "arguments",
    [
        pytest.param(("ruff", "check", "."), id="lint"),
        pytest.param(("ruff", "format", "--check", "."), id="format"),
        pytest.param(("mypy",), id="types", marks=pytest.mark.slow),
    ],
)
def test_the_code_is_clean(arguments: tuple[str, ...]) -> None:
    done = subprocess.run(
        [sys.executable, "-m", *arguments], cwd=TOP, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr
