"""Which sections add up to a length: the sums an estimator tries on the back of an envelope.

Exact: lengths are whole ticks, 8,000 to the millimetre, so that 1/64 in, 0.1 in and
0.01 ft are whole numbers and two ways of writing a length never differ in the last digit.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from optimizer.errors import Fault, InputError

#: Ticks in one millimetre: 1/64 in is 3,175 of them, 0.1 in 20,320, 0.01 ft 24,384.
TICKS_PER_MM: Final = 8000
#: More sums than this help nobody; the pieces are too short for the length.
MOST_SUMS: Final = 100_000


@dataclass(frozen=True, slots=True)
class SectionSum:
    """How many pieces of each length, in the order in which the lengths were given."""

    counts: tuple[int, ...]

    @property
    def pieces(self) -> int:
        """Number of pieces in all."""
        return sum(self.counts)


def find_section_combinations(lengths: Sequence[int], total: int) -> tuple[SectionSum, ...]:
    """Every way to make ``total`` from pieces of ``lengths``, fewest pieces first.

    All in one whole unit (ticks, or whole inches).  Order along the run does not count.
    Empty when there is no exact sum.  Raises ``InputError`` for a length that is not
    positive or given twice, and when there are more than ``MOST_SUMS`` sums.
    """
    faults = [
        Fault("lengths", f"the length {length} is not positive.", "Give whole lengths above zero.")
        for length in lengths
        if length <= 0
    ]
    if len(set(lengths)) < len(lengths):
        faults.append(Fault("lengths", "a length is given twice.", "Give each length once."))
    if not lengths:
        faults.append(Fault("lengths", "no length is given.", "Give at least one."))
    if total <= 0:
        faults.append(Fault("total", f"the total {total} is not positive.", "Give a total above zero."))
    if faults:
        raise InputError(*faults)
    sums: list[SectionSum] = []
    for counts in _count_up(tuple(lengths), total):
        sums.append(SectionSum(counts))
        if len(sums) > MOST_SUMS:
            raise InputError(
                Fault(
                    "total",
                    f"there are more than {MOST_SUMS} sums for {total}.",
                    "Leave out the shortest lengths.",
                )
            )
    # Equal numbers of pieces: more of the first length first.
    return tuple(sorted(sums, key=lambda found: (found.pieces, tuple(-count for count in found.counts))))


def _count_up(lengths: tuple[int, ...], total: int) -> Iterator[tuple[int, ...]]:
    if len(lengths) == 1:
        if total % lengths[0] == 0:
            yield (total // lengths[0],)
        return
    for count in range(total // lengths[0] + 1):
        for rest in _count_up(lengths[1:], total - count * lengths[0]):
            yield (count, *rest)


def count_ticks(length_m: float) -> int:
    """A typed length in whole ticks.

    Raises ``InputError`` when the length is no whole number of ticks (finer than 1/8000 mm
    or 1/64 in: a computed length, not a typed one).
    """
    ticks = Fraction(repr(float(length_m))) * 1000 * TICKS_PER_MM
    # A typed length is exact to the last decimal of its float; metres hold 0.1 in as 0.00254.
    nearest = round(ticks)
    if abs(ticks - nearest) > Fraction(1, 1000):
        raise InputError(
            Fault("length", f"{length_m!r} m is no whole number of 1/8000 mm.", "Give the length as typed.")
        )
    return nearest
