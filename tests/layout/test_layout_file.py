"""A layout typed by hand: words and lengths along an edge, and every fault with its line."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from optimizer.errors import InputError
from optimizer.layout.layout_file import layout_schema, read_layout
from optimizer.layout.spec import LayoutSpec, TurnSpec

SCENES = Path(__file__).parents[2] / "scenes"
INCH = 0.0254
#: On a landing of 64 in a run of 42 in has 11 in either way, and so on, all in the demo parts.
FLUSH_64_M = 11 * INCH
FLUSH_80_M = 19 * INCH

TYPED = f"""\
site = "{SCENES / "fall-to-street"}"
unit = "in"
start = "front door"
door_landing = "landing-door-80"
exit = "front"
attach = "right"
plate = "plate-60"

[[run]]
sections = ["section-72", "section-96"]
slope = "1:12"

[[turn]]
kind = "left"
landing = "landing-64"
arrive = "left"
leave = "right"

[[run]]
sections = ["section-96"]
slope = "1:14"
"""


def typed(tmp_path: Path, *changes: tuple[str, str]) -> LayoutSpec:
    """``TYPED`` with some of its lines changed, as read."""
    text = TYPED
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    path = tmp_path / "layout.toml"
    path.write_text(text, encoding="utf-8")
    return read_layout(path)[0]


def faults(tmp_path: Path, *changes: tuple[str, str]) -> list[str]:
    with pytest.raises(InputError) as caught:
        typed(tmp_path, *changes)
    prefix = f"{tmp_path / 'layout.toml'}:"
    assert all(fault.where.startswith(prefix) and fault.remedy for fault in caught.value.faults)
    return [str(fault).removeprefix(prefix) for fault in caught.value.faults]


def test_words_become_metres_on_the_edge_they_are_told_of(tmp_path: Path) -> None:
    spec = typed(tmp_path)
    assert spec.attach_m == pytest.approx(FLUSH_80_M, abs=1e-12)
    (turn,) = spec.turns
    assert (turn.arrive_m, turn.leave_m) == pytest.approx((-FLUSH_64_M, FLUSH_64_M), abs=1e-12)
    assert [run.slope for run in spec.runs] == [1 / 12, 1 / 14]


@pytest.mark.parametrize("leaves", ["left", "right"])
def test_a_side_exit_has_the_edge_of_the_landings_length(tmp_path: Path, leaves: str) -> None:
    spec = typed(tmp_path, ('exit = "front"', f'exit = "{leaves}"'))
    assert spec.attach_m == pytest.approx(FLUSH_64_M, abs=1e-12)


def test_centre_is_the_middle_of_any_edge_and_the_rule_at_the_door(tmp_path: Path) -> None:
    assert typed(tmp_path, ('attach = "right"', 'attach = "centre"')).attach_m == 0.0
    assert typed(tmp_path, ('attach = "right"\n', "")).attach_m == 0.0


@pytest.mark.parametrize(
    ("written", "metres"),
    [("5.5", 5.5 * INCH), ('"-5.5"', -5.5 * INCH), ('"-0.1 m"', -0.1), ('"1 ft"', 0.3048), ("0", 0.0)],
)
def test_a_length_is_metres_to_the_right_of_the_middle(tmp_path: Path, written: str, metres: float) -> None:
    assert typed(tmp_path, ('attach = "right"', f"attach = {written}")).attach_m == metres


def test_words_and_their_lengths_say_the_same(tmp_path: Path) -> None:
    by_length = typed(
        tmp_path,
        ('attach = "right"', 'attach = "19 in"'),
        ('arrive = "left"', "arrive = -11"),
        ('leave = "right"', "leave = 11"),
    )
    by_word = typed(tmp_path)
    assert by_length.attach_m == pytest.approx(by_word.attach_m, abs=1e-12)
    assert by_length.turns[0].arrive_m == pytest.approx(by_word.turns[0].arrive_m, abs=1e-12)
    assert by_length.turns[0].leave_m == pytest.approx(by_word.turns[0].leave_m, abs=1e-12)


def test_a_half_turn_fixes_its_runs_itself(tmp_path: Path) -> None:
    spec = typed(
        tmp_path,
        ('kind = "left"', 'kind = "half_left"'),
        ('landing = "landing-64"', 'landing = "landing-half-94"'),
    )
    assert spec.turns == (TurnSpec("half_left", "landing-half-94", 0.0, 0.0),)


@pytest.mark.parametrize(
    ("old", "key", "edge_in"),
    [('attach = "right"', "attach", 19), ('arrive = "left"', "arrive", 11), ('leave = "right"', "leave", 11)],
)
def test_a_run_that_leaves_its_edge_is_refused_on_its_line(
    tmp_path: Path, old: str, key: str, edge_in: int
) -> None:
    for flush in (edge_in, -edge_in):
        typed(tmp_path, (old, f"{key} = {flush}"))
    for beyond in (edge_in + 0.001, -edge_in - 0.001):
        (fault,) = faults(tmp_path, (old, f"{key} = {beyond}"))
        assert fault.startswith(f"{TYPED[: TYPED.index(old)].count(chr(10)) + 1}: a run 1.0668 m wide")
        assert f"Give at most {edge_in * INCH:.4f} m either way." in fault


def test_on_a_landing_as_wide_as_the_runs_every_word_is_the_middle(tmp_path: Path) -> None:
    spec = typed(
        tmp_path,
        ('kind = "left"', 'kind = "straight"'),
        ('landing = "landing-64"', 'landing = "landing-rest-64"'),
    )
    assert (spec.turns[0].arrive_m, spec.turns[0].leave_m) == (0.0, 0.0)


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        (
            '"right"\nplate',
            '"rigth"\nplate',
            '6: attach: "rigth" is neither left, centre, right nor a length.',
        ),
        ('"right"\nplate', '"rigth"\nplate', 'Did you mean "right"?'),
        ('"right"\nplate', '"6 ells"\nplate', '6: attach: "6 ells" has the unknown unit "ells".'),
        ('"right"\nplate', "true\nplate", "6: attach = true: "),
        ('"right"\nplate', "[1]\nplate", "6: attach: [1] is not a place on an edge."),
        ('arrive = "left"', 'arrive = "middle"', '16: turn 1: arrive: "middle" is neither'),
        ('"front door"', '"front"', '3: start = "front" is not a start of'),
        ('"landing-door-80"', '"landing-door-8"', '4: "landing-door-8" is no landing of the catalogue'),
        ('"plate-60"', '"section-96"', '7: "section-96" is no transition plate of the catalogue'),
        ('"section-72"', '"section-7"', 'Did you mean "section-72"?'),
        ('landing = "landing-64"', 'landing = "plate-60"', '15: "plate-60" is no landing of the catalogue'),
        ('door_landing = "landing-door-80"\n', "", "attach is given, but the layout has no door_landing"),
    ],
)
def test_a_fault_is_told_once_with_its_line(tmp_path: Path, old: str, new: str, says: str) -> None:
    found = faults(tmp_path, (old, new))
    assert len(found) == 1, found
    assert says in found[0]


def test_every_wrong_name_and_place_is_told_at_once_in_file_order(tmp_path: Path) -> None:
    found = faults(
        tmp_path,
        ('"front door"', '"back door"'),
        ('"right"\nplate', "25\nplate"),
        ('sections = ["section-72", "section-96"]', 'sections = ["section-96", "section-0"]'),
        ('leave = "right"', "leave = -12"),
    )
    assert [int(fault.split(":")[0]) for fault in found] == [3, 6, 10, 17]


def test_a_layout_without_a_door_landing_starts_where_it_slides(tmp_path: Path) -> None:
    spec = typed(
        tmp_path,
        ('door_landing = "landing-door-80"\n', 'slide = "-4 in"\n'),
        ('attach = "right"\n', ""),
    )
    assert (spec.door_landing, spec.attach_m) == (None, 0.0)
    assert spec.slide_m == pytest.approx(-4 * INCH)


def test_the_site_of_the_layout_comes_with_it() -> None:
    spec, site = read_layout(SCENES / "fall-to-street" / "layout.toml")
    assert spec.start in {start.name for start in site.yard.starts}
    assert (spec.attach_m, spec.turns[0].arrive_m) == pytest.approx((FLUSH_64_M, -FLUSH_64_M))


def test_the_schema_offers_words_numbers_and_texts() -> None:
    schema = json.loads(layout_schema())
    assert schema["properties"]["attach"]["anyOf"] == [
        {"enum": ["left", "centre", "right"]},
        {"type": "number"},
        {"type": "string"},
    ]
