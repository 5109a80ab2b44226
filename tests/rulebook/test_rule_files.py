"""How a rule set file is read, and what is refused: every fault at once, with line, value, remedy."""

from pathlib import Path

import pytest

from optimizer.errors import InputError
from optimizer.rulebook.facts import Condition
from optimizer.rulebook.read_rule_set import find_rule_files, read_rule_file
from optimizer.rulebook.run_law import NO_END_M

RULES = """\
id = "tiny"
title = "Tiny standard"
edition = "2020"
unit = "mm"
statement = "Meets what was checked; the authority decides."
not_checked = ["doors"]

[[limit]]
id = "tiny.slope"
clause = "1.1"
quantity = "running_slope"
operator = "<="
value = "1:14"
unit = "ratio"
source = "a page"
how_known = "memory"

[[limit]]
id = "tiny.width"
clause = "1.2"
quantity = "clear_width"
operator = ">"
value = 900
unit = "mm"
source = "a page"
how_known = "text"
note = "between rails"

[[limit]]
id = "tiny.law"
clause = "1.3"
quantity = "run_law"
place = "any"
when = { works = ["existing"], building = ["house", "other"] }
operator = "<="
between = "run_per_rise"
rows = [
    { length = 2000, slope = "1:10" },
    { length = 6000, rise = 350, slope = "6 %" },
]
beyond = "1:20"
widens = "yes"
source = "a page"
how_known = "restated"

[[limit]]
id = "tiny.door"
clause = "1.4"
quantity = "door_clearance"
place = "top"
operator = ">="
door = { approach = "hinge", side = "push", depth = 1100, beyond_hinge = 560, closer_depth = 150 }
source = "a page"
how_known = "text"

[[limit]]
id = "tiny.landing"
clause = "1.5"
quantity = "landing_slope"
operator = "<="
value = "2.5 %"
source = "a page"
how_known = "text"

[[tolerance]]
quantity = "running_slope"
text = "3 % of the slope"
source = "a page"
how_known = "text"
"""


