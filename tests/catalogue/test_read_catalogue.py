import json
import tomllib
from pathlib import Path

import jsonschema
import pytest

from optimizer.catalogue.parts import Leg, StockLevel
from optimizer.catalogue.read_catalogue import catalogue_schema, read_catalogue
from optimizer.errors import FAULTS_SHOWN, InputError

#: The least catalogue a ramp can be built from.
TINY = """\
id = "tiny"
name = "Tiny"
currency = "USD"
unit = "in"
clearance = 2
low_clearance = 0
piece_gap = 10

[[foot]]
id = "foot"
name = "foot"
weight_kg = 1.5
price = 12
labour_min = 2
plate = 6
edge_distance = 1
swivel_limit = "1:8"

[[brace]]
id = "brace"
name = "brace"
weight_kg = 2
price = "25.00"
labour_min = 8

[[leg]]
id = "leg"
name = "leg"
weight_lb = 10
price = "50.05"
labour_min = 9
min = 2
max = 14
reserve = 1
lateral_offset = 2
foot = "foot"
pin_pitch = 0
screw_travel = 12
least_overlap = 2
stand_up = 0
bracket_tilt_deg = 5
rated_load_kg = 450
brace_above = 24
brace = "brace"

[[low_support]]
id = "shoe"
name = "shoe"
weight_kg = 1
price = "20"
labour_min = 5
min = 0.25
max = 3.5
lateral_offset = -4
foot = "foot"
rated_load_kg = 450

[[rail_panel]]
id = "panel"
name = "panel"
weight_kg = 7
price = 90
labour_min = 7
length = 48
height = 36
grip_diameter = 1.5
largest_opening = 3.75

[[rail_post]]
id = "post"
name = "post"
weight_kg = 2
price = 30
labour_min = 4

[[rail_end]]
id = "end"
name = "end"
weight_kg = 2
price = 35
labour_min = 5
extension = 12

[[section]]
id = "section-48"
name = "section"
weight_kg = 26
price = "398.00"
labour_min = 22
pitch = "4'"
overall_width = 42
clear_width = 38
frame_depth = "2 1/2 in"
hinge_depth = 0.5
curb_height = 4
mid_supports = [24]
legs = ["leg"]
low_supports = ["shoe"]
rail_panel = "panel"
rated_load_lb = 1000

[[landing]]
id = "landing-64"
name = "landing"
weight_kg = 60
price = "900.00"
labour_min = 40
uses = ["door", "half"]
length = 64
width = 94
clear_length = 60
clear_width = 90
frame_depth = 3
curb_height = 4
leg_inset = 6
legs = ["leg"]
rail_length_edge = "panel"
rail_width_edge = "panel"
rail_infill = "panel"
rail_inner_loop = "panel"
rated_load_kg = 680

[[transition_plate]]
id = "plate"
name = "plate"
weight_kg = 20
price = 220
labour_min = 12
length = 48
width = 42
tip_thickness = 0.2
rail_panel = "panel"
rated_load_kg = 450

[[threshold_plate]]
id = "threshold"
name = "threshold"
weight_kg = 3
price = 50
labour_min = 9
reach = 5
width = 40
rated_load_kg = 450

[stock]
leg = 20
"""


