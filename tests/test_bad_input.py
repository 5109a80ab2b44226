"""Every way a file can be wrong is met with file, line, value and remedy, through the public reader."""

import shutil
from pathlib import Path

import pytest

from optimizer.brief.read_site import read_site
from optimizer.catalogue.demo_files import demo_catalogue_path
from optimizer.errors import InputError

SITE = """\
name = "small yard"
dated = 2026-01-15
unit = "m"
survey = ["levels.csv"]
catalogue = "parts.toml"
rates = "demo-rates-usd"

[[start]]
name = "door"
kind = "landing"
midpoint = [10, 5]
outward_deg = 90
threshold = 100.55
clear_width = 0.9
swing = "in"
hinge_side = "left"

[house]
outline = [[4, -3], [16, -3], [16, 4.97], [4, 4.97]]

[lot]
outline = [[2, -4], [18, -4], [18, 17], [2, 17]]

[[obstacle]]
name = "bin"
outline = [[5, 6], [6, 6], [6, 7], [5, 7]]

[rules]
set = "ada-2010"

[facts]
works = "new"
closer = "no"
"""
LEVELS = """\
name,x_m,y_m,elevation_m
A1,2,4.97,100.06
A2,10,4.97,100.02
A3,18,4.97,99.95
B1,2,11,99.88
B2,10,11,99.81
B3,18,11,99.77
C1,2,17,99.70
C2,10,17,99.62
C3,18,17,99.58
"""


def line_of(text: str, wanted: str) -> int:
    """Line number, from 1, of the only line that holds ``wanted``."""
    (line,) = [number for number, line in enumerate(text.splitlines(), 1) if wanted in line]
    return line


def changed(text: str, old: str, new: str) -> str:
    """``text`` with its only ``old`` replaced."""
    assert text.count(old) == 1
    return text.replace(old, new)


def written(folder: Path, site: str = SITE, levels: str = LEVELS, parts: str | None = None) -> Path:
    """The small yard in ``folder``, with these texts."""
    (folder / "site.toml").write_text(site, encoding="utf-8")
    (folder / "levels.csv").write_text(levels, encoding="utf-8")
    if parts is None:
        shutil.copy(demo_catalogue_path("demo-inch"), folder / "parts.toml")
    else:
        (folder / "parts.toml").write_text(parts, encoding="utf-8")
    return folder


def refusal(folder: Path) -> tuple[str, ...]:
    """What the reader says of each fault, the folder's own path taken off."""
    with pytest.raises(InputError) as caught:
        read_site(folder)
    return tuple(str(fault).replace(f"{folder}/", "") for fault in caught.value.faults)


def demo_parts() -> str:
    return demo_catalogue_path("demo-inch").read_text(encoding="utf-8")


def test_the_small_yard_itself_is_sound(tmp_path: Path) -> None:
    assert read_site(written(tmp_path)).name == "small yard"


def test_a_missing_elevation_is_refused(tmp_path: Path) -> None:
    levels = changed(LEVELS, "B2,10,11,99.81", "B2,10,11,")
    (message,) = refusal(written(tmp_path, levels=levels))
    assert message == (
        f'levels.csv:{line_of(LEVELS, "B2,")}: elevation is missing for point "B2". '
        "Give three numbers: x, y, elevation."
    )


@pytest.mark.parametrize("word", ["low", "nan", "inf", "99,81"])
def test_an_elevation_that_is_no_finite_number_is_refused(tmp_path: Path, word: str) -> None:
    cell = f'"{word}"'
    levels = changed(LEVELS, "B2,10,11,99.81", f"B2,10,11,{cell}")
    (message,) = refusal(written(tmp_path, levels=levels))
    assert message.startswith(f'levels.csv:{line_of(LEVELS, "B2,")}: elevation of point "B2": "{word}" ')
    assert message.endswith("Give a number of m, with a decimal point.")


def test_fewer_than_three_points_are_refused(tmp_path: Path) -> None:
    levels = "".join(LEVELS.splitlines(keepends=True)[:3])
    (message,) = refusal(written(tmp_path, levels=levels))
    assert message.startswith(f"site.toml:{line_of(SITE, 'levels.csv')}: the ground has 2 survey points.")
    assert message.endswith("Give at least three, not all on one line.")


def test_points_all_on_one_line_are_refused(tmp_path: Path) -> None:
    levels = "".join(LEVELS.splitlines(keepends=True)[:4])
    (message,) = refusal(written(tmp_path, levels=levels))
    assert message == (
        f"site.toml:{line_of(SITE, 'levels.csv')}: the 3 places surveyed lie all on one line. "
        "Add a level to the side of the line."
    )


def test_disagreeing_duplicates_are_refused(tmp_path: Path) -> None:
    levels = f"{LEVELS}B4,10,11,99.86\n"
    (message,) = refusal(written(tmp_path, levels=levels))
    assert message == (
        f'levels.csv:{line_of(levels, "B2,")}: points "B2", "B4" are in one place, (10.000, 11.000) m, but '
        "50 mm apart in level. Keep the right one, or name them top and foot of a break line."
    )


