"""plan.json: the same bytes for the same plan, and a clear word about every edit that spoils it."""

from __future__ import annotations

import json
import math
import operator
from functools import reduce
from pathlib import Path

import jsonschema
import pytest

from optimizer.errors import InputError
from optimizer.pipeline import make_plan
from optimizer.plan_file import format_plan, plan_schema, read_plan, write_plan
from tests.planned_scene import SCENES, planned, planned_site


@pytest.fixture
def saved(tmp_path: Path) -> Path:
    path = tmp_path / "plan.json"
    write_plan(planned(), path)
    return path


def spoil(path: Path, old: str, new: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")


def refusals(path: Path) -> list[str]:
    with pytest.raises(InputError) as caught:
        read_plan(path)
    assert all(fault.where == str(path) for fault in caught.value.faults)
    return [fault.what for fault in caught.value.faults]


def test_a_plan_is_read_back_as_it_was_written(saved: Path) -> None:
    assert read_plan(saved) == planned()
    assert format_plan(read_plan(saved)) == saved.read_text(encoding="utf-8")
    assert [path.name for path in saved.parent.iterdir()] == ["plan.json"]


@pytest.mark.slow
def test_the_same_site_planned_twice_gives_the_same_bytes() -> None:
    assert format_plan(make_plan(planned_site())) == format_plan(planned())


def test_a_plan_names_no_folder_of_the_machine(saved: Path) -> None:
    text = saved.read_text(encoding="utf-8")
    assert str(SCENES.parent) not in text
    assert str(Path.home()) not in text
    assert json.loads(text)["site"]["file"] == "site.toml"


def test_a_plan_meets_its_published_schema(saved: Path) -> None:
    schema = json.loads(plan_schema())
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.Draft202012Validator(schema).validate(json.loads(saved.read_text(encoding="utf-8")))


@pytest.mark.parametrize("found", ['"evenfall-plan-1"', '""', "1", "null"])
def test_another_schema_is_refused(saved: Path, found: str) -> None:
    spoil(saved, '"schema": "evenfall-plan-2"', f'"schema": {found}')
    (what,) = refusals(saved)
    assert "is not a plan of this version" in what
    assert f"its schema is {json.loads(found)!r}" in what
    assert "wanted 'evenfall-plan-2'" in what
    with pytest.raises(InputError, match="Make the plan again with this version"):
        read_plan(saved)


def test_a_plan_without_its_schema_is_refused(saved: Path) -> None:
    spoil(saved, ' "schema": "evenfall-plan-2",\n', "")
    (what,) = refusals(saved)
    assert "its schema is None" in what


@pytest.mark.parametrize("text", ["", "{", "[1, 2]", "null", '"plan"', '{"schema": "evenfall-plan-2"'])
def test_text_that_is_no_plan_is_refused(saved: Path, text: str) -> None:
    saved.write_text(text, encoding="utf-8")
    assert len(refusals(saved)) == 1


def test_bytes_that_are_no_text_are_refused(saved: Path) -> None:
    saved.write_bytes(b"\xff\xfe\x00")
    (what,) = refusals(saved)
    assert what.startswith("is not JSON")


def test_a_plan_cut_short_is_refused(saved: Path) -> None:
    whole = saved.read_text(encoding="utf-8")
    saved.write_text(whole[: len(whole) // 2], encoding="utf-8")
    (what,) = refusals(saved)
    assert what.startswith("is not JSON")


@pytest.mark.parametrize(
    ("place", "value", "field"),
    [
        (("candidates", 0, "pieces", 0), {"slope": math.nan}, "candidates.0.pieces.0.slope"),
        (("candidates", 0, "legs", 0), {"height_m": math.inf}, "candidates.0.legs.0.height_m"),
        (("candidates", 0, "pieces", 1), {"kind": "plank"}, "candidates.0.pieces.1.kind"),
        (("candidates", 1, "toe"), {"tip_m": [1.0, 2.0]}, "candidates.1.toe.tip_m.2"),
        ((), {"colour": 3}, "colour"),
        ((), {"seed": "one"}, "seed"),
    ],
)
def test_a_field_that_is_wrong_is_named(
    saved: Path, place: tuple[str | int, ...], value: dict[str, object], field: str
) -> None:
    whole = json.loads(saved.read_text(encoding="utf-8"))
    reduce(operator.getitem, place, whole).update(value)
    saved.write_text(json.dumps(whole), encoding="utf-8")
    (what,) = refusals(saved)
    assert what.startswith(f"{field} = ")


def test_several_wrong_fields_are_told_at_once(saved: Path) -> None:
    spoil(saved, '"currency": "USD"', '"currency": 5')
    spoil(saved, '"seed": 1', '"seed": "one"')
    assert len(refusals(saved)) == 2


def test_a_file_that_is_not_there_is_refused(tmp_path: Path) -> None:
    (what,) = refusals(tmp_path / "no-plan.json")
    assert what.startswith("cannot be read")