def written(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "parts.toml"
    path.write_text(text, encoding="utf-8")
    return path


def changed(old: str, new: str, after: str = "") -> str:
    """``TINY`` with the first ``old`` after ``after`` replaced."""
    start = TINY.index(after)
    at = TINY.index(old, start)
    return TINY[:at] + new + TINY[at + len(old) :]


def line_of(text: str, fragment: str) -> int:
    return text.count("\n", 0, text.index(fragment)) + 1


def faults(tmp_path: Path, text: str) -> list[str]:
    with pytest.raises(InputError) as caught:
        read_catalogue(written(tmp_path, text))
    prefix = f"{tmp_path / 'parts.toml'}:"
    assert all(fault.where.startswith(prefix) and fault.remedy for fault in caught.value.faults)
    return [str(fault).removeprefix(prefix) for fault in caught.value.faults]


def the_fault(tmp_path: Path, text: str) -> str:
    found = faults(tmp_path, text)
    assert len(found) == 1, found
    return found[0]


def test_the_tiny_catalogue_is_read_in_metres_kilograms_and_cents(tmp_path: Path) -> None:
    catalogue = read_catalogue(written(tmp_path, TINY))
    assert (catalogue.id, catalogue.currency) == ("tiny", "USD")
    assert catalogue.clearance_m == 2 * 0.0254
    assert catalogue.piece_gap_m == 0.254
    assert catalogue.legs == (
        Leg(
            id="leg", name="leg", weight_kg=4.5359237, price_cents=5005, labour_min=9.0, min_m=0.0508,
            max_m=0.3556, reserve_m=0.0254, lateral_offset_m=0.0508, foot="foot", pin_pitch_m=0.0,
            screw_travel_m=0.3048, least_overlap_m=0.0508, stand_up_m=0.0, bracket_tilt_deg=5.0,
            rated_load_kg=450.0, brace_above_m=0.6096, brace="brace",
        ),
    )  # fmt: skip
    section = catalogue.sections[0]
    assert (section.pitch_m, section.frame_depth_m, section.mid_supports_m) == (1.2192, 0.0635, (0.6096,))
    assert section.rated_load_kg == 453.59237
    assert catalogue.feet[0].price_cents == 1200
    assert catalogue.feet[0].swivel_limit == 0.125
    assert catalogue.landings[0].uses == frozenset({"door", "half"})
    assert catalogue.stock == (StockLevel("leg", 20),)
    assert catalogue.bottom_pads == ()


def test_the_unit_changes_bare_lengths_and_leaves_the_others(tmp_path: Path) -> None:
    in_mm = read_catalogue(written(tmp_path, changed('unit = "in"', 'unit = "cm"').replace("4'", "122")))
    assert in_mm.clearance_m == 0.02
    assert in_mm.sections[0].frame_depth_m == 0.0635


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('id = "brace"', 'id = "foot"', 'brace "foot": the id is already that of the foot'),
        ('id = "post"', 'id = "rail post"', "not in the form of an id"),
        ('legs = ["leg"]\nlow', "legs = []\nlow", "the section refers to no leg"),
        ('legs = ["leg"]\nlow', 'legs = ["log"]\nlow', 'Did you mean "leg"?'),
        ('legs = ["leg"]\nlow', 'legs = ["shoe"]\nlow', "which is a low_support, not a leg"),
        ('legs = ["leg"]\nrail', 'legs = ["x"]\nrail', "no leg of this catalogue"),
        ('legs = ["leg"]\nrail', "legs = []\nrail", "the list is empty"),
        ('"foot"\npin', '"feet"\npin', 'foot refers to "feet"'),
        ('"foot"\nrated', '"feet"\nrated', 'foot refers to "feet"'),
        ('brace = "brace"', 'brace = "strut"', 'brace refers to "strut"'),
        ('low_supports = ["shoe"]', 'low_supports = ["shoo"]', "low_supports refers"),
        ('low_supports = ["shoe"]', "low_supports = []", "no section may stand on a low support"),
        ('rail_panel = "panel"\nrated_load_lb', 'rail_panel = "x"\nrated_load_lb', "rail_panel refers to"),
        ('rail_panel = "panel"\nrated_load_kg', 'rail_panel = "x"\nrated_load_kg', "rail_panel refers to"),
        ('length_edge = "panel"', 'length_edge = "x"', "rail_length_edge refers to"),
        ('width_edge = "panel"', 'width_edge = "x"', "rail_width_edge refers to"),
        ('infill = "panel"', 'infill = "x"', "rail_infill refers to"),
        ('loop = "panel"', 'loop = "x"', "rail_inner_loop refers to"),
        ("max = 14", "max = 2", "the greatest height is not above min"),
        ("max = 14", "max = 1", "the greatest height is not above min"),
        ("reserve = 1", "reserve = 6", "leaves no height between min and max"),
        ("max = 3.5", "max = 0.2", "the greatest height is not above min"),
        ("plate = 6", "plate = 0", "plate = 0 must be above 0"),
        ("length = 48\nheight", "length = -48\nheight", "length = -48 must be above 0"),
        ("reserve = 1", "reserve = -1", "reserve = -1 must be at least 0"),
        ("clear_width = 38", "clear_width = 43", "the clear size is larger than overall_width"),
        ("clear_length = 60", "clear_length = 65", "the clear size is larger than length"),
        ("clear_width = 90", "clear_width = 95", "the clear size is larger than width"),
        ("leg_inset = 6", "leg_inset = 32", "the legs of two corners meet"),
        ('rail_inner_loop = "panel"\n', "", 'use "half" has no inner loop'),
        ("width = 94", "width = 93.9", "does not hold two sections and the piece_gap, 94 in"),
        ('uses = ["door", "half"]', "uses = []", "the list is empty"),
        ('uses = ["door", "half"]', 'uses = ["dor", "half"]', 'Did you mean "door"?'),
        ("leg_inset = 6", 'leg_inset = 6\nattach = ["left"]', 'the key "attach" is not known'),
        ("mid_supports = [24]", "mid_supports = [48]", "a mid support lies outside the pitch"),
        ("mid_supports = [24]", "mid_supports = [30, 20]", "the mid supports do not increase"),
        ("leg = 20", "log = 20", 'stock: "log" is no part of this catalogue. Did you mean "leg"?'),
        ("leg = 20", "leg = -1", "-1 must be at least 0"),
        ("leg = 20", "leg = 2.5", "2.5 is not a whole number"),
        ("piece_gap = 10", "piece_gap = 9.9", "feet of parallel runs collide"),
        ('price = "25.00"', 'price = "-25.00"', 'price = "-25.00" must be at least 0'),
        ('price = "25.00"', 'price = "25.005"', "has a fraction of a cent"),
        ('price = "25.00"', 'price = "25 dollars"', "is not an amount of money"),
        ('currency = "USD"', 'currency = "US$"', "not in the form of a currency code"),
        ('currency = "USD"', 'currency = "usd"', "not in the form of a currency code"),
        ('currency = "USD"', "currency = 840", "currency = 840 is not a text"),
        ('unit = "in"', 'unit = "inch"', 'Did you mean "in"?'),
        ("weight_kg = 26\n", "", "of weight_kg and weight_lb neither is given"),
        ("weight_kg = 26", "weight_kg = 26\nweight_lb = 57", "both are given"),
        ("rated_load_lb = 1000\n", "", "of rated_load_kg and rated_load_lb neither is given"),
        ("weight_kg = 26", "weight_kg = nan", "weight_kg = nan is not a finite number"),
        ("weight_kg = 26", 'weight_kg = "26"', 'weight_kg = "26" is not a number'),
        ("weight_kg = 26", "weight_kg = true", "weight_kg = true is not a number"),
        ('swivel_limit = "1:8"', "swivel_limit = 0.125", "is not a slope with its kind stated"),
        ("curb_height = 4\nmid", 'curb_height = "4 ells"\nmid', 'has the unknown unit "ells"'),
        ("curb_height = 4\nmid", "curb_height = [4]\nmid", "[4] is not a length"),
        ("curb_height = 4\nmid", "curb_hight = 4\nmid", 'Did you mean "curb_height"?'),
        ("piece_gap = 10", 'piece_gap = 10\nmaker = "x"', 'the key "maker" is not known'),
        ('legs = ["leg"]\nlow', 'legs = "leg"\nlow', 'legs = "leg" is not a list'),
    ],
)
def test_a_fault_in_the_file_is_refused_with_line_value_and_remedy(
    tmp_path: Path, old: str, new: str, says: str
) -> None:
    found = faults(tmp_path, changed(old, new))
    assert sum(says in fault for fault in found) == 1, found


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("max = 14", "max = 1"),
        ("plate = 6", "plate = -6"),
        ('brace = "brace"', 'brace = "strut"'),
        ("clear_width = 38", "clear_width = 43"),
        ("leg = 20", "log = 20"),
        ('currency = "USD"', 'currency = "usd"'),
        ("clear_length = 60", "clear_lenght = 60"),
    ],
)
def test_a_fault_names_the_line_of_its_key(tmp_path: Path, old: str, new: str) -> None:
    text = changed(old, new)
    assert f"{line_of(text, new)}: " in " ".join(faults(tmp_path, text))
    assert any(fault.startswith(f"{line_of(text, new)}: ") for fault in faults(tmp_path, text))