def test_agreeing_duplicates_are_accepted(tmp_path: Path) -> None:
    read_site(written(tmp_path, levels=f"{LEVELS}B4,10,11,99.814\n"))


def test_a_door_off_the_surveyed_ground_is_refused(tmp_path: Path) -> None:
    site = changed(SITE, "midpoint = [10, 5]", "midpoint = [10, 18.5]")
    (message,) = refusal(written(tmp_path, site=changed(site, "[18, 17], [2, 17]", "[18, 27], [2, 27]")))
    assert message == (
        f'site.toml:{line_of(SITE, "[[start]]")}: start "door" at (10.000, 18.500) m lies off the surveyed '
        "ground. Take levels at the wall on both sides of it and 1.5 m out."
    )


def test_a_self_crossing_lot_is_refused(tmp_path: Path) -> None:
    site = changed(SITE, "[18, -4], [18, 17], [2, 17]", "[18, 17], [18, -4], [2, 17]")
    (message,) = refusal(written(tmp_path, site=site))
    assert message == (
        f"site.toml:{line_of(SITE, '[18, -4]')}: lot: the outline crosses or touches itself "
        "at (10.00, 6.50) m. List the corners in order round the area, each once."
    )


def test_an_obstacle_over_the_door_is_refused(tmp_path: Path) -> None:
    site = changed(SITE, "[[5, 6], [6, 6], [6, 7], [5, 7]]", "[[9, 5], [11, 5], [11, 6], [9, 6]]")
    (message,) = refusal(written(tmp_path, site=site))
    assert message.startswith(
        f'site.toml:{line_of(SITE, "[[obstacle]]")}: obstacle "bin" lies before start "door", within 0.3 m'
    )
    assert "Move it" in message


def test_an_unknown_unit_is_refused_once_and_not_for_every_length(tmp_path: Path) -> None:
    (message,) = refusal(written(tmp_path, site=changed(SITE, 'unit = "m"', 'unit = "yd"')))
    assert message == (
        'site.toml:3: unit = "yd" is not one of the known words. Use one of: m, mm, cm, ft, in.'
    )


def test_an_unknown_unit_of_one_length_is_refused(tmp_path: Path) -> None:
    site = changed(SITE, "clear_width = 0.9", 'clear_width = "1 yd"')
    (message,) = refusal(written(tmp_path, site=site))
    assert message == (
        f'site.toml:{line_of(SITE, "clear_width")}: start "door": clear_width: "1 yd" has the unknown '
        'unit "yd". Use one of m, mm, cm, ft, in.'
    )


def test_an_unknown_unit_of_a_survey_column_is_refused(tmp_path: Path) -> None:
    (message,) = refusal(written(tmp_path, levels=changed(LEVELS, "elevation_m", "elevation_yd")))
    assert message.startswith('levels.csv:1: the column "elevation_yd" is not known.')
    assert "name,x_m,y_m,elevation_m" in message


def test_a_survey_column_without_a_unit_is_refused(tmp_path: Path) -> None:
    (message,) = refusal(written(tmp_path, levels=changed(LEVELS, "elevation_m", "elevation")))
    assert message.startswith('levels.csv:1: the column "elevation" states no unit. Name it elevation_m')


def test_a_leg_with_its_minimum_above_its_maximum_is_refused(tmp_path: Path) -> None:
    parts = demo_parts()
    lines = parts.splitlines()
    leg = lines.index('id = "leg-middle"')
    line = next(number for number in range(leg, len(lines)) if lines[number].startswith("min ="))
    lines[line] = "min = 33"
    (message,) = refusal(written(tmp_path, parts="\n".join(lines)))
    assert message == (
        f'parts.toml:{line + 2}: leg "leg-middle": max = 32: the greatest height is not above min. '
        "Give min below max."
    )


def test_a_section_that_refers_to_no_leg_is_refused(tmp_path: Path) -> None:
    parts = demo_parts()
    lines = parts.splitlines()
    section = lines.index('id = "section-72"')
    line = next(number for number in range(section, len(lines)) if lines[number].startswith("legs ="))
    lines[line] = "legs = []"
    (message,) = refusal(written(tmp_path, parts="\n".join(lines)))
    assert message == (
        f'parts.toml:{line + 1}: section "section-72": legs = []: the section refers to no leg. '
        "Name at least one leg of this catalogue."
    )


def test_a_section_that_refers_to_an_unknown_leg_is_refused(tmp_path: Path) -> None:
    parts = demo_parts()
    lines = parts.splitlines()
    section = lines.index('id = "section-72"')
    line = next(number for number in range(section, len(lines)) if lines[number].startswith("legs ="))
    lines[line] = 'legs = ["leg-shrt"]'
    (message,) = refusal(written(tmp_path, parts="\n".join(lines)))
    assert message.startswith(f"parts.toml:{line + 1}: ")
    assert '"leg-shrt"' in message
    assert 'Did you mean "leg-short"?' in message


def test_an_empty_catalogue_is_refused(tmp_path: Path) -> None:
    (first, *_) = refusal(written(tmp_path, parts=demo_parts().partition("[[")[0]))
    assert first.startswith("parts.toml:1: the catalogue is empty. Add ")


