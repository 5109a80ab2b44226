import datetime
import json
import tomllib
from pathlib import Path

import jsonschema
import pytest

from optimizer.catalogue.demo_files import DEMO_CATALOGUES, DEMO_RATES, demo_catalogue_path, demo_rates_path
from optimizer.catalogue.parts import Brace
from optimizer.catalogue.rates import Rates, part_cost_cents
from optimizer.catalogue.read_catalogue import read_catalogue
from optimizer.catalogue.read_rates import rates_schema, read_rates
from optimizer.errors import InputError

RATES = """\
id = "mine"
currency = "USD"
dated = 2026-02-14
version = "3"
labour_per_hour = "64.50"
delivery_flat = 150
delivery_per_kg = "0.35"
overhead_percent = 12
tax_percent = 7.25
"""


def written(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "rates.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_rates_are_read_in_whole_cents(tmp_path: Path) -> None:
    assert read_rates(written(tmp_path, RATES)) == Rates(
        id="mine",
        currency="USD",
        dated=datetime.date(2026, 2, 14),
        version="3",
        labour_per_hour_cents=6450,
        delivery_flat_cents=15000,
        delivery_per_kg_cents=35,
        overhead_percent=12.0,
        tax_percent=7.25,
    )


@pytest.mark.parametrize(
    ("old", "new", "line", "says"),
    [
        ("2026-02-14", '"2026-02-14"', 3, "is not a date. Write it as 2026-03-01, without quotes"),
        ("2026-02-14", "2026-02-14T08:00:00", 3, "is not a date"),
        ('"3"', "3", 4, "version = 3 is not a text"),
        ('"64.50"', '"-64.50"', 5, "must be at least 0"),
        ("150", '"150.001"', 6, "fraction of a cent"),
        ("overhead_percent = 12", "overhead_percent = 101", 8, "must be at most 100"),
        ("tax_percent = 7.25", "tax_percent = -1", 9, "must be at least 0"),
        ("tax_percent", "tax_percents", 9, 'Did you mean "tax_percent"?'),
        ("USD", "dollar", 2, "not in the form of a currency code"),
        ("delivery_flat = 150", "delivery_flat = [150]", 6, "[150] is not an amount of money"),
    ],
)
def test_a_fault_in_rates_is_refused_with_line_value_and_remedy(
    tmp_path: Path, old: str, new: str, line: int, says: str
) -> None:
    with pytest.raises(InputError) as caught:
        read_rates(written(tmp_path, RATES.replace(old, new, 1)))
    assert any(fault.where.endswith(f":{line}") and says in str(fault) for fault in caught.value.faults)


def test_every_key_of_rates_that_is_missing_is_named_at_once(tmp_path: Path) -> None:
    with pytest.raises(InputError) as caught:
        read_rates(written(tmp_path, 'id = "mine"\n'))
    assert len(caught.value.faults) == 8
    assert all("is missing" in fault.what for fault in caught.value.faults)


@pytest.mark.parametrize("demo_id", DEMO_RATES)
def test_demo_rates_are_dated_and_obey_the_published_schema(demo_id: str) -> None:
    rates = read_rates(demo_rates_path(demo_id))
    assert (rates.id, rates.dated) == (demo_id, datetime.date(2026, 3, 1))
    schema = json.loads(rates_schema())
    jsonschema.Draft202012Validator.check_schema(schema)
    values = tomllib.loads(demo_rates_path(demo_id).read_text(encoding="utf-8"))
    jsonschema.validate({**values, "dated": values["dated"].isoformat()}, schema)


def test_there_are_demo_rates_for_the_currency_of_every_demo_catalogue() -> None:
    currencies = {read_rates(demo_rates_path(demo_id)).currency for demo_id in DEMO_RATES}
    assert {
        read_catalogue(demo_catalogue_path(demo_id)).currency for demo_id in DEMO_CATALOGUES
    } == currencies


@pytest.mark.parametrize(
    ("minutes", "hourly_cents", "labour_cents"),
    [(0.0, 6000, 0), (1.0, 6000, 100), (1.0, 30, 1), (1.0, 29, 0), (1.0, 90, 2), (7.0, 6450, 753)],
)
def test_labour_is_rounded_half_up_once_for_each_part(
    minutes: float, hourly_cents: int, labour_cents: int
) -> None:
    rates = Rates("r", "USD", datetime.date(2026, 1, 1), "1", hourly_cents, 0, 0, 0.0, 0.0)
    assert part_cost_cents(Brace("b", "b", 1.0, 250, minutes), rates) == 250 + labour_cents
