"""The command line: exit codes, what is printed where, what is written, and how it is stopped."""

from __future__ import annotations

import json
import re
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path
from types import SimpleNamespace

import jsonschema
import pytest

from optimizer.cli import EARLIER_RESULTS, Exit, find_exit, run_command
from optimizer.errors import InternalError
from optimizer.findings_report import FindingsReport, report_schema
from optimizer.plan_file import plan_schema, read_plan
from optimizer.rulebook.read_rule_set import read_rule_set, rule_set_ids
from optimizer.written_files import remove_earlier
from tests.planned_scene import NAME, SCENES, planned, planned_site

TOP = Path(__file__).parents[1]
VERBS = ("plan", "ground", "survey-sheet", "check", "view", "spares", "measure-here")
VERBS += (
    "documents",
    "drawings",
    "compare",
    "report",
    "offer",
    "page",
    "take-off",
    "rough",
    "rules",
    "schema",
    "doctor",
)
#: What the issue allows, seconds of wall clock, Python's own start included.
HELP_WITHIN_S = 0.7

Out = pytest.CaptureFixture[str]


@pytest.fixture
def at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """The search answers at once, with the plan that is searched for once a process."""
    monkeypatch.setattr("optimizer.pipeline.make_plan", lambda *_, **__: planned())


@pytest.fixture
def never(monkeypatch: pytest.MonkeyPatch) -> None:
    """There must be no search."""

    def search(*_: object, **__: object) -> None:
        pytest.fail("the search was begun")

    monkeypatch.setattr("optimizer.pipeline.make_plan", search)


def copy_scene(tmp_path: Path, name: str, old: str, new: str) -> Path:
    """A scene with one thing changed in its site file."""
    folder = tmp_path / name
    shutil.copytree(SCENES / name, folder)
    text = (folder / "site.toml").read_text(encoding="utf-8")
    assert text.count(old) == 1
    (folder / "site.toml").write_text(text.replace(old, new), encoding="utf-8")
    return folder


def plan_into(out: Path, site: Path = SCENES / NAME, *more: str) -> int:
    return run_command(["plan", str(site), "--out", str(out), "--pictures", "none", *more])


def run_evenfall(*arguments: str) -> subprocess.CompletedProcess[str]:
    command = (sys.executable, "-m", "optimizer.cli", *arguments)
    return subprocess.run(command, cwd=TOP, capture_output=True, text=True, check=False, timeout=120)


# ---- help


@pytest.mark.parametrize("verb", VERBS)
def test_the_help_of_every_verb_has_an_example(verb: str, capsys: Out) -> None:
    assert run_command([verb, "--help"]) == Exit.ALLOWED
    assert f"Example: evenfall {verb}" in capsys.readouterr().out


@pytest.mark.slow
def test_help_answers_at_once() -> None:
    taken = []
    for _ in range(5):
        began = time.perf_counter()
        done = run_evenfall("--help")
        taken.append(time.perf_counter() - began)
        assert done.returncode == 0
    # The least of five: the machine may be busy with something else.
    assert min(taken) < HELP_WITHIN_S


@pytest.mark.parametrize(
    "words", [["plan"], ["plam"], ["plan", "x", "--colour", "red"], ["plan", "x", "--pictures", "some"]]
)
def test_a_command_typed_wrongly_is_bad_input_and_not_a_missing_layout(words: list[str], capsys: Out) -> None:
    assert run_command(words) == Exit.BAD_INPUT
    assert "Usage: " in capsys.readouterr().err


# ---- plan


@pytest.mark.usefixtures("at_once")
def test_a_plan_prints_tables_and_writes_the_plan_and_the_run(tmp_path: Path, capsys: Out) -> None:
    assert plan_into(tmp_path / "out") == Exit.ALLOWED
    shown = capsys.readouterr()
    for title in (
        "Candidates, by direct cost",
        "Legs of candidate 1",
        "Parts of candidate 1",
        "Not an approval",
    ):
        assert title in shown.out
    assert "written: " in shown.err
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == ["plan.json", "run.json"]
    assert read_plan(tmp_path / "out" / "plan.json") == planned()
    assert json.loads((tmp_path / "out" / "run.json").read_text())["site"] == str(SCENES / NAME)


