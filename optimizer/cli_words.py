"""The words of the command line: exit codes, and options that take one of a few words."""

from __future__ import annotations

from enum import IntEnum, StrEnum


class Exit(IntEnum):
    """What the exit code says."""

    ALLOWED = 0
    ALL_FAIL = 1
    NO_LAYOUT = 2
    BAD_INPUT = 3
    INTERNAL = 4
    INTERRUPTED = 130


class Pictures(StrEnum):
    """Which pictures a plan gets."""

    ALL = "all"
    NONE = "none"


class Switch(StrEnum):
    """Whether something more is worked out."""

    ON = "on"
    OFF = "off"


class Pages(StrEnum):
    """How a result is printed."""

    TEXT = "text"
    JSON = "json"


class SheetUnit(StrEnum):
    """Unit of a blank visit sheet."""

    M = "m"
    FT = "ft"


class SchemaName(StrEnum):
    """Files with a published schema."""

    SITE = "site"
    CATALOGUE = "catalogue"
    RATES = "rates"
    RULES = "rules"
    LAYOUT = "layout"
    PLAN = "plan"
    GROUND = "ground"
    REPORT = "report"
