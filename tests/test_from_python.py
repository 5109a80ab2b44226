"""The example of DEVELOPERS.md, 'From Python', runs as written and prints what stands below it."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

TOP = Path(__file__).parents[1]
SECTION = (TOP / "DEVELOPERS.md").read_text().partition("\n## From Python\n")[2].partition("\n## ")[0]
#: A programmer should not have to write more than this to state a small yard.
MOST_LINES_OF_A_YARD = 25


def list_blocks(language: str) -> list[str]:
    return re.findall(rf"^```{language}\n(.*?)^```$", SECTION, flags=re.MULTILINE | re.DOTALL)


def test_the_example_prints_what_the_document_says() -> None:
    (example,), (printed,) = list_blocks("python"), list_blocks("text")
    done = subprocess.run(
        [sys.executable, "-c", example], cwd=TOP, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout == printed


def test_the_yard_of_the_example_is_stated_in_few_lines() -> None:
    (example,) = list_blocks("python")
    yard = example[example.index("spots = [") : example.index("events, stop = ")].strip()
    assert yard.endswith(")")
    assert len(yard.splitlines()) <= MOST_LINES_OF_A_YARD