@pytest.mark.usefixtures("at_once")
def test_json_is_the_plan_alone_and_meets_the_published_schema(tmp_path: Path, capsys: Out) -> None:
    assert plan_into(tmp_path, SCENES / NAME, "--json") == Exit.ALLOWED
    shown = capsys.readouterr().out
    jsonschema.Draft202012Validator(json.loads(plan_schema())).validate(json.loads(shown))
    assert shown.rstrip("\n") == (tmp_path / "plan.json").read_text(encoding="utf-8").rstrip("\n")


def test_a_plan_without_a_layout_says_why_and_exits_with_2(tmp_path: Path, capsys: Out) -> None:
    site = copy_scene(tmp_path, NAME, "total_mass_kg = 165", "total_mass_kg = 5000")
    assert plan_into(tmp_path / "out", site) == Exit.NO_LAYOUT
    shown = capsys.readouterr().out
    assert "no layout on the lattice" in shown
    assert re.search(r"^- .+", shown, flags=re.MULTILINE)
    assert read_plan(tmp_path / "out" / "plan.json").candidates == ()


@pytest.mark.usefixtures("never")
@pytest.mark.parametrize("place", ["under a file", "of the system"])
def test_a_folder_that_cannot_be_written_is_refused_before_the_search(
    place: str, tmp_path: Path, capsys: Out
) -> None:
    (tmp_path / "file").write_text("mine", encoding="utf-8")
    out = tmp_path / "file" / "out" if place == "under a file" else Path("/proc/evenfall-out")
    assert plan_into(out) == Exit.BAD_INPUT
    message = capsys.readouterr().err
    assert f"{out}: results cannot be written there" in message
    assert "--out" in message
    assert [path.name for path in tmp_path.iterdir()] == ["file"]
    assert (tmp_path / "file").read_text(encoding="utf-8") == "mine"


@pytest.mark.usefixtures("at_once")
def test_a_plan_that_cannot_be_written_leaves_nothing_half_written(tmp_path: Path, capsys: Out) -> None:
    (tmp_path / "plan.json").mkdir()
    assert plan_into(tmp_path) == Exit.BAD_INPUT
    assert "plan.json: cannot be written" in capsys.readouterr().err
    assert [path.name for path in tmp_path.iterdir()] == ["plan.json"]


@pytest.mark.usefixtures("never")
def test_a_bad_site_is_refused_and_no_folder_is_made(tmp_path: Path, capsys: Out) -> None:
    site = copy_scene(tmp_path, NAME, "threshold = 214.90", 'threshold = "high"')
    assert plan_into(tmp_path / "out", site) == Exit.BAD_INPUT
    assert re.match(r".*site\.toml:\d+: ", capsys.readouterr().err)
    assert not (tmp_path / "out").exists()


@pytest.mark.usefixtures("never")
@pytest.mark.parametrize("seconds", ["0", "-1", "nan"])
def test_a_time_limit_that_is_no_time_is_refused(seconds: str, tmp_path: Path, capsys: Out) -> None:
    assert plan_into(tmp_path / "out", SCENES / NAME, "--time-limit", seconds) == Exit.BAD_INPUT
    assert "--time-limit: " in capsys.readouterr().err


def test_the_time_limit_of_the_command_line_goes_before_the_site_s(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    limits = []
    monkeypatch.setattr(
        "optimizer.pipeline.make_plan",
        lambda site, *_, **__: limits.append(site.search.time_limit_s) or planned(),  # type: ignore[func-returns-value]
    )
    plan_into(tmp_path, SCENES / NAME, "--time-limit", "3")
    plan_into(tmp_path)
    assert limits == [3.0, planned_site().search.time_limit_s]


def test_a_fault_of_the_program_is_named_as_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Out
) -> None:
    def fail(*_: object, **__: object) -> None:
        raise InternalError("two parts disagree")

    monkeypatch.setattr("optimizer.pipeline.make_plan", fail)
    assert plan_into(tmp_path) == Exit.INTERNAL
    assert "a fault in Evenfall, not in your files: two parts disagree" in capsys.readouterr().err