@pytest.mark.parametrize(
    ("group", "says"),
    [
        ("leg", "the catalogue has no leg."),
        ("low_support", "the catalogue has no low support."),
        ("section", "the catalogue has no section."),
        ("landing", "the catalogue has no landing for a door."),
        ("transition_plate", "the catalogue has no transition plate."),
        ("threshold_plate", "the catalogue has no threshold plate."),
        ("rail_post", "the catalogue has no rail post."),
        ("rail_end", "the catalogue has no rail end."),
    ],
)
def test_a_catalogue_without_a_kind_of_part_it_cannot_do_without_is_refused(
    tmp_path: Path, group: str, says: str
) -> None:
    start = TINY.index(f"[[{group}]]")
    text = TINY[:start] + TINY[TINY.index("\n[", start) + 1 :]
    assert any(says in fault for fault in faults(tmp_path, text))


def test_a_catalogue_with_landings_but_none_for_a_door_is_refused(tmp_path: Path) -> None:
    assert "no landing for a door" in the_fault(tmp_path, changed('"door", "half"', '"half"'))


@pytest.mark.parametrize("text", ["", TINY[: TINY.index("[[foot]]")]])
def test_an_empty_catalogue_is_refused(tmp_path: Path, text: str) -> None:
    assert sum("the catalogue is empty" in fault for fault in faults(tmp_path, text)) == 1