def test_a_catalogue_that_is_not_there_is_refused(tmp_path: Path) -> None:
    (message,) = refusal(written(tmp_path, site=changed(SITE, '"parts.toml"', '"prts.toml"')))
    assert message.startswith('site.toml:5: catalogue = "prts.toml" names no file in ')
    assert "demo-inch" in message


def test_rates_in_another_currency_than_the_catalogue_are_refused(tmp_path: Path) -> None:
    site = changed(SITE, '"demo-rates-usd"', '"demo-rates-eur"')
    (message,) = refusal(written(tmp_path, site=site))
    assert message == (
        'site.toml:6: the rates "demo-rates-eur" are in EUR, the catalogue "demo-inch" in USD. '
        "Use rates and parts of one currency."
    )


def test_an_unknown_rule_set_is_refused(tmp_path: Path) -> None:
    (message,) = refusal(written(tmp_path, site=changed(SITE, '"ada-2010"', '"ada-2011"')))
    assert message == (
        f'site.toml:{line_of(SITE, "ada-2010")}: "ada-2011" is no known rule set. Did you mean "ada-2010"?'
    )


def test_own_limits_steeper_than_one_in_six_are_refused(tmp_path: Path) -> None:
    site = changed(SITE, 'set = "ada-2010"', 'set = "own-limits"\n[rules.own]\nsteepest = "1:5"')
    (message,) = refusal(written(tmp_path, site=site))
    assert message.startswith(
        f"site.toml:{line_of(site, '[rules.own]')}: steepest 1:5 (20.0 %) is steeper than 1:6."
    )


def test_a_survey_file_that_is_not_there_is_refused(tmp_path: Path) -> None:
    (message,) = refusal(written(tmp_path, site=changed(SITE, '"levels.csv"', '"level.csv"')))
    assert message.startswith('site.toml:4: survey: "level.csv" names no file in ')


def test_a_site_folder_without_a_site_file_is_refused(tmp_path: Path) -> None:
    assert refusal(tmp_path) == ("site.toml: there is no such file. Check the name and the folder.",)


def test_text_that_is_not_toml_is_refused_with_its_line(tmp_path: Path) -> None:
    (message,) = refusal(written(tmp_path, site=changed(SITE, 'unit = "m"', "unit = m")))
    assert message.startswith("site.toml:3: this is not TOML")


@pytest.mark.parametrize(
    ("old", "new", "place"),
    [
        ('unit = "m"', 'unit = "m"\nsurvy = 1', 'the key "survy" is not known. Did you mean "survey"?'),
        (
            "swing =",
            "swings = 1\nswing =",
            'start "door": the key "swings" is not known. Did you mean "swing"?',
        ),
        ("[rules]", "[wishes]\nexit = 1\n[rules]", 'the key "exit" is not known. Did you mean "exits"?'),
    ],
)
def test_unknown_keys_are_refused(tmp_path: Path, old: str, new: str, place: str) -> None:
    site = changed(SITE, old, new)
    (message,) = refusal(written(tmp_path, site=site))
    assert message.startswith("site.toml:")
    assert message.endswith(place)


def test_all_faults_of_all_files_are_told_at_once(tmp_path: Path) -> None:
    site = changed(changed(SITE, "clear_width = 0.9", "clear_width = -0.9"), 'swing = "in"', 'swing = "up"')
    site = changed(site, '"demo-rates-usd"', '"no-rates"')
    levels = changed(changed(LEVELS, "B2,10,11,99.81", "B2,10,11,"), "C1,2,17,99.70", "C1,2,x,99.70")
    parts = changed(demo_parts(), 'currency = "USD"', 'currency = "usd"')
    messages = refusal(written(tmp_path, site=site, levels=levels, parts=parts))
    assert [message.partition(": ")[0] for message in messages] == [
        f"site.toml:{line_of(SITE, 'clear_width')}",
        f"site.toml:{line_of(SITE, 'swing')}",
        f"levels.csv:{line_of(LEVELS, 'B2,')}",
        f"levels.csv:{line_of(LEVELS, 'C1,')}",
        f"parts.toml:{line_of(demo_parts(), 'currency')}",
        "site.toml:6",
    ]


def test_faults_of_yard_survey_and_rules_are_told_at_once(tmp_path: Path) -> None:
    site = changed(SITE, "[18, -4], [18, 17], [2, 17]", "[18, 17], [18, -4], [2, 17]")
    site = changed(site, "[[5, 6], [6, 6], [6, 7], [5, 7]]", '[[5, 6], "B9", [6, 7], "B2"]')
    site = changed(site, '"ada-2010"', '"ada-2011"')
    messages = refusal(written(tmp_path, site=site, levels=f"{LEVELS}B4,10,11,99.86\n"))
    assert len(messages) == 4
    assert sum("is no known rule set" in message for message in messages) == 1
    assert (
        sum(
            'the survey has no point "B9". Use a name of its 10 points, such as A1, A2, A3.' in message
            for message in messages
        )
        == 1
    )
    assert sum("crosses or touches itself" in message for message in messages) == 1
    assert sum("are in one place" in message for message in messages) == 1
