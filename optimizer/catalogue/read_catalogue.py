"""Read a catalogue file: every fault at once, or a checked ``Catalogue``."""

from __future__ import annotations

from pathlib import Path

from optimizer.catalogue.catalogue_file import CatalogueFile
from optimizer.catalogue.check_catalogue import catalogue_faults
from optimizer.catalogue.parts import Catalogue, StockLevel
from optimizer.errors import InputError
from optimizer.toml_file import read_toml
from optimizer.toml_model import format_schema, in_file_order, known_unit, model_or_faults


def read_catalogue(path: Path) -> Catalogue:
    """Read a catalogue (TOML; JSON Schema: ``catalogue_schema``).

    Raises ``InputError`` with all faults of the file, each with line, value and remedy.
    """
    file = read_toml(path)
    unit = known_unit(file)
    model, faults = model_or_faults(file, CatalogueFile, unit)
    faults += catalogue_faults(file, unit)
    if model is None or faults:
        raise InputError(*in_file_order(file, faults))
    return _catalogue(model)


def catalogue_schema() -> str:
    """The JSON Schema of a catalogue file, as text."""
    return format_schema(CatalogueFile)


def _catalogue(file: CatalogueFile) -> Catalogue:
    return Catalogue(
        id=file.id,
        name=file.name,
        currency=file.currency,
        clearance_m=file.clearance,
        low_clearance_m=file.low_clearance,
        piece_gap_m=file.piece_gap,
        feet=tuple(entry.build() for entry in file.foot),
        braces=tuple(entry.build() for entry in file.brace),
        legs=tuple(entry.build() for entry in file.leg),
        low_supports=tuple(entry.build() for entry in file.low_support),
        rail_panels=tuple(entry.build() for entry in file.rail_panel),
        rail_posts=tuple(entry.build() for entry in file.rail_post),
        rail_ends=tuple(entry.build() for entry in file.rail_end),
        sections=tuple(entry.build() for entry in file.section),
        landings=tuple(entry.build() for entry in file.landing),
        transition_plates=tuple(entry.build() for entry in file.transition_plate),
        threshold_plates=tuple(entry.build() for entry in file.threshold_plate),
        bottom_pads=tuple(entry.build() for entry in file.bottom_pad),
        step_flights=tuple(entry.build() for entry in file.step_flight),
        stock=tuple(StockLevel(part, count) for part, count in file.stock.items()),
        fasteners=tuple(entry.build() for entry in file.fastener),
    )