def written(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "rules.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_a_rule_set_is_read_with_its_values_in_metres_and_ratios(tmp_path: Path) -> None:
    rules = read_rule_file(written(tmp_path, RULES))
    slope, width, *_, landing = rules.limits
    assert (slope.value, slope.value_si, slope.how_known, slope.note) == (1 / 14, 1 / 14, "memory", "")
    assert (slope.place, slope.when, slope.law, slope.door) == ("any", (), None, None)
    assert (width.value, width.unit, width.value_si, width.operator) == (900.0, "mm", 0.9, ">")
    assert (landing.value, landing.unit, landing.value_si) == (2.5, "percent", 0.025)
    assert (rules.id, rules.not_checked) == ("tiny", ("doors",))
    assert [(one.quantity, one.text) for one in rules.tolerances] == [("running_slope", "3 % of the slope")]


def test_rows_are_read_as_a_law(tmp_path: Path) -> None:
    limit = read_rule_file(written(tmp_path, RULES)).limits[2]
    assert limit.law is not None
    assert limit.law.widens
    short, longer, flat = limit.law.allowances
    assert (short.above_m, short.longest_m, short.greatest_rise_m) == (0.0, 2.0, NO_END_M)
    assert (short.slope_at_above, short.slope_at_longest) == (0.1, 0.1)
    assert (longer.above_m, longer.longest_m, longer.greatest_rise_m) == (2.0, 6.0, 0.35)
    assert (longer.slope_at_above, longer.slope_at_longest, longer.between) == (0.1, 0.06, "run_per_rise")
    assert (flat.longest_m, flat.slope_at_above, flat.is_strict) == (NO_END_M, 0.05, True)
    assert limit.when == (Condition("works", ("existing",)), Condition("building", ("house", "other")))
    assert (limit.value, limit.unit, limit.value_si) == (0.1, "ratio", 0.1)


def test_rows_in_steps_stand_for_themselves(tmp_path: Path) -> None:
    text = RULES.replace('between = "run_per_rise"\n', "").replace(
        '    { length = 6000, rise = 350, slope = "6 %" },\n', '    { slope = "6 %" },\n'
    )
    law = read_rule_file(written(tmp_path, text)).limits[2].law
    assert law is not None
    assert [(row.above_m, row.longest_m, row.slope_at_above) for row in law.allowances[:2]] == [
        (0.0, 2.0, 0.1),
        (0.0, NO_END_M, 0.06),
    ]


def test_a_row_of_a_door_table_is_read_in_metres(tmp_path: Path) -> None:
    limit = read_rule_file(written(tmp_path, RULES)).limits[3]
    assert limit.door is not None
    assert (limit.door.approach, limit.door.side) == ("hinge", "push")
    assert (limit.door.depth_m, limit.door.beyond_hinge_m, limit.door.closer_depth_m) == (1.1, 0.56, 0.15)
    assert limit.door.beyond_latch_m == 0.0
    assert (limit.value, limit.unit, limit.value_si) == (1100.0, "mm", 1.1)


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('clause = "1.1"\n', "", 'the key "clause" is missing'),
        ('clause = "1.1"', 'clause = ""', 'clause = "" is empty'),
        ('source = "a page"\nhow_known = "memory"', 'how_known = "memory"', 'the key "source" is missing'),
        ('source = "a page"', 'source = ""', 'source = "" is empty'),
        ('operator = ">"', 'operator = "=>"', "is not one of the known words"),
        ('operator = ">"', 'operator = "at least"', "Use one of: <=, <, >=, >."),
        ('"clear_width"', '"clear_wdth"', 'Did you mean "clear_width"?'),
        ('unit = "mm"\nsource', 'unit = "inch"\nsource', "is not one of the known words"),
        ('unit = "mm"\nsource', 'unit = "in"\nsource', 'mixed units: the file is in mm, this limit in "in"'),
        ('unit = "mm"\nsource', 'unit = "ratio"\nsource', '"ratio" does not measure a clear_width'),
        ('unit = "mm"\nsource', 'unit = "count"\nsource', '"count" does not measure a clear_width'),
        ('unit = "ratio"', 'unit = "mm"', '"mm" does not measure a running_slope. Use ratio or percent'),
        ('unit = "ratio"', 'unit = "percent"', '"1:14" does not go with the unit percent'),
        ('unit = "mm"\nstatement', "statement", 'the key "unit" is missing'),
        ('unit = "mm"\nstatement', 'unit = "yd"\nstatement', 'unit = "yd" is not one of the known words'),
        ('value = "1:14"', "value = 0.071", "0.071 is no slope"),
        ('value = "1:14"\n', "", 'limit "tiny.slope": the key "value" is missing'),
        ('value = "1:14"', 'value = "4 deg"', '"4 deg" is no slope'),
        ("value = 900", 'value = "900"', '"900" is no number'),
        ("value = 900", "value = -900", "must be at least 0"),
        ("value = 900", "value = nan", "nan is no number"),
        ("value = 900", "value = true", "true is no number"),
        ('value = "1:14"', 'value = "one in 14"', "is not a slope with its kind stated"),
        ('how_known = "text"', 'how_known = "own"', "is not one of the known words"),
        ('how_known = "text"', 'how_known = "sure"', "Use one of: text, restated, memory."),
        ('"tiny.width"', '"tiny.slope"', 'the id "tiny.slope" was in line 9'),
        ('note = "between rails"', 'remark = "between rails"', 'the key "remark" is not known'),
        ('note = "between rails"', 'beyond = "1:20"', "it has no meaning for a clear_width"),
        (
            'note = "between rails"',
            'rows = [{ length = 1, slope = "1:20" }]',
            "it has no meaning for a clear_width",
        ),
        ('edition = "2020"', "edition = 2020", "edition = 2020 is not a text"),
        ('place = "top"', 'place = "upstairs"', "is not one of the known words"),
        ("works = [", "work = [", 'the key "work" is not known. Did you mean "works"?'),
        ('["existing"]', '["old"]', '"old" is not one of the known words'),
        ('slope = "1:10"', 'slope = "6 %"', "the rows are out of order at row 2"),
        ("length = 2000", "length = 7000", "the rows are out of order at row 2"),
        ("length = 6000, rise", "rise", 'between = "run_per_rise" needs a length in every row'),
        ("length = 2000, slope", "slope", "row 1 has neither a length nor a rise"),
        ("length = 2000", "length = -1", "must be at least 0"),
        ('beyond = "1:20"', 'beyond = "1:12"', "it is steeper than the last row"),
        ('beyond = "1:20"', "beyond = 0.05", "0.05 is no slope"),
        ('operator = "<="\nbetween', 'operator = "<"\nbetween', '"<" is not how its table is read'),
        (
            'operator = "<="\nbetween',
            'operator = "<="\nvalue = 3\nbetween',
            "it has no meaning for a run_law",
        ),
        ('side = "push"', 'side = "shove"', "is not one of the known words"),
        ("depth = 1100", 'depth = "1100"', '"1100" is no number'),
        ("depth = 1100, ", "", 'the key "depth" is missing'),
        ('text = "3 % of the slope"\n', "", 'the key "text" is missing'),
    ],
)
def test_a_fault_in_a_rule_set_is_refused(tmp_path: Path, old: str, new: str, says: str) -> None:
    assert old in RULES
    with pytest.raises(InputError) as caught:
        read_rule_file(written(tmp_path, RULES.replace(old, new, 1)))
    assert sum(says in str(fault) for fault in caught.value.faults) == 1, str(caught.value)
    assert all(fault.where.startswith(f"{tmp_path}/rules.toml:") for fault in caught.value.faults)


