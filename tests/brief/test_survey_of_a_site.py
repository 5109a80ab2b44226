"""A site's survey: level books, straightboard walks, and a scan that a person must confirm."""

from __future__ import annotations

import shutil
from pathlib import Path

import numpy as np
import pytest

from optimizer.brief.read_site import SurveyedSite, read_site, read_surveyed_site
from optimizer.errors import InputError
from tests.brief.site_texts import HOUSE, LOT, RULES, SPOTS, START, TOP, read, refusal

SCAN_SCENE = Path(__file__).parents[2] / "scenes" / "phone-scan"
REST = START + HOUSE + LOT + RULES
SITE = TOP + REST
#: The spots of the small yard as a level book from a sill at 100.55 m: the instrument stands at 101.50 m.
BOOK = (
    "name,bs_m,is_m,fs_m,known_elevation_m,along_wall_m,out_from_wall_m\n"
    "sill,0.950,,,100.550,,\n"
    + "".join(f"{name},,{1.5 - level:.3f},,,{along},{out}\n" for name, along, out, level in SPOTS)
    + "sill,,,0.951,,,\n"
)
TABLE = '[[survey]]\nfile = "levels.csv"\n'


def with_tables(tables: str) -> str:
    return TOP.replace('survey = ["levels.csv"]\n', "") + tables + REST


class TestLevelBook:
    def test_it_gives_the_ground_that_spot_levels_give(self, tmp_path: Path) -> None:
        (tmp_path / "a").mkdir()
        (tmp_path / "b").mkdir()
        spots, book = read(tmp_path / "a", SITE), read(tmp_path / "b", SITE, BOOK)
        np.testing.assert_allclose(book.ground.points_m, spots.ground.points_m, atol=1e-9)
        assert book.heights.warning == ""

    def test_a_name_and_a_table_say_the_same(self, tmp_path: Path) -> None:
        (tmp_path / "a").mkdir()
        (tmp_path / "b").mkdir()
        name, table = read(tmp_path / "a", SITE, BOOK), read(tmp_path / "b", with_tables(TABLE), BOOK)
        np.testing.assert_array_equal(name.ground.points_m, table.ground.points_m)

    def test_a_missing_foresight_is_refused_with_its_row(self, tmp_path: Path) -> None:
        cut = BOOK.replace("sill,,,0.951,,,\n", "")
        told = refusal(tmp_path, SITE, cut)
        assert "levels.csv:" in told
        assert "foresight" in told

    def test_a_misclosure_above_the_site_s_own_limit_is_refused(self, tmp_path: Path) -> None:
        told = refusal(tmp_path, with_tables(TABLE + 'limit = { constant = "0.5 mm" }\n'), BOOK)
        assert "misses by -1.0 mm; allowed are 0.5 mm" in told

    @pytest.mark.parametrize(
        ("key", "words"),
        [
            ('kind = "levelbook"\n', "site.toml:6: survey[0]: "),
            ('kind = "straightboard"\n', 'levels.csv:1: the column "bs_m" is not known'),
            ('unit = "yard"\n', 'unit = "yard" is not one of the known words'),
            ('limit = { constant = "0 mm" }\n', "constant"),
            ("limit = {}\n", "the limit has no number"),
            ('limit = { constant = "3 mm", line_length = "80 m" }\n', "it goes with per_root_km only"),
            ('limit = { per_root_km = "12 mm" }\n', "has no length"),
            ('kind = "spots"\nunit = "ft"\n', "spot levels have none of that"),
            ("files = 1\n", 'the key "files" is not known. Did you mean "file"?'),
        ],
    )
    def test_a_table_that_says_something_wrong_is_refused(self, key: str, words: str, tmp_path: Path) -> None:
        told = refusal(tmp_path, with_tables(TABLE + key), BOOK)
        assert words.rsplit(": ", maxsplit=1)[-1] in told

    def test_a_unit_for_spot_levels_told_by_their_columns_is_refused(self, tmp_path: Path) -> None:
        told = refusal(tmp_path, with_tables(TABLE + 'unit = "ft"\n'))
        assert "holds spot levels by its columns" in told

    def test_columns_without_a_unit_take_that_of_the_table(self, tmp_path: Path) -> None:
        plain = BOOK.splitlines()[0].replace("_m", "") + BOOK[BOOK.index("\n") :]
        site = read(tmp_path, with_tables(TABLE + 'unit = "m"\n'), plain)
        assert len(site.ground.points_m) == len(SPOTS)

    @pytest.mark.parametrize("survey", ["", "survey = []\n"])
    def test_a_site_without_a_survey_is_refused(self, survey: str, tmp_path: Path) -> None:
        told = refusal(tmp_path, with_tables(survey))
        assert "the site has no survey" in told

    def test_an_entry_that_names_no_file_is_refused(self, tmp_path: Path) -> None:
        assert "17 names no file" in refusal(tmp_path, with_tables("survey = [17]\n"))

    def test_a_book_without_positions_is_no_ground(self, tmp_path: Path) -> None:
        plain = "\n".join(line.rsplit(",", 2)[0] for line in BOOK.splitlines()) + "\n"
        assert "no levelled ground point has a position" in refusal(tmp_path, SITE, plain)


