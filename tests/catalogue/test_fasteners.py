"""How fasteners are read: data that is counted, with no price and no part in any choice."""

from __future__ import annotations

import json
import tomllib
from dataclasses import replace
from pathlib import Path
from typing import get_args

import jsonschema
import pytest

from optimizer.catalogue.demo_files import DEMO_CATALOGUES, demo_catalogue_path
from optimizer.catalogue.fasteners import ConnectionKind, Fastener
from optimizer.catalogue.read_catalogue import catalogue_schema, read_catalogue
from tests.catalogue.test_read_catalogue import TINY, faults, line_of, the_fault, written

BOLT = """\
[[fastener]]
id = "bolt"
name = "bolt with nut"
size = "M10 x 30"
at = "support"
each = 2
weight_kg = 0.05

[[fastener]]
id = "pin"
name = "pin"
size = "16 mm"
at = "plate_hinge"
each = 1

[stock]
"""


def with_bolts(old: str = "[[fastener]]", new: str = "[[fastener]]") -> str:
    """``TINY`` with both fasteners, the first ``old`` of them replaced."""
    assert old in BOLT
    return TINY.replace("[stock]\n", BOLT.replace(old, new, 1))


def test_fasteners_are_read_in_file_order_and_may_leave_the_weight_out(tmp_path: Path) -> None:
    assert read_catalogue(written(tmp_path, with_bolts())).fasteners == (
        Fastener("bolt", "bolt with nut", "M10 x 30", "support", 2, 0.05),
        Fastener("pin", "pin", "16 mm", "plate_hinge", 1, None),
    )


def test_a_catalogue_needs_no_fasteners_and_is_otherwise_the_same(tmp_path: Path) -> None:
    without = read_catalogue(written(tmp_path, TINY))
    assert without.fasteners == ()
    assert replace(read_catalogue(written(tmp_path, with_bolts())), fasteners=()) == without


@pytest.mark.parametrize("kind", get_args(ConnectionKind))
def test_every_kind_of_connection_may_be_named(tmp_path: Path, kind: str) -> None:
    text = with_bolts('at = "support"', f'at = "{kind}"')
    assert read_catalogue(written(tmp_path, text)).fasteners[0].at == kind
    jsonschema.validate(tomllib.loads(text), json.loads(catalogue_schema()))


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        (
            'at = "support"',
            'at = "suport"',
            'at = "suport" is not one of the known words. Did you mean "support"?',
        ),
        (
            'at = "support"',
            'at = "zzz"',
            'at = "zzz" is not one of the known words. Use one of: landing_edge, ',
        ),
        ("each = 2", "each = 0", "each = 0 must be at least 1. Correct the number."),
        ("each = 2", "each = -4", "each = -4 must be at least 1. Correct the number."),
        ("each = 2", "each = 2.5", "each = 2.5 is not a whole number. Write a whole number."),
        ("each = 2", 'each = "2"', 'each = "2" is not a whole number. Write a whole number.'),
        ("each = 2", "each = true", "each = true is not a whole number. Write a whole number."),
        ('size = "M10 x 30"', 'size = ""', 'size = "" is empty. Write a text.'),
        ('size = "M10 x 30"', "size = 10", "size = 10 is not a text. Write it in quotes."),
        ("weight_kg = 0.05", "weight_kg = 0", "weight_kg = 0 must be above 0. Correct the number."),
        ("weight_kg = 0.05", 'price = "0.40"', 'the key "price" is not known.'),
    ],
)
def test_a_fastener_with_a_fault_is_refused_by_line_value_and_remedy(
    tmp_path: Path, old: str, new: str, says: str
) -> None:
    text = with_bolts(old, new)
    assert the_fault(tmp_path, text).startswith(f'{line_of(text, new)}: fastener "bolt": {says}')
    validator = jsonschema.Draft202012Validator(json.loads(catalogue_schema()))
    assert not validator.is_valid(tomllib.loads(text))


@pytest.mark.parametrize("key", ["id", "name", "size", "at", "each"])
def test_a_fastener_without_a_key_it_needs_is_refused(tmp_path: Path, key: str) -> None:
    line = next(line for line in BOLT.splitlines() if line.startswith(f"{key} = "))
    assert f'the key "{key}" is missing. Add it: ' in the_fault(tmp_path, with_bolts(f"{line}\n", ""))


@pytest.mark.parametrize(
    ("repeated", "owner", "owner_line"),
    [("bolt", "fastener", 'id = "bolt"'), ("leg", "leg", 'id = "leg"')],
)
def test_a_repeated_id_is_refused_with_the_line_of_the_first(
    tmp_path: Path, repeated: str, owner: str, owner_line: str
) -> None:
    text = with_bolts('id = "pin"', f'id = "{repeated}"')
    last = text.count("\n", 0, text.rindex(f'id = "{repeated}"')) + 1
    assert the_fault(tmp_path, text) == (
        f'{last}: fastener "{repeated}": the id is already that of the {owner} in line '
        f"{line_of(text, owner_line)}. Give every part and fastener its own id."
    )


def test_a_fastener_is_not_kept_in_stock(tmp_path: Path) -> None:
    text = with_bolts("[stock]\n", "[stock]\nbolt = 40\n")
    assert the_fault(tmp_path, text) == (
        f'{line_of(text, "bolt = 40")}: stock: "bolt" is a fastener, and fasteners are counted, '
        "not limited. Take it out of the stock."
    )


def test_all_faults_of_a_fastener_come_at_once(tmp_path: Path) -> None:
    text = with_bolts('at = "support"\neach = 2', 'at = "leg"\neach = 0')
    assert len(faults(tmp_path, text)) == 2


def test_fasteners_alone_are_no_catalogue(tmp_path: Path) -> None:
    top = TINY[: TINY.index("[[foot]]")]
    text = top + BOLT.replace("[stock]\n", "")
    assert "the catalogue is empty" in the_fault(tmp_path, text)


@pytest.mark.parametrize("demo_id", DEMO_CATALOGUES)
def test_fasteners_are_no_parts(demo_id: str) -> None:
    catalogue = read_catalogue(demo_catalogue_path(demo_id))
    assert not {one.id for one in catalogue.fasteners} & {part.id for part in catalogue.parts()}


def test_two_demo_catalogues_have_fasteners_and_one_has_none() -> None:
    counts = {one: len(read_catalogue(demo_catalogue_path(one)).fasteners) for one in DEMO_CATALOGUES}
    assert counts["demo-gap"] == 0
    assert counts["demo-inch"] > 0
    assert counts["demo-millimetre"] > 0
