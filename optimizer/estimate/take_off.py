"""The take-off of one candidate of a saved plan: every part counted once, with the ids of what uses it.

Counted from the pieces, legs and rails of the plan, not from its price lines: the two must agree.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from optimizer.catalogue.parts import Catalogue, Part
from optimizer.errors import Fault, InputError
from optimizer.plan import SETBACK_RELIEF, Candidate, PriceLine

#: Groups in the order in which they are listed; sections and landings first, as a person walks.
GROUPS: Final = (
    "section",
    "landing",
    "threshold plate",
    "transition plate",
    "leg",
    "low support",
    "foot",
    "brace",
    "rail panel",
    "rail post",
    "end loop",
    "rail infill",
    "inner loop",
    "steps",
    "bottom pad",
)
_RAIL_GROUPS: Final = {
    "panel": "rail panel",
    "post": "rail post",
    "end": "end loop",
    "infill": "rail infill",
    "inner_loop": "inner loop",
}


@dataclass(frozen=True, slots=True)
class TakeOffLine:
    """``len(items)`` of one part.  ``detail``: a landing's use, a leg's setting, else empty.

    ``unit_cents`` is price and labour of one, as the plan has it.
    """

    group: str
    part: Part
    detail: str
    items: tuple[str, ...]
    unit_cents: int

    @property
    def count(self) -> int:
        """How many."""
        return len(self.items)

    @property
    def weight_kg(self) -> float:
        """Of all of them."""
        return self.count * self.part.weight_kg

    @property
    def total_cents(self) -> int:
        """Price and labour of all of them."""
        return self.count * self.unit_cents


@dataclass(frozen=True, slots=True)
class TakeOff:
    """Lines by group, then in catalogue order; ``relief_cents``: asking for relief from the setback."""

    lines: tuple[TakeOffLine, ...]
    relief_cents: int

    @property
    def direct_cents(self) -> int:
        """Sum of all lines and the relief: the plan's direct cost."""
        return sum(line.total_cents for line in self.lines) + self.relief_cents

    @property
    def weight_kg(self) -> float:
        """Of everything counted."""
        return sum(line.weight_kg for line in self.lines)

    def count(self, group: str) -> int:
        """How many of one of ``GROUPS``."""
        return sum(line.count for line in self.lines if line.group == group)


@dataclass(frozen=True, slots=True)
class _Use:
    group: str
    part_id: str
    detail: str
    item: str


def build_take_off(candidate: Candidate, catalogue: Catalogue) -> TakeOff:
    """Count a candidate's parts.

    Raises ``InputError`` with every part that the catalogue does not have, every count that the
    plan's price lines have otherwise, and a direct cost that is not the sum of the lines.
    """
    parts = {part.id: part for part in catalogue.parts()}
    used: dict[tuple[str, str, str], list[str]] = {}
    for use in _list_uses(candidate):
        used.setdefault((use.group, use.part_id, use.detail), []).append(use.item)
    priced = {line.part: line for line in candidate.price_lines if line.group == "direct"}
    relief = priced.pop(SETBACK_RELIEF, None)
    faults = [*_find_unknown(candidate, used, parts), *_find_miscounts(candidate, used, priced)]
    if faults:
        raise InputError(*faults)
    order = {part_id: place for place, part_id in enumerate(parts)}
    keys = sorted(used, key=lambda key: (GROUPS.index(key[0]), order[key[1]], key[2]))
    take_off = TakeOff(
        tuple(
            TakeOffLine(group, parts[part_id], detail, tuple(used[group, part_id, detail]), unit)
            for group, part_id, detail in keys
            for unit in (priced[part_id].unit_cents,)
        ),
        0 if relief is None else relief.total_cents,
    )
    if take_off.direct_cents != candidate.direct_cost_cents:
        what = f"its lines sum to {take_off.direct_cents} cents, its direct cost is"
        raise InputError(
            Fault(
                f"plan, candidate {candidate.name}",
                f"{what} {candidate.direct_cost_cents} cents.",
                "Plan the site again; do not edit prices by hand.",
            )
        )
    return take_off


def _list_uses(candidate: Candidate) -> Iterator[_Use]:
    for piece in candidate.pieces:
        detail = piece.use or "" if piece.kind == "landing" else ""
        yield _Use(piece.kind.replace("_", " "), piece.catalogue_id, detail, piece.id)
    for leg in candidate.legs:
        yield _Use(leg.kind.replace("_", " "), leg.leg_type, leg.setting, leg.id)
        yield _Use("foot", leg.foot, "", leg.id)
        if leg.brace is not None:
            yield _Use("brace", leg.brace, "", leg.id)
    for rail in candidate.rails:
        yield _Use(_RAIL_GROUPS[rail.kind], rail.catalogue_id, "", rail.id)


def _find_unknown(
    candidate: Candidate, used: dict[tuple[str, str, str], list[str]], parts: dict[str, Part]
) -> Iterator[Fault]:
    for part_id in dict.fromkeys(key[1] for key in used if key[1] not in parts):
        yield Fault(
            f"plan, candidate {candidate.name}",
            f'the part "{part_id}" is not in the catalogue.',
            "Use the catalogue that the plan was made with.",
        )


def _find_miscounts(
    candidate: Candidate, used: dict[tuple[str, str, str], list[str]], priced: dict[str, PriceLine]
) -> Iterator[Fault]:
    counts: dict[str, int] = {}
    for (_, part_id, _), items in used.items():
        counts[part_id] = counts.get(part_id, 0) + len(items)
    for part_id in dict.fromkeys((*counts, *priced)):
        counted, line = counts.get(part_id, 0), priced.get(part_id)
        if line is None or line.count != counted:
            yield Fault(
                f"plan, candidate {candidate.name}",
                f'{counted} of "{part_id}" stand in it and {0 if line is None else line.count} are priced.',
                "Plan the site again; do not edit the plan by hand.",
            )