def test_a_range_that_the_reserve_leaves_just_open_is_allowed(tmp_path: Path) -> None:
    assert (
        read_catalogue(written(tmp_path, changed("reserve = 1", "reserve = 5.99"))).legs[0].reserve_m
        == 0.152146
    )


@pytest.mark.parametrize(
    ("offset", "gap", "collides"),
    [(2, 10, False), (2, 9.999, True), (-3, 0, False), (-2.9, 0, True), (-2.9, 0.2, False), (-8, 0, False)],
)
def test_feet_of_parallel_runs_may_touch_but_not_collide(
    tmp_path: Path,
    offset: float,
    gap: float,
    collides: bool,  # noqa: FBT001
) -> None:
    text = changed("piece_gap = 10", f"piece_gap = {gap}").replace(
        "lateral_offset = 2\n", f"lateral_offset = {offset}\n"
    )
    path = written(tmp_path, text)
    if collides:
        assert "feet of parallel runs collide" in the_fault(tmp_path, text)
    else:
        assert read_catalogue(path).piece_gap_m == pytest.approx(gap * 0.0254, abs=1e-12)


def test_low_supports_count_for_the_feet_of_parallel_runs(tmp_path: Path) -> None:
    text = changed("lateral_offset = -4", "lateral_offset = 2.1")
    assert 'low_support "shoe"' in the_fault(tmp_path, text)


