"""Read a rates file: every fault at once, or checked ``Rates``."""

from __future__ import annotations

import datetime
from pathlib import Path
from typing import Annotated

from pydantic import Field

from optimizer.catalogue.part_entries import CurrencyCode, PartId
from optimizer.catalogue.rates import Rates
from optimizer.toml_file import read_toml
from optimizer.toml_model import FileModel, Money, Text, check_model, format_schema

Percent = Annotated[float, Field(ge=0.0, le=100.0)]


class RatesFile(FileModel):
    """A whole rates file."""

    id: PartId = Field(description="the rates' own id")
    currency: CurrencyCode = Field(description='three capital letters of ISO 4217, such as "USD"')
    dated: datetime.date = Field(description="the day the rates were set, such as 2026-03-01")
    version: Text = Field(description="which issue of the rates this is, in quotes")
    labour_per_hour: Money = Field(description="one person for one hour")
    delivery_flat: Money = Field(description="delivery of one job whatever its mass")
    delivery_per_kg: Money = Field(description="delivery of one kilogram on top")
    overhead_percent: Percent = Field(description="overhead on the direct cost, in percent")
    tax_percent: Percent = Field(description="tax on the price, in percent")


def read_rates(path: Path) -> Rates:
    """Read rates (TOML; JSON Schema: ``rates_schema``).

    Raises ``InputError`` with all faults of the file, each with line, value and remedy.
    """
    file = check_model(read_toml(path), RatesFile, None)
    return Rates(
        id=file.id,
        currency=file.currency,
        dated=file.dated,
        version=file.version,
        labour_per_hour_cents=file.labour_per_hour,
        delivery_flat_cents=file.delivery_flat,
        delivery_per_kg_cents=file.delivery_per_kg,
        overhead_percent=file.overhead_percent,
        tax_percent=file.tax_percent,
    )


def rates_schema() -> str:
    """The JSON Schema of a rates file, as text."""
    return format_schema(RatesFile)