def test_bad_input_shows_no_traceback() -> None:
    done = run_evenfall("plan", "no-such-site", "--out", "/proc/none")
    assert done.returncode == Exit.BAD_INPUT
    assert "Traceback" not in done.stderr
    assert "no-such-site" in done.stderr


@pytest.mark.slow
def test_ctrl_c_during_the_search_writes_the_best_so_far(tmp_path: Path) -> None:
    command = (
        *(sys.executable, "-m", "optimizer.cli", "plan", str(SCENES / "rise-away")),
        *("--out", str(tmp_path), "--pictures", "none"),
    )
    running = subprocess.Popen(command, cwd=TOP, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    assert running.stderr is not None
    told = []
    for line in running.stderr:
        told.append(line)
        if "direct cost" in line:
            running.send_signal(signal.SIGINT)
            break
    shown, rest = running.communicate(timeout=120)
    assert "Traceback" not in rest
    plan = read_plan(tmp_path / "plan.json")
    assert running.returncode == Exit.ALLOWED, told
    assert plan.candidates
    assert plan.search.classes_open > 0
    assert plan.status == "feasible"
    assert plan.gap is not None
    assert "Not settled: " in shown


def test_ctrl_c_before_anything_is_found_writes_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Out
) -> None:
    def stop(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("optimizer.pipeline.make_plan", stop)
    assert plan_into(tmp_path) == Exit.INTERRUPTED
    assert "Stopped before there was anything to write." in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


# ---- check


@pytest.mark.usefixtures("at_once")
def test_a_plan_is_checked_without_naming_its_site_again(tmp_path: Path, capsys: Out) -> None:
    plan_into(tmp_path)
    capsys.readouterr()
    assert run_command(["check", str(tmp_path / "plan.json")]) == Exit.ALLOWED
    shown = capsys.readouterr().out
    assert shown.count("(our own checks)") == len(planned().candidates)
    assert "Not checked of ADA Standards" in shown
    assert "the authority having" in shown
    (tmp_path / "run.json").unlink()
    assert run_command(["check", str(tmp_path / "plan.json")]) == Exit.BAD_INPUT
    assert "--site" in capsys.readouterr().err


@pytest.mark.usefixtures("at_once")
def test_the_findings_as_json_are_those_of_the_plan(tmp_path: Path, capsys: Out) -> None:
    plan_into(tmp_path)
    capsys.readouterr()
    run_command(["check", str(tmp_path / "plan.json"), "--candidate", "2", "--json"])
    (found,) = json.loads(capsys.readouterr().out)["layouts"]
    assert found["name"] == "candidate 2"
    expected = [finding.model_dump(mode="json") for finding in planned().candidates[1].findings]
    assert [one["finding"] for one in found["findings"]] == expected


def test_a_layout_typed_by_hand_is_checked(capsys: Out) -> None:
    assert run_command(["check", str(SCENES / "fall-to-street" / "layout.toml")]) == Exit.ALLOWED
    assert "layout: L right" in capsys.readouterr().out


def test_a_layout_that_fails_exits_with_1_and_says_first_what_fails(tmp_path: Path, capsys: Out) -> None:
    layout = tmp_path / "fall-to-street" / "layout.toml"
    shutil.copytree(SCENES / "fall-to-street", layout.parent)
    text = layout.read_text(encoding="utf-8")
    order = '["section-48", "section-72", "section-96"]'
    assert text.count(order) == 1
    # In this order a joint comes to stand over the planter.
    layout.write_text(text.replace(order, '["section-72", "section-48", "section-96"]'), encoding="utf-8")
    assert run_command(["check", str(layout)]) == Exit.ALL_FAIL
    rows = [line for line in capsys.readouterr().out.splitlines() if re.match(r"(fails|meets) ", line)]
    assert rows[0].startswith("fails")
    assert any("build.foot" in row for row in rows if row.startswith("fails"))


def test_one_layout_that_fails_nothing_is_enough() -> None:
    sound = planned().candidates[0]
    failed = sound.findings[0].model_copy(update={"verdict": "fails"})
    unsure = sound.findings[0].model_copy(update={"verdict": "cannot tell"})
    failing = sound.model_copy(update={"findings": (*sound.findings, failed)})
    unknown = sound.model_copy(update={"findings": (*sound.findings, unsure)})
    (rules,) = planned().rules
    assert failed.rules == rules.id
    assert find_exit((failing, sound), (rules,)) == Exit.ALLOWED
    assert find_exit((failing, unknown), (rules,)) == Exit.ALLOWED
    assert find_exit((failing, failing), (rules,)) == Exit.ALL_FAIL
    assert find_exit((), (rules,)) == Exit.NO_LAYOUT


@pytest.mark.parametrize("role", ["guide", "wish"])
def test_a_guide_or_a_wish_that_fails_breaks_no_layout(role: str) -> None:
    sound = planned().candidates[0]
    failed = sound.findings[0].model_copy(update={"verdict": "fails"})
    failing = sound.model_copy(update={"findings": (*sound.findings, failed)})
    told_only = planned().rules[0].model_copy(update={"role": role})
    assert find_exit((failing,), (told_only,)) == Exit.ALLOWED
    ours = failed.model_copy(update={"rules": "build"})
    broken = sound.model_copy(update={"findings": (*sound.findings, ours)})
    assert find_exit((broken,), (told_only,)) == Exit.ALL_FAIL


# ---- the report


@pytest.mark.usefixtures("at_once")
def test_the_report_is_written_as_its_schema_says(tmp_path: Path, capsys: Out) -> None:
    plan_into(tmp_path)
    capsys.readouterr()
    path = tmp_path / "report.json"
    assert (
        run_command(["check", str(tmp_path / "plan.json"), "--report", str(path), "--json"]) == Exit.ALLOWED
    )
    text = path.read_text(encoding="utf-8")
    assert capsys.readouterr().out == text + "\n"
    report = FindingsReport.model_validate_json(text)
    assert [one.name for one in report.layouts] == [one.name for one in planned().candidates]
    jsonschema_of_report = json.loads(report_schema())
    assert set(json.loads(text)) == set(jsonschema_of_report["required"])


@pytest.mark.usefixtures("at_once")
@pytest.mark.parametrize("place", ["no-folder/report.json", "."])
def test_a_report_that_cannot_be_written_leaves_nothing_behind(
    place: str, tmp_path: Path, capsys: Out
) -> None:
    plan_into(tmp_path)
    capsys.readouterr()
    before = sorted(tmp_path.rglob("*"))
    command = ["check", str(tmp_path / "plan.json"), "--report", str(tmp_path / place)]
    assert run_command(command) == Exit.BAD_INPUT
    told = capsys.readouterr()
    assert told.out == ""
    assert "cannot be written" in told.err
    assert sorted(tmp_path.rglob("*")) == before


# ---- rules


def test_the_rule_sets_are_listed_with_what_they_ask(capsys: Out) -> None:
    assert run_command(["rules"]) == Exit.ALLOWED
    shown = capsys.readouterr().out
    for name in rule_set_ids():
        assert name in shown
    assert "- irc-2015: egress_door" in shown


def test_the_clauses_of_a_rule_set_are_printed(capsys: Out) -> None:
    assert run_command(["rules", "ada-2010"]) == Exit.ALLOWED
    shown = capsys.readouterr().out
    rules = read_rule_set("ada-2010")
    for limit in rules.limits:
        assert limit.clause.split(",", maxsplit=1)[0] in shown
    assert "at most 1:12" in shown
    assert "works is existing" in shown
    assert "It asks, under [facts] of a site:" in shown


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["ada-2011"], '"ada-2011" is no known rule set'),
        (["own-limits"], "has no numbers of its own"),
        (["ada-2010", "--table"], "the table is of every rule set"),
    ],
)
def test_a_rule_set_that_is_not_there_is_bad_input(words: list[str], told: str, capsys: Out) -> None:
    assert run_command(["rules", *words]) == Exit.BAD_INPUT
    assert told in capsys.readouterr().err


