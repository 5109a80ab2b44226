"""Why one option costs more than another: the price lines that differ, and by how much."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from optimizer.plan import Candidate, PriceLine


@dataclass(frozen=True, slots=True)
class LineDifference:
    """One line of either: counts and sums in both, and how many cents the second is dearer by."""

    group: Literal["direct", "added"]
    part: str
    name: str
    first_count: int
    second_count: int
    first_cents: int
    second_cents: int

    @property
    def more_cents(self) -> int:
        """Second less first."""
        return self.second_cents - self.first_cents


def list_differences(first: Candidate, second: Candidate) -> tuple[LineDifference, ...]:
    """Lines whose sums differ, the largest difference first; together the difference of the totals."""
    mine, theirs = _by_part(first), _by_part(second)
    found = []
    for key in dict.fromkeys((*mine, *theirs)):
        a, b = mine.get(key), theirs.get(key)
        named = a or b
        if named is None or (a is not None and b is not None and a.total_cents == b.total_cents):
            continue
        found.append(
            LineDifference(
                group=named.group,
                part=named.part,
                name=named.name,
                first_count=0 if a is None else a.count,
                second_count=0 if b is None else b.count,
                first_cents=0 if a is None else a.total_cents,
                second_cents=0 if b is None else b.total_cents,
            )
        )
    return tuple(sorted(found, key=lambda one: (-abs(one.more_cents), one.part)))


def _by_part(candidate: Candidate) -> dict[tuple[str, str], PriceLine]:
    return {(line.group, line.part): line for line in candidate.price_lines}