def changed_scene(folder: Path, name: str, *changes: tuple[str, str]) -> Path:
    """The scanned scene with texts of one of its files changed, each found once."""
    shutil.copytree(SCAN_SCENE, folder / "scene")
    path = folder / "scene" / name
    text = path.read_text(encoding="utf-8")
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    path.write_text(text, encoding="utf-8")
    return folder / "scene"


def scan_refusal(scene: Path) -> str:
    with pytest.raises(InputError) as caught:
        read_surveyed_site(scene)
    return str(caught.value)


@pytest.mark.parametrize(
    ("line", "asked", "written"),
    [('unit = "m"\nup', "unit", 'unit = "m"'), ('up = "z"\n', "up", 'up = "z"')],
)
def test_a_frame_that_nobody_confirmed_is_proposed_with_its_evidence(
    line: str, asked: str, written: str, tmp_path: Path
) -> None:
    told = scan_refusal(changed_scene(tmp_path, "site.toml", (line, "up" if line.endswith("up") else "")))
    assert f"the scan's {asked} must be confirmed by a person" in told
    assert "Flat patches lie" in told
    assert f"Write below [scan] once you have measured something you know in it: {written}" in told
    assert "site.toml:" in told


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (('unit = "m"\nup', 'unit = "ft"\nup'), 'scan.unit = "m" and scan.up = "z" would put every pick'),
        (('up = "z"', 'up = "y"'), "picks of control.csv lie off the scan, which, z up, reaches from x"),
        (('up = "z"', 'up = "w"'), 'up = "w" is not one of the known words'),
        (("cell = 0.25", "cell = 0.04"), "the cell is 0.04 m. Give 0.05 m to 1 m."),
        (("cell = 0.25", "cell = 1.01"), "the cell is 1.01 m."),
        (("cell = 0.25", "cells = 0.25"), 'the key "cells" is not known. Did you mean "cell"?'),
        (("cell = 0.25", "reach = 0"), "reach = 0 must be above 0"),
        (('"yard.laz"', '"yard.las"'), '"yard.las" names no file'),
        (('"control.csv"', '"marks.csv"'), '"marks.csv" names no file'),
        (('control = "control.csv"\n', ""), 'the key "control" is missing'),
        (("midpoint = [36.40, 22.75]", "midpoint = [436.40, 22.75]"), "no point of the scan lies on the lot"),
    ],
)  # fmt: skip
def test_a_scan_table_that_says_something_wrong_is_refused(
    change: tuple[str, str], words: str, tmp_path: Path
) -> None:
    assert words in scan_refusal(changed_scene(tmp_path, "site.toml", change))


def rows_of(name: str) -> list[list[str]]:
    return [line.split(",") for line in (SCAN_SCENE / name).read_text(encoding="utf-8").splitlines()]


def test_exchanged_control_points_are_refused_by_name(tmp_path: Path) -> None:
    rows = {row[0]: ",".join(row[1:4]) for row in rows_of("control.csv")}
    scene = changed_scene(
        tmp_path,
        "control.csv",
        (f"C1,{rows['C1']}", f"C1,{rows['C3']}"),
        (f"C3,{rows['C3']}", f"C3,{rows['C1']}"),
    )
    assert '"C1" and "C3" look exchanged' in scan_refusal(scene)


def test_a_pick_that_is_no_number_is_refused_with_its_row(tmp_path: Path) -> None:
    pick = rows_of("control.csv")[2][1]
    told = scan_refusal(changed_scene(tmp_path, "control.csv", (f"C2,{pick},", "C2,nan,")))
    assert "control.csv:3: " in told


def keep_levels(folder: Path, kept: int) -> Path:
    """The scene with elevations for so many of its control points."""
    scene = changed_scene(folder, "book.csv")
    path = scene / "book.csv"
    lines = path.read_text(encoding="utf-8").splitlines()
    dropped = [f"C{number}," for number in range(kept + 1, 6)] + (["K1,"] if kept < 5 else [])
    path.write_text(
        "\n".join(line for line in lines if not line.startswith(tuple(dropped))) + "\n", encoding="utf-8"
    )
    return scene


@pytest.mark.parametrize(("kept", "is_warned"), [(2, True), (3, False)])
def test_heights_on_fewer_than_three_levelled_points_are_not_fit_for_ordering_legs(
    kept: int, *, is_warned: bool, tmp_path: Path
) -> None:
    warning = read_site(keep_levels(tmp_path, kept)).heights.warning
    told = "heights not fit for ordering legs: 2 levelled control points carry the scan, 3 are needed"
    assert warning == (told if is_warned else "")


def test_points_of_the_scan_can_be_told_from_levelled_ones() -> None:
    read_scene: SurveyedSite = read_surveyed_site(SCAN_SCENE)
    names = read_scene.site.ground.point_names
    assert names[:4] == ("G1", "G2", "G3", "G4")
    assert all(name.startswith("scan ") for name in names[4:])
