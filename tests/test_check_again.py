"""`evenfall check` looks for itself: no wrong number of a real plan escapes it, nor another site."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from optimizer.check_again import check_layout_file, check_plan_file
from optimizer.errors import InputError, OutputError
from optimizer.pipeline import build_case
from optimizer.plan import Candidate, Plan
from optimizer.plan_file import write_plan
from optimizer.run_record import find_recorded_site, write_run_record
from optimizer.written_files import write_whole
from tests.planned_scene import NAME, SCENES, planned, planned_site
from tests.standards.damage import Path as Way
from tests.standards.damage import change_number, find_failed, find_numbers

#: Numbers of a candidate that may be wrong unnoticed, with the reason.
EXEMPT = {
    "findings": "what was found last time; `check` finds it anew and prints only that",
    "bound_cents": "what the search has proven, no fact of the ramp; above the cost it is refused",
    "fit_chance": "empty as yet: the chance of fitting belongs to a later room",
}


def wrong(way: Way, number: float, sign: int) -> float:
    """The number off by one if it counts or costs, by 1 % if it is a ratio, area or mass, else by 5 mm."""
    if isinstance(number, int):
        return number + sign
    words = {"slope", "plate_slope", "bottom_slope", "steepest_slope", "footprint_m2", "weight_kg"}
    if words & set(way):
        return number * (1.0 + 0.01 * sign) if number else 0.005 * sign
    return number + 0.005 * sign


def list_ways(candidate: Candidate) -> list[tuple[Way, float]]:
    bare = candidate.model_copy(update={"findings": ()})
    return [
        (way, number)
        for way, number in find_numbers(bare.model_dump())
        if not any(step in EXEMPT for step in way)
    ]


@pytest.mark.slow
@pytest.mark.parametrize("part", ["pieces", "legs", "rails", "price_lines", "toe", "totals"])
def test_every_wrong_number_of_a_real_plan_is_noticed(part: str) -> None:
    candidate = planned().candidates[0]
    case = build_case(planned_site(), candidate.start)
    assert find_failed(candidate, case) == ()
    ways = [
        (way, number)
        for way, number in list_ways(candidate)
        if (way[0] if len(way) > 1 else "totals") == part
    ]
    assert ways
    unnoticed = [
        way
        for n, (way, number) in enumerate(ways)
        if not find_failed(change_number(candidate, way, wrong(way, number, 1 if n % 2 else -1)), case)
    ]
    assert unnoticed == []


def test_every_exemption_is_a_field_that_exists() -> None:
    assert set(EXEMPT) <= set(Candidate.model_fields)


@pytest.fixture
def saved(tmp_path: Path) -> Path:
    """A plan and a copy of its site, as a run would leave them."""
    shutil.copytree(SCENES / NAME, tmp_path / "site")
    (tmp_path / "out").mkdir()
    write_plan(planned(), tmp_path / "out" / "plan.json")
    write_run_record(tmp_path / "out", 1.0, tmp_path / "site")
    return tmp_path / "out" / "plan.json"


def test_a_wrong_cent_in_the_file_is_found(saved: Path) -> None:
    whole = json.loads(saved.read_text(encoding="utf-8"))
    whole["candidates"][1]["price_cents"] += 1
    write_plan(Plan.model_validate(whole), saved)
    first, second, *_ = check_plan_file(saved, None, None).candidates
    assert [finding for finding in first.findings if finding.verdict == "fails"] == []
    assert {f.clause for f in second.findings if f.verdict == "fails"} == {"build.price_total"}


def test_old_findings_in_the_file_are_not_believed(saved: Path) -> None:
    whole = json.loads(saved.read_text(encoding="utf-8"))
    for finding in whole["candidates"][0]["findings"]:
        finding["verdict"] = "fails"
    write_plan(Plan.model_validate(whole), saved)
    (checked,) = check_plan_file(saved, None, 1).candidates
    assert checked.findings == planned().candidates[0].findings


def test_the_site_is_the_one_that_the_run_has_recorded(saved: Path) -> None:
    assert find_recorded_site(saved) == saved.parents[1] / "site"
    assert len(check_plan_file(saved, None, None).candidates) == len(planned().candidates)


def test_a_site_given_by_hand_goes_before_the_recorded_one(saved: Path) -> None:
    shutil.rmtree(saved.parents[1] / "site")
    assert len(check_plan_file(saved, SCENES / NAME, 1).candidates) == 1


def test_a_relative_site_is_found_from_another_folder(
    saved: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    write_run_record(saved.parent, 1.0, Path("site"))
    monkeypatch.chdir("/")
    assert find_recorded_site(saved) == tmp_path / "site"


@pytest.mark.parametrize("record", [None, "", "[]", "{}", '{"site": 3}', '{"site": "elsewhere"}'])
def test_without_a_recorded_site_the_user_is_asked_for_one(saved: Path, record: str | None) -> None:
    run = saved.parent / "run.json"
    if record is None:
        run.unlink()
    else:
        run.write_text(record, encoding="utf-8")
    with pytest.raises(InputError, match="Name its folder with --site"):
        check_plan_file(saved, None, None)


def test_another_site_is_refused(saved: Path) -> None:
    with pytest.raises(InputError, match="Name the site the plan was made from"):
        check_plan_file(saved, SCENES / "fall-to-street", None)


@pytest.mark.parametrize("axis", [0, 1, 2])
def test_a_site_whose_origin_has_moved_is_refused(saved: Path, axis: int) -> None:
    whole = json.loads(saved.read_text(encoding="utf-8"))
    whole["site"]["origin_shift_m"][axis] += 0.012
    write_plan(Plan.model_validate(whole), saved)
    with pytest.raises(InputError, match="shifted otherwise"):
        check_plan_file(saved, None, None)


@pytest.mark.parametrize("number", [0, 99, -1])
def test_a_candidate_that_the_plan_has_not_is_refused(saved: Path, number: int) -> None:
    with pytest.raises(InputError, match=f"The plan has 1 to {len(planned().candidates)}"):
        check_plan_file(saved, None, number)


@pytest.mark.parametrize("number", [1, 0])
def test_a_plan_without_layouts_has_no_candidate_to_name(saved: Path, number: int) -> None:
    write_plan(planned().model_copy(update={"candidates": ()}), saved)
    assert check_plan_file(saved, None, None).candidates == ()
    with pytest.raises(InputError, match="The plan has no layout"):
        check_plan_file(saved, None, number)


@pytest.mark.parametrize("place", [".", "/", "folder"])
def test_a_report_that_names_a_folder_is_refused(
    place: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "folder").mkdir()
    monkeypatch.chdir(tmp_path)
    with pytest.raises(OutputError, match="it is a folder") as caught:
        write_whole(Path(place), "text")
    assert "Choose another place" in str(caught.value)
    assert "--out" not in str(caught.value)
    assert [path.name for path in tmp_path.iterdir()] == ["folder"]


def test_the_layout_typed_by_hand_in_a_scene_is_checked_like_a_plan() -> None:
    (checked,) = check_layout_file(SCENES / "fall-to-street" / "layout.toml").candidates
    assert checked.proof == "typed by hand"
    assert checked.shape == "L"
    assert [finding.text for finding in checked.findings if finding.verdict == "fails"] == []
