"""How rule sets, and the facts they depend on, are written in a site file.

One rule set is a table ``[rules]``, several are ``[[rules]]``, one table each.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Literal

from pydantic import BeforeValidator, Field, GetJsonSchemaHandler, ValidationInfo, field_validator
from pydantic_core import CoreSchema

from optimizer.rulebook.bound import DecidedBy, Role
from optimizer.rulebook.facts import YesNo
from optimizer.rulebook.own_limits import OWN_LIMITS_ID, OwnLimitsEntry
from optimizer.toml_model import FileModel, ListOf, Text, field_fault, shown_value


class RulesTable(FileModel):
    """``[rules]``, or one of several ``[[rules]]``."""

    set: Text = Field(description='id of a rule set, such as "ada-2010", or "own-limits"')
    role: Role = Field(
        default="binding",
        description="binding (the search keeps it), guide or wish (judged and told, never enforced)",
    )
    decided_by: DecidedBy | None = Field(
        default=None, description="who decides on it: authority when it binds, client when not (left out)"
    )
    own: OwnLimitsEntry | None = Field(
        default=None, validate_default=True, description='[rules.own]: the numbers of "own-limits"'
    )

    @field_validator("own")
    @classmethod
    def _own_numbers(cls, own: OwnLimitsEntry | None, info: ValidationInfo) -> OwnLimitsEntry | None:
        rule_set = info.data.get("set")
        if own is None and rule_set == OWN_LIMITS_ID:
            raise field_fault(f'"{OWN_LIMITS_ID}" needs numbers.', "Add [rules.own] with at least steepest.")
        if own is not None and rule_set not in (None, OWN_LIMITS_ID):
            raise field_fault(
                f'the rule set "{rule_set}" has its own numbers.',
                f'Take it out, or write set = "{OWN_LIMITS_ID}".',
            )
        return own

    def find_decider(self) -> DecidedBy:
        """Who decides, said or not."""
        return self.decided_by or ("authority" if self.role == "binding" else "client")


def _as_list(value: object) -> object:
    """``[rules]`` is a list of one."""
    if isinstance(value, Mapping):
        return [value]
    if isinstance(value, list | tuple) and all(isinstance(one, Mapping) for one in value):
        return value
    raise field_fault(
        f"{shown_value(value)} is no table.",
        'Write [rules] with set = "ada-2010" below it, or [[rules]] for each of several.',
    )


class _TableOrTables:
    """JSON Schema of what may be one table or a list of them."""

    @classmethod
    def __get_pydantic_json_schema__(
        cls, core: CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, object]:
        listed = handler(core)
        return {"anyOf": [listed["items"], listed]}


RulesTables = Annotated[ListOf[RulesTable], Field(min_length=1), BeforeValidator(_as_list), _TableOrTables]


def _number_as_text(value: object) -> object:
    """A category is a name that looks like a number; ``2`` and ``"2"`` are the same."""
    return str(value) if isinstance(value, int) and not isinstance(value, bool) else value


def _yes_or_no(value: object) -> object:
    """``true`` is how TOML would say it; a fact may be unknown as well, so it is a word."""
    if isinstance(value, bool):
        word = "yes" if value else "no"
        raise field_fault("it is answered in a word.", f'Write "{word}", with the quotes.')
    return value


Answer = Annotated[YesNo, BeforeValidator(_yes_or_no)]


class FactsTable(FileModel):
    """``[facts]``: what rule sets depend on.  Asked for when one does, and never assumed."""

    egress_door: Answer | None = Field(default=None, description="is the door the required egress door")
    works: Literal["new", "existing"] | None = Field(
        default=None, description="new work, or work on an existing site"
    )
    space_limited: Answer | None = Field(
        default=None, description="does lack of space on an existing site force a steeper slope"
    )
    space_limited_reason: str = Field(
        default="", validate_default=True, description="what takes the space, in your own words"
    )
    building: Literal["house", "dwelling_unit", "other"] | None = Field(
        default=None, description="what the ramp serves"
    )
    dwelling_category: Annotated[Literal["1", "2", "3"], BeforeValidator(_number_as_text)] | None = Field(
        default=None, description="category of the dwelling (England: M4(1), M4(2), M4(3))"
    )
    occupants: Literal["fewer_than_50", "50_and_more"] | None = Field(
        default=None, description="how many people the way serves"
    )
    closer: Answer | None = Field(default=None, description="has the door a closer")
    latch: Answer | None = Field(default=None, description="has the door a latch")

    @field_validator("space_limited")
    @classmethod
    def _of_existing_works(cls, limited: YesNo | None, info: ValidationInfo) -> YesNo | None:
        if limited == "yes" and info.data.get("works") == "new":
            raise field_fault(
                'space_limited = "yes" is of an existing site, and works = "new" says that it is none.',
                'Write works = "existing" if it is one; else space_limited = "no" without a reason.',
            )
        return limited

    @field_validator("space_limited_reason")
    @classmethod
    def _reason_for_less(cls, reason: str, info: ValidationInfo) -> str:
        if "space_limited" not in info.data:
            return reason  # at fault itself
        if info.data["space_limited"] == "yes" and not reason.strip():
            raise field_fault(
                'space_limited = "yes" needs its reason.',
                'Say what takes the space: space_limited_reason = "the street is 4 m from the door".',
            )
        if info.data["space_limited"] != "yes" and reason:
            raise field_fault('it goes with space_limited = "yes" only.', "Take it out, or write that.")
        return reason