@pytest.mark.parametrize("key", ["rows", "door"])
def test_a_table_without_its_rows_is_refused(tmp_path: Path, key: str) -> None:
    lines = RULES.splitlines()
    first = next(i for i, line in enumerate(lines) if line.startswith(f"{key} ="))
    last = lines.index("]", first) if key == "rows" else first
    text = "\n".join(lines[:first] + lines[last + 1 :])
    with pytest.raises(InputError, match=f'the key "{key}" is missing'):
        read_rule_file(written(tmp_path, text))


SAME = """
[[limit]]
id = "tiny.again"
clause = "1"
quantity = "clear_width"
operator = ">="
value = 36
{more}source = "a page"
how_known = "text"
"""


def test_two_limits_on_one_quantity_at_one_place_are_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError) as caught:
        read_rule_file(written(tmp_path, RULES + SAME.format(more="")))
    (fault,) = caught.value.faults
    line = RULES.count("\n") + 5
    assert fault.where == f"{tmp_path}/rules.toml:{line}"
    assert fault.what.startswith('limit 6: the quantity "clear_width" was in line 21')


@pytest.mark.parametrize("more", ['place = "top"\n', 'when = { works = ["new"] }\n'])
def test_one_quantity_may_have_a_limit_for_each_place_and_condition(tmp_path: Path, more: str) -> None:
    rules = read_rule_file(written(tmp_path, RULES + SAME.format(more=more)))
    assert sum(limit.quantity == "clear_width" for limit in rules.limits) == 2


def test_a_rule_set_with_an_empty_list_of_limits_is_refused(tmp_path: Path) -> None:
    text = "limit = []\n" + RULES[: RULES.index("[[limit]]")]
    with pytest.raises(InputError, match=r"rules\.toml:1: limit = \[\] has too few entries"):
        read_rule_file(written(tmp_path, text))


def test_a_rule_set_without_limits_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match='the key "limit" is missing'):
        read_rule_file(written(tmp_path, RULES[: RULES.index("[[limit]]")]))


def test_all_faults_of_a_rule_set_come_at_once_in_the_order_of_the_file(tmp_path: Path) -> None:
    text = RULES.replace('clause = "1.1"\n', "").replace('unit = "mm"\nsource', 'unit = "in"\nsource')
    text = text.replace('operator = ">"', 'operator = "?"').replace('"tiny.door"', '"tiny.law"')
    text = text.replace('beyond = "1:20"', 'beyond = "1:5"').replace('["existing"]', '["old"]')
    with pytest.raises(InputError) as caught:
        read_rule_file(written(tmp_path, text))
    lines = text.splitlines()

    def line(start: str, after: int = 0) -> int:
        return next(i for i, words in enumerate(lines, 1) if i > after and words.startswith(start))

    width = line('id = "tiny.width"')
    law = line('id = "tiny.law"')
    assert [int(fault.where.rpartition(":")[2]) for fault in caught.value.faults] == [
        line("[[limit]]"),
        line("operator", width),
        line("unit", width),
        line("when"),
        line("beyond"),
        line('id = "tiny.law"', law),
    ]


def test_the_files_of_a_folder_are_found_by_the_id_they_state(tmp_path: Path) -> None:
    (tmp_path / "b.toml").write_text(RULES, encoding="utf-8")
    (tmp_path / "a.toml").write_text(RULES.replace('"tiny"', '"zulu"'), encoding="utf-8")
    assert find_rule_files(tmp_path) == (("tiny", tmp_path / "b.toml"), ("zulu", tmp_path / "a.toml"))


@pytest.mark.parametrize(
    ("head", "says"),
    [
        ('id = "tiny"\n', 'the id "tiny" is that of a.toml. Give each file its own id.'),
        ('id = "own-limits"\n', 'the id "own-limits" is kept for the user\'s limits. Choose another.'),
        ("id = 4\n", 'it states no id. Write id = "..." at its head.'),
        ("", 'it states no id. Write id = "..." at its head.'),
    ],
)
def test_a_file_without_an_id_of_its_own_is_refused(tmp_path: Path, head: str, says: str) -> None:
    (tmp_path / "a.toml").write_text(RULES, encoding="utf-8")
    (tmp_path / "b.toml").write_text(RULES.replace('id = "tiny"\n', head, 1), encoding="utf-8")
    with pytest.raises(InputError) as caught:
        find_rule_files(tmp_path)
    assert [str(fault) for fault in caught.value.faults] == [f"{tmp_path}/b.toml: {says}"]
