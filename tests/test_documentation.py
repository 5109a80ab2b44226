"""What the documents say is there: commands, options, links, rooms, the figures of the workshop."""

from __future__ import annotations

import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
import typer

from optimizer.cli import app

TOP = Path(__file__).parents[1]
README = (TOP / "README.md").read_text()
DEVELOPERS = (TOP / "DEVELOPERS.md").read_text()
COMMANDS = typer.main.get_command(app).commands  # type: ignore[attr-defined]
#: Verbs of this issue of the program; one more must be told in the README.
VERBS = {"plan", "ground", "survey-sheet", "check", "view", "spares", "take-off", "measure-here"}
VERBS |= {"documents", "drawings", "compare", "offer", "report", "page", "rough", "rules", "schema", "doctor"}
HEAVY = ("numpy", "shapely", "ortools", "numba", "pyvista", "trimesh", "pythoncdt")


def list_blocks(text: str) -> list[str]:
    """Contents of the fenced shell blocks, in order."""
    return re.findall(r"^```sh\n(.*?)^```$", text, flags=re.MULTILINE | re.DOTALL)


def list_own_commands(text: str) -> Iterator[list[str]]:
    """Words of every ``evenfall ...`` in code, up to the end of the code or the next command."""
    code = [*list_blocks(text), *re.findall(r"`([^`\n]+)`", text)]
    for block in code:
        for line in block.splitlines():
            for found in re.findall(r"(?:^|[ /])evenfall ((?:(?!&&|;|\|).)*)", line):
                words = found.split()
                if words and words[0] != "COMMAND":
                    yield words


def test_the_readme_has_two_commands_of_one_line_each() -> None:
    blocks = list_blocks(README)
    assert len(blocks) == 2
    assert [len(block.splitlines()) for block in blocks] == [1, 1]
    plan, check = blocks
    assert plan.startswith("python3 -m venv .venv && ")
    assert plan.rstrip().endswith(".venv/bin/evenfall plan scenes/fall-to-street --out out/fall-to-street")
    assert ".venv/bin/pytest" in check


def test_both_readme_commands_make_the_environment_alike_and_from_the_lock_alone() -> None:
    made = [re.search(r"python3 -m venv .*? -e \.", block) for block in list_blocks(README)]
    first, second = (match.group() for match in made if match is not None)
    assert first == second
    assert "--require-hashes -r requirements.lock" in first
    assert "--no-deps --no-build-isolation" in first


def test_the_picture_stands_between_the_job_and_the_commands() -> None:
    assert README.index("![") < README.index("```sh")
    assert README.index("## ") > README.index("```sh")


def test_the_verbs_are_those_that_the_readme_names() -> None:
    assert set(COMMANDS) == VERBS
    for verb in VERBS:
        assert f"`evenfall {verb}" in README


@pytest.mark.parametrize("verb", sorted(VERBS))
def test_each_verb_says_what_it_does_with_an_example(verb: str) -> None:
    shown = f"{COMMANDS[verb].help}\n{COMMANDS[verb].epilog}"
    assert COMMANDS[verb].help
    assert re.search(rf"Example:?\s+(\$ )?evenfall {verb}\b", shown), shown
    for words in _examples(shown):
        _assert_options_exist(words)


@pytest.mark.parametrize("name", ["README.md", "DEVELOPERS.md"])
def test_every_command_in_the_documents_exists_with_its_options(name: str) -> None:
    commands = list(list_own_commands((TOP / name).read_text()))
    assert commands
    for words in commands:
        _assert_options_exist(words)


def _examples(shown: str) -> Iterator[list[str]]:
    for found in re.findall(r"evenfall ([^\n`]*)", shown):
        yield found.split()


def _assert_options_exist(words: list[str]) -> None:
    verb, *rest = words
    assert verb in COMMANDS, f"there is no 'evenfall {verb}'"
    known = {"--help", *(option for parameter in COMMANDS[verb].params for option in parameter.opts)}
    for word in rest:
        if word.startswith("--"):
            assert word.partition("=")[0] in known, f"'evenfall {verb}' has no option {word}"


@pytest.mark.parametrize("name", ["README.md", "DEVELOPERS.md"])
def test_every_link_leads_somewhere(name: str) -> None:
    links = re.findall(r"\]\(([^)#]+)(?:#[^)]*)?\)", (TOP / name).read_text())
    assert [link for link in links if "://" not in link and not (TOP / link).exists()] == []


def test_every_file_that_the_developers_guide_names_is_there() -> None:
    named = re.findall(r"`((?:optimizer|viewer|tests|scenes)/[\w/.-]+)`", DEVELOPERS)
    assert named
    assert [path for path in named if not (TOP / path).exists()] == []


def test_every_room_is_on_the_map() -> None:
    rooms = [path.name for path in (TOP / "optimizer").iterdir() if (path / "__init__.py").is_file()]
    assert [room for room in rooms if not re.search(rf"^ *{room}/ ", DEVELOPERS, flags=re.MULTILINE)] == []


def test_the_crew_is_warned_and_nobody_is_promised_an_approval() -> None:
    cautions = README[README.index("## Cautions") :]
    for word in (
        "gloves",
        "eye protection",
        "not supported",
        "licensed professionals",
        "authority having jurisdiction",
    ):
        assert word in cautions
    assert not re.search(r"\b(fully )?(compliant|certified|guaranteed)\b", README, flags=re.IGNORECASE)


def test_the_command_line_starts_without_the_heavy_libraries() -> None:
    script = f"import sys, optimizer.cli; print([name for name in {HEAVY!r} if name in sys.modules])"
    done = subprocess.run([sys.executable, "-c", script], cwd=TOP, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_the_continuous_check_runs_the_second_readme_command() -> None:
    script = (TOP / ".ci" / "run").read_text()
    assert "README.md" in script
    assert "pytest" not in script.replace("'pytest'", "")
