"""Facts of the job that decide which limits bind.  They are asked, never assumed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

YesNo = Literal["yes", "no"]
#: What a limit may depend on.
FactName = Literal[
    "egress_door",  # is the door the required egress door: yes, no
    "works",  # new, existing
    "space_limited",  # does lack of space force a steeper slope on an existing site: yes, no
    "building",  # house, dwelling_unit, other
    "dwelling_category",  # 1, 2, 3 (England)
    "occupants",  # fewer_than_50, 50_and_more
    "door_swing",  # in, out: known from the start
    "runs",  # one, two, three_and_more: known from the layout
]


@dataclass(frozen=True, slots=True)
class Condition:
    """The limit binds when ``fact`` has one of ``values``."""

    fact: FactName
    values: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class JobFacts:
    """What was answered; ``None`` where nobody was asked (no bound limit depends on it).

    ``space_limited_reason``: the user's words, printed with the finding that rests on them.
    ``closer``, ``latch``: whether the door has a closer and a latch (they enlarge the clearance).
    """

    egress_door: YesNo | None = None
    works: Literal["new", "existing"] | None = None
    space_limited: YesNo | None = None
    space_limited_reason: str = ""
    building: Literal["house", "dwelling_unit", "other"] | None = None
    dwelling_category: Literal["1", "2", "3"] | None = None
    occupants: Literal["fewer_than_50", "50_and_more"] | None = None
    closer: YesNo | None = None
    latch: YesNo | None = None