def test_a_leg_that_no_section_uses_may_stand_out_further(tmp_path: Path) -> None:
    leg = TINY[TINY.index("[[leg]]") : TINY.index("[[low_support]]")]
    wide = leg.replace('id = "leg"', 'id = "wide"').replace("lateral_offset = 2", "lateral_offset = 9")
    assert (
        len(read_catalogue(written(tmp_path, TINY.replace("[[low_support]]", wide + "[[low_support]]"))).legs)
        == 2
    )


def test_all_faults_of_a_file_come_at_once_in_file_order(tmp_path: Path) -> None:
    spoiled = (
        ('currency = "USD"', 'currency = "usd"'),
        ("swivel_limit", "swivel_limt"),
        ('price = "50.05"', 'price = "-1"'),
        ("max = 14", "max = 1"),
        ('brace = "brace"', 'brace = "strut"'),
        ("max = 3.5", "max = 0.1"),
        ("weight_kg = 26", 'weight_kg = "26"'),
        ("clear_width = 38", "clear_width = 43"),
        ('low_supports = ["shoe"]', 'low_supports = ["shoo"]'),
        ("clear_length = 60", "clear_length = 66"),
        ("leg = 20", "log = 20"),
    )
    text = TINY
    for old, new in spoiled:
        text = text.replace(old, new, 1)
    found = faults(tmp_path, text)
    missing_swivel = line_of(text, "[[foot]]")  # a key that is not there is placed at its table
    expected = sorted([*(line_of(text, new) for _, new in spoiled), missing_swivel])
    assert [int(fault.split(":")[0]) for fault in found] == expected
    with pytest.raises(InputError) as caught:
        read_catalogue(tmp_path / "parts.toml")
    assert f"12 faults in all, the first {FAULTS_SHOWN} shown" in str(caught.value)


def test_a_part_with_a_fault_of_its_own_still_counts_as_named(tmp_path: Path) -> None:
    assert "plate = -6 must be above 0" in the_fault(tmp_path, changed("plate = 6", "plate = -6"))


def test_an_unknown_unit_brings_no_faults_of_sizes_with_it(tmp_path: Path) -> None:
    assert "unit" in the_fault(tmp_path, changed('unit = "in"', 'unit = "inch"'))


def test_stock_may_be_left_out(tmp_path: Path) -> None:
    assert read_catalogue(written(tmp_path, changed("[stock]\nleg = 20", ""))).stock == ()


def test_the_published_schema_accepts_what_the_reader_accepts() -> None:
    schema = json.loads(catalogue_schema())
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.validate(tomllib.loads(TINY), schema)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("plate = 6", "plate = 0"),
        ('price = "25.00"', 'price = "-25.00"'),
        ("leg = 20", "leg = -1"),
        ('unit = "in"', 'unit = "inch"'),
        ("piece_gap = 10", "piece_gap = 10\nmaker = 1"),
        ('currency = "USD"', 'currency = "usd"'),
        ("swivel_limit", "swivel_limt"),
    ],
)
def test_the_published_schema_refuses_what_one_value_alone_makes_wrong(old: str, new: str) -> None:
    validator = jsonschema.Draft202012Validator(json.loads(catalogue_schema()))
    assert not validator.is_valid(tomllib.loads(changed(old, new)))


def section_beside(depth: str, width: str) -> str:
    """``TINY`` with a second section of another frame depth and width."""
    at = TINY.index("[[section]]")
    end = TINY.index("[[", at + 3)
    second = TINY[at:end].replace("section-48", "section-60").replace('"2 1/2 in"', depth)
    return TINY[:end] + second.replace("overall_width = 42", f"overall_width = {width}") + TINY[end:]


def test_sections_of_one_width_with_unequal_frame_depths_are_refused(tmp_path: Path) -> None:
    assert "does not meet the 2.5 in" in the_fault(tmp_path, section_beside('"3 in"', "42"))
    assert len(read_catalogue(written(tmp_path, section_beside('"3 in"', "44"))).sections) == 2
    assert len(read_catalogue(written(tmp_path, section_beside('"2 1/2 in"', "42"))).sections) == 2
