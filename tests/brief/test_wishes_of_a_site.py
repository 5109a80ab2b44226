"""Wishes, lattice and setback as a site file says them, and what contradicts itself."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tests.brief.site_texts import HOUSE, LOT, RULES, START, TOP, read, refusal, to_plan

YARD = TOP + START + HOUSE + LOT + RULES
OUTSIDE_THE_LOT = "wishes: place 1 of must_pass, at (41.000, 5.000) m, lies outside the lot"
#: Along and out (0, 6) before the door, as the survey has it.
AHEAD = ", ".join(f"{axis:.3f}" for axis in to_plan(0, 6))


def wishes(rest: str) -> str:
    return f"{YARD}[wishes]\n{rest}\n"


def test_every_wish_is_read(tmp_path: Path) -> None:
    text = 'slopes = "equal"\nprefer_side = "left"\nlongest_between_rests = "6 ft"\nsurvey_error = "1/2 in"\n'
    text += 'steps = "wanted"\nmost_turns = 3\nmust_pass = ["B2"]\n'
    text += 'landing_at = [{ along = 0, out = 6 }, "C1"]'
    site = read(tmp_path, wishes(text))
    wished = site.wishes
    assert (wished.slopes, wished.prefer_side, wished.steps, wished.most_turns) == (
        "equal",
        "left",
        "wanted",
        3,
    )
    assert (pytest.approx(wished.longest_between_rests_m), wished.survey_error_m) == (1.8288, 0.0127)
    shift = site.origin_shift_m[:2]
    assert np.allclose(wished.must_pass_m, np.array([to_plan(1, 5)]) - shift)
    assert np.allclose(wished.landing_at_m, np.array([to_plan(0, 6), to_plan(-6, 10)]) - shift)
    assert not wished.must_pass_m[0].flags.writeable


@pytest.mark.parametrize(
    ("rest", "told"),
    [
        ('slopes = "same"', "is not one of the known words"),
        ('prefer_side = "front"', "is not one of the known words"),
        ('steps = "yes"', "is not one of the known words"),
        ("exits = []", "exits = [] has too few entries"),
        ("most_turns = -1", "must be at least 0"),
        ("longest_between_rests = 0", "must be above 0"),
        ("survey_error = -0.01", "must be at least 0"),
        ('must_pass = ["B22"]', 'wishes: the survey has no point "B22". Did you mean "B2"?'),
        ("must_pass = [[1, 2, 3]]", "[1, 2, 3] is not a place"),
    ],
)
def test_a_wish_that_cannot_be_read_is_refused(tmp_path: Path, rest: str, told: str) -> None:
    assert told in refusal(tmp_path, wishes(rest))


@pytest.mark.parametrize(
    ("key", "place", "told"),
    [
        ("must_pass", "[41, 5]", OUTSIDE_THE_LOT),
        ("must_pass", "[39, 5]", "place 1 of must_pass, at (39.000, 5.000) m, lies off the surveyed ground"),
        ("landing_at", "[9, 5]", "place 1 of landing_at, at (9.000, 5.000) m, lies inside the house"),
    ],
)
def test_a_locked_place_where_nothing_can_lie_is_refused_by_both_names(
    tmp_path: Path, key: str, place: str, told: str
) -> None:
    told_all = refusal(tmp_path, wishes(f"{key} = [{place}]"))
    assert told in told_all
    assert told_all.startswith("site.toml:30: wishes: place 1")


def around(along: float, out: float, half: float) -> str:
    corners = ((-half, -half), (half, -half), (half, half), (-half, half))
    places = ", ".join(f"{{ along = {along + a!r}, out = {out + b!r} }}" for a, b in corners)
    return f"outline = [{places}]"


@pytest.mark.parametrize(
    ("table", "told"),
    [
        ('[[zone]]\nname = "drive"\nkind = "vehicle"\nwaived_by = "the tenant"\n',
         f'at ({AHEAD}) m, lies inside zone "drive" (vehicle), where no piece may lie. Move the place, or '
         'have the zone waived (by the tenant) and take "drive" out'),
        ('[[zone]]\nname = "bed"\nkind = "no_foot"\n', None),
        ('[[zone]]\nname = "crown"\nkind = "drip_line"\n', None),
        ('[[obstacle]]\nname = "tree"\n', f'at ({AHEAD}) m, lies inside obstacle "tree", which has no top'),
        ('[[obstacle]]\nname = "slab"\ntop = 99.9\n', None),
    ],
)  # fmt: skip
def test_a_lock_inside_what_blocks_a_piece_is_refused_and_inside_what_may_be_passed_over_is_not(
    tmp_path: Path, table: str, told: str | None
) -> None:
    text = wishes("must_pass = [{ along = 0, out = 6 }]") + table + around(0, 6, 0.5)
    if told is None:
        assert len(read(tmp_path, text).wishes.must_pass_m) == 1
    else:
        assert told in refusal(tmp_path, text)


@pytest.mark.parametrize(
    ("inside_m", "is_refused"), [(-0.001, False), (0.0, False), (0.9e-6, False), (1.1e-6, True)]
)
def test_a_lock_on_the_edge_of_what_blocks_may_be_met_by_a_piece_that_touches_it(
    tmp_path: Path, inside_m: float, *, is_refused: bool
) -> None:
    zone = '[[zone]]\nname = "drive"\nkind = "vehicle"\n' + around(0.5 - inside_m, 6, 0.5)
    text = wishes("landing_at = [{ along = 0, out = 6 }]") + zone
    if is_refused:
        assert "lies inside zone" in refusal(tmp_path, text)
    else:
        assert len(read(tmp_path, text).wishes.landing_at_m) == 1


@pytest.mark.parametrize(("setback", "is_refused"), [(19.0, False), (20.0, False), (20.001, True)])
def test_a_lock_in_a_hard_setback_is_refused(tmp_path: Path, setback: float, *, is_refused: bool) -> None:
    """The place lies 20 m from the nearest side of the lot, which runs along y = -20."""
    lot = "[lot]\noutline = [[-20, -20], [40, -20], [40, 40], [-20, 40]]\n"
    near = "must_pass = [[13, 0]]\n"
    text = TOP + START + HOUSE + RULES + f"{lot}setback = {setback}\n[wishes]\n{near}"
    if is_refused:
        told = refusal(tmp_path, text)
        assert "at (13.000, 0.000) m, lies inside the hard setback of 20.001 m" in told
    else:
        assert read(tmp_path, text).yard.setback_m == setback
    soft = text.replace("[wishes]", 'setback_kind = "needs_relief"\n[wishes]')
    assert read(tmp_path, soft).yard.setback_kind == "needs_relief"


def test_a_far_lock_and_a_walled_in_destination_are_the_searchs_business(tmp_path: Path) -> None:
    text = wishes("must_pass = [{ along = 5.9, out = 9.9 }]\nlanding_at = [{ along = -5.9, out = 9.9 }]")
    walls = '[[obstacle]]\nname = "wall"\n' + around(3, 5, 1)
    site = read(tmp_path, text + "[destination]\nat = { along = 3, out = 5 }\n" + walls)
    assert site.yard.destination_m is not None


def test_relief_is_priced_in_whole_cents(tmp_path: Path) -> None:
    lot = LOT + 'setback = 0.5\nsetback_kind = "needs_relief"\nrelief_price = "450.25"\n'
    yard = read(tmp_path, TOP + START + HOUSE + lot + RULES).yard
    assert (yard.setback_kind, yard.relief_cents) == ("needs_relief", 45_025)
    free = read(tmp_path, TOP + START + HOUSE + lot.replace('relief_price = "450.25"\n', "") + RULES).yard
    assert (free.setback_kind, free.relief_cents) == ("needs_relief", 0)


@pytest.mark.parametrize(
    ("lot", "told"),
    [
        ("setback = 0.5\nrelief_price = 450\n", "a hard setback has no relief"),
        ('setback = 0.5\nsetback_kind = "hard"\nrelief_price = 450\n', "a hard setback has no relief"),
        ('setback_kind = "needs_relief"\n', "the setback is 0"),
        ('setback = 0.5\nsetback_kind = "soft"\n', "is not one of the known words"),
        (
            'setback = 0.5\nsetback_kind = "needs_relief"\nrelief_price = "450 USD"\n',
            "not an amount of money",
        ),
        ('setback = 0.5\nsetback_kind = "needs_relief"\nrelief_price = -1\n', "must be at least 0"),
    ],
)
def test_a_setback_that_contradicts_itself_is_refused(tmp_path: Path, lot: str, told: str) -> None:
    assert told in refusal(tmp_path, TOP + START + HOUSE + LOT + lot + RULES)


@pytest.mark.parametrize("outline", ["[[0, 0], [10, 0], [20, 0]]", "[[0, 0], [10, 0], [10, 0], [0, 0]]"])
def test_a_lot_of_no_width_is_refused(tmp_path: Path, outline: str) -> None:
    told = refusal(tmp_path, f"{TOP}{START}{HOUSE}[lot]\noutline = {outline}\n{RULES}")
    assert "the outline encloses no area" in told


def search(rest: str) -> str:
    return f"{YARD}[search]\n{rest}\n"


def test_the_lattice_is_read(tmp_path: Path) -> None:
    text = (
        'lattice = "1 ft"\nfinest_lattice = "3 in"\nheight_step = "1/8 in"\nslope_levels = 3\nmost_runs = 8'
    )
    found = read(tmp_path, search(text)).search
    assert (found.lattice_m, found.finest_lattice_m, found.height_step_m) == (0.3048, 0.0762, 0.003175)
    assert (found.slope_levels, found.most_runs) == (3, 8)


@pytest.mark.parametrize(
    ("rest", "told"),
    [
        (
            "lattice = 0.15\nfinest_lattice = 0.04",
            "does not divide lattice = 0.15 m: it is 3.75 times as long",
        ),
        ("lattice = 0.15\nfinest_lattice = 0.3", "finest_lattice = 0.3 m is coarser than lattice = 0.15 m"),
        ("lattice = 1e-11", "finest_lattice = 0.05 m (not given, so this) is coarser than lattice = 1e-11 m"),
        ("finest_lattice = 0.16", "finest_lattice = 0.16 m is coarser than lattice = 0.15 m"),
        ("lattice = 0.12", "finest_lattice = 0.05 m (not given, so this) does not divide lattice = 0.12 m"),
        ("lattice = 0.15\nfinest_lattice = 0.0500001", "does not divide"),
        ("most_runs = 0", "must be at least 1"),
        ("most_runs = 9", "must be at most 8"),
        ("slide_step = 0.15", 'the key "slide_step" is not known'),
    ],
)
def test_a_lattice_that_contradicts_itself_is_refused(tmp_path: Path, rest: str, told: str) -> None:
    told_all = refusal(tmp_path, search(rest))
    assert told in told_all
    assert told_all.startswith(("site.toml:30: search: ", "site.toml:31: search: "))


@pytest.mark.parametrize(
    ("lattice", "finest"), [("0.15", "0.15"), ("0.3", "0.1"), ("0.7", "0.1"), ('"1 ft"', '"0.1 in"')]
)
def test_a_finest_lattice_that_goes_whole_times_into_the_lattice_is_taken(
    tmp_path: Path, lattice: str, finest: str
) -> None:
    found = read(tmp_path, search(f"lattice = {lattice}\nfinest_lattice = {finest}")).search
    times = found.lattice_m / found.finest_lattice_m
    assert times == pytest.approx(round(times), abs=1e-9)


@pytest.mark.parametrize(
    ("steepest", "is_refused"), [("1:100", False), ("1:5599", False), ("1:5601", True), ("1:9000", True)]
)
def test_a_steepest_slope_that_no_run_can_have_is_refused(
    tmp_path: Path, steepest: str, *, is_refused: bool
) -> None:
    """14 m of run drop one height step of 2.5 mm at a sine of 1:5600."""
    text = wishes(f'steepest = "{steepest}"')
    if is_refused:
        told = refusal(tmp_path, text)
        assert f"the steepest slope of {steepest} (0.0 %) is flatter than the flattest possible" in told
        assert "longest_run of 14 m" in told
        assert "height_step of 0.0025 m" in told
    else:
        assert read(tmp_path, text).wishes.steepest is not None


def test_own_limits_may_be_too_flat_as_well(tmp_path: Path) -> None:
    rules = '[rules]\nset = "own-limits"\n[rules.own]\nsteepest = "1:6000"\nclear_width = 0.9\n'
    assert "rules: the steepest slope of 1:6000" in refusal(tmp_path, TOP + START + HOUSE + LOT + rules)
