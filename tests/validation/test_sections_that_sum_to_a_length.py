"""The four ways to make 348 in of sloped surface from 116 in and 58 in pieces.

Source: Metropolitan Center for Independent Living (St Paul) with the Minnesota Division of
Rehabilitation Services, public home-ramp manual, p. 18: 29 ft of sloped surface, 'two 116"
modules and two 58" modules ... (other combinations are possible)'.
The manual names one combination; that there are exactly four, and which, is our own count.
Tolerance: none, whole numbers.
"""

from __future__ import annotations

import itertools

import pytest

from optimizer.errors import InputError
from optimizer.estimate.section_sums import TICKS_PER_MM, count_ticks, find_section_combinations
from optimizer.units import parse_length


def test_348_in_is_made_of_116_and_58_in_pieces_in_exactly_four_ways() -> None:
    sums = find_section_combinations((116, 58), 348)
    assert [found.counts for found in sums] == [(3, 0), (2, 2), (1, 4), (0, 6)]


def test_the_combination_that_the_manual_prints_is_found_from_typed_lengths() -> None:
    lengths = tuple(count_ticks(parse_length(text, None, "test")) for text in ("116 in", "4' 10\""))
    total = count_ticks(parse_length("29 ft", None, "test"))
    assert (2, 2) in [found.counts for found in find_section_combinations(lengths, total)]


def test_one_sixty_fourth_more_has_no_sum() -> None:
    tick = 25.4 / 64 * TICKS_PER_MM
    assert tick == 3175
    lengths = (count_ticks(116 * 0.0254), count_ticks(58 * 0.0254))
    total = count_ticks(348 * 0.0254)
    assert find_section_combinations(lengths, total) != ()
    assert find_section_combinations(lengths, total + 3175) == ()
    assert find_section_combinations(lengths, total - 1) == ()


@pytest.mark.parametrize("total", [1, 7, 30, 61])
def test_all_sums_agree_with_trying_every_count(total: int) -> None:
    lengths = (4, 7, 9)
    tried = {
        counts
        for counts in itertools.product(*(range(total // length + 1) for length in lengths))
        if sum(count * length for count, length in zip(counts, lengths, strict=True)) == total
    }
    found = find_section_combinations(lengths, total)
    assert {one.counts for one in found} == tried
    assert len(found) == len(tried)
    assert [one.pieces for one in found] == sorted(one.pieces for one in found)


def test_wrong_lengths_are_all_named_at_once() -> None:
    with pytest.raises(InputError) as caught:
        find_section_combinations((0, 5, 5, -2), -1)
    assert len(caught.value.faults) == 4


def test_pieces_too_short_for_the_length_are_refused() -> None:
    with pytest.raises(InputError, match="shortest"):
        find_section_combinations((1, 2, 3), 2000)


def test_a_length_finer_than_a_tick_is_refused() -> None:
    with pytest.raises(InputError, match="1/8000"):
        count_ticks(1 / 3)