@pytest.mark.parametrize("words", [["--site", "scenes"], ["--candidate", "1"]])
def test_an_option_that_a_layout_file_does_not_take_is_refused(words: list[str], capsys: Out) -> None:
    layout = str(SCENES / "fall-to-street" / "layout.toml")
    assert run_command(["check", layout, *words]) == Exit.BAD_INPUT
    assert "a layout file names its own site" in capsys.readouterr().err


@pytest.mark.parametrize("name", ["no-plan.json", "no-layout.toml"])
def test_a_file_that_is_not_there_is_bad_input(name: str, tmp_path: Path, capsys: Out) -> None:
    assert run_command(["check", str(tmp_path / name)]) == Exit.BAD_INPUT
    assert name in capsys.readouterr().err


# ---- view, rough, schema


@pytest.mark.usefixtures("at_once")
def test_view_shows_the_wished_candidate_on_the_recorded_site(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    shown = []
    window = SimpleNamespace(show_window=lambda plan, site, number: shown.append((plan, site.name, number)))
    monkeypatch.setitem(sys.modules, "viewer.window", window)
    plan_into(tmp_path)
    assert run_command(["view", str(tmp_path / "plan.json"), "--candidate", "2"]) == Exit.ALLOWED
    assert shown == [(planned(), planned_site().name, 1)]
    assert run_command(["view", str(tmp_path / "plan.json"), "--candidate", "99"]) == Exit.BAD_INPUT


@pytest.mark.parametrize(
    "name", ["site", "catalogue", "rates", "rules", "layout", "plan", "ground", "report"]
)
def test_every_published_schema_is_one(name: str, capsys: Out) -> None:
    assert run_command(["schema", name]) == Exit.ALLOWED
    jsonschema.Draft202012Validator.check_schema(json.loads(capsys.readouterr().out))


@pytest.mark.parametrize(
    ("words", "code"),
    [
        (["--steps", "4"], Exit.ALLOWED),
        (["--rise", "27 in", "--fall", "3 %", "--depth", "40 ft", "--rules", "1:10"], Exit.ALLOWED),
        (["--rise", "0.7 m", "--fall", "-2 %"], Exit.ALLOWED),
        ([], Exit.BAD_INPUT),
        (["--steps", "4", "--rise", "27 in"], Exit.BAD_INPUT),
        (["--rise", "27"], Exit.BAD_INPUT),
        (["--rise", "27 in", "--fall", "steep"], Exit.BAD_INPUT),
        (["--steps", "0"], Exit.BAD_INPUT),
    ],
)
def test_a_rough_question_is_answered_or_refused(words: list[str], code: Exit, capsys: Out) -> None:
    assert run_command(["rough", *words]) == code
    shown = capsys.readouterr()
    assert bool(shown.out) is (code == Exit.ALLOWED)
    assert bool(shown.err) is (code == Exit.BAD_INPUT)


def test_an_earlier_plans_pictures_are_gone_after_a_new_plan(tmp_path: Path) -> None:
    for name in ("candidate-7-overview.png", "candidate-1-street.png", "model.glb"):
        (tmp_path / name).write_bytes(b"old")
    (tmp_path / "notes.txt").write_text("the user's own")
    remove_earlier(tmp_path, EARLIER_RESULTS)
    assert [path.name for path in tmp_path.iterdir()] == ["notes.txt"]


def test_what_nobody_foresaw_ends_with_the_code_of_a_fault() -> None:
    program = "import optimizer.cli as c; c.run_command = lambda a: 1 // 0; c.main()"
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=False)
    assert done.returncode == Exit.INTERNAL
    assert "ZeroDivisionError" in done.stderr
