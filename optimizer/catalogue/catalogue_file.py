"""How a catalogue file is written as a whole."""

from __future__ import annotations

from typing import Annotated, Final

from pydantic import Field

from optimizer.catalogue.deck_entries import (
    BottomPadEntry,
    LandingEntry,
    SectionEntry,
    ThresholdPlateEntry,
    TransitionPlateEntry,
)
from optimizer.catalogue.fastener_entries import FastenerEntry
from optimizer.catalogue.part_entries import CurrencyCode, PartId
from optimizer.catalogue.step_entries import StepFlightEntry
from optimizer.catalogue.support_entries import (
    BraceEntry,
    FootEntry,
    LegEntry,
    LowSupportEntry,
    RailEndEntry,
    RailPanelEntry,
    RailPostEntry,
)
from optimizer.toml_model import FileModel, LengthFromZero, ListOf, Text, Unit

#: Keys of the ``[[...]]`` tables, in the order of ``Catalogue``.
PART_TABLES: Final = (
    "foot",
    "brace",
    "leg",
    "low_support",
    "rail_panel",
    "rail_post",
    "rail_end",
    "section",
    "landing",
    "transition_plate",
    "threshold_plate",
    "bottom_pad",
    "step_flight",
)
#: Counted, never priced, chosen or kept in stock, so no part; its ids are unique among those of parts.
FASTENER_TABLE: Final = "fastener"


class CatalogueFile(FileModel):
    """A whole catalogue file."""

    id: PartId = Field(description="the catalogue's own id")
    name: Text = Field(description="the catalogue's name")
    currency: CurrencyCode = Field(description='three capital letters of ISO 4217, such as "USD"')
    unit: Unit = Field(description='the unit of bare lengths, such as "in" or "mm"')
    clearance: LengthFromZero = Field(description="frame underside above the ground")
    low_clearance: LengthFromZero = Field(description="the same for the last section of a ramp")
    piece_gap: LengthFromZero = Field(description="free width between parallel pieces")
    foot: ListOf[FootEntry] = ()
    brace: ListOf[BraceEntry] = ()
    leg: ListOf[LegEntry] = ()
    low_support: ListOf[LowSupportEntry] = ()
    rail_panel: ListOf[RailPanelEntry] = ()
    rail_post: ListOf[RailPostEntry] = ()
    rail_end: ListOf[RailEndEntry] = ()
    section: ListOf[SectionEntry] = ()
    landing: ListOf[LandingEntry] = ()
    transition_plate: ListOf[TransitionPlateEntry] = ()
    threshold_plate: ListOf[ThresholdPlateEntry] = ()
    bottom_pad: ListOf[BottomPadEntry] = ()
    step_flight: ListOf[StepFlightEntry] = ()
    fastener: ListOf[FastenerEntry] = ()
    stock: dict[str, Annotated[int, Field(ge=0)]] = Field(
        default_factory=dict, description="part id = how many there are; parts not named are not limited"
    )
