"""How a rule set file is written; its published JSON Schema."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from optimizer.rulebook.limit_entry import Known, LimitEntry
from optimizer.rulebook.rules import Quantity, RuleSet, Tolerance
from optimizer.toml_model import FileModel, ListOf, Text, Unit, format_schema


class ToleranceEntry(FileModel):
    """``[[tolerance]]``: what a text grants to building, in words; it widens no limit."""

    quantity: Quantity = Field(description="what it speaks of")
    text: Text = Field(description="what it grants or advises, in a few words")
    source: Text = Field(description="where it can be read")
    how_known: Known = Field(description="text, restated or memory")

    def build(self) -> Tolerance:
        """The tolerance."""
        return Tolerance(self.quantity, self.text, self.source, self.how_known)


class RuleSetFile(FileModel):
    """A whole rule set file."""

    id: Text = Field(description="the rule set's own id")
    title: Text = Field(description="title of the document")
    edition: Text = Field(description="its edition, in quotes")
    unit: Unit = Field(description="the document's own unit of length, one for the whole file")
    statement: Text = Field(description="what a layout without a failed finding may be said to be")
    not_checked: ListOf[Text] = Field(description="what of the document is not looked at")
    limit: Annotated[ListOf[LimitEntry], Field(min_length=1)] = Field(
        description="the limits, one table each"
    )
    tolerance: ListOf[ToleranceEntry] = Field(default=(), description="what is granted to building")

    def build(self) -> RuleSet:
        """The rule set."""
        return RuleSet(
            id=self.id,
            title=self.title,
            edition=self.edition,
            limits=tuple(entry.build(self.unit) for entry in self.limit),
            not_checked=self.not_checked,
            statement=self.statement.strip(),
            tolerances=tuple(entry.build() for entry in self.tolerance),
        )


def rule_set_schema() -> str:
    """The JSON Schema of a rule set file, as text."""
    return format_schema(RuleSetFile)
