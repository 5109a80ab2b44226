"""The low end: pads where the ground asks for one, and how much a pad evens out."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.standards.damage import (
    box_at,
    change_yard,
    failed_clauses,
    find_failed,
    with_zone,
)
from tests.standards.ramp_on_a_plane import build_ramp
from tests.standards.rulings_by_hand import rules_of, with_rules

RAMP, CASE = build_ramp()


def test_a_steep_place_beyond_the_tip_needs_a_pad() -> None:
    bare, case = build_ramp(gradient=(0.0, -0.024), slope=1.0 / 12.0)
    assert failed_clauses(bare, case) == {"build.pad", "405.7.1"}
    assert failed_clauses(*build_ramp(gradient=(0.0, -0.024), slope=1.0 / 12.0, pad=True)) == set()


def test_ground_across_the_tip_needs_a_pad_even_where_the_slope_would_do() -> None:
    """Half of 1.05 m at 1.35 % is 7.1 mm, more than the lip of 6.35 mm; 1.35 % is less than 1:48."""
    bare, case = build_ramp(gradient=(0.0135, 0.0))
    assert failed_clauses(bare, case) == {"build.pad", "303.2", "build.plate_above_ground"}


def test_a_pad_is_not_dug_under_a_tree() -> None:
    candidate, case = build_ramp(pad=True)
    space = np.array(candidate.toe.bottom_space_m).mean(axis=0)
    assert failed_clauses(candidate, with_zone(case, "drip_line", box_at(tuple(space), 0.1))) == {"build.pad"}
    bare, case = build_ramp()
    assert failed_clauses(bare, with_zone(case, "drip_line", box_at(tuple(space), 0.1))) == set()


@pytest.mark.parametrize(("most_m", "expected"), [(0.02439, set()), (0.02438, {"build.pad"})])
def test_a_pad_evens_out_only_so_much(most_m: float, expected: set[str]) -> None:
    """The farthest corner of the space lies 1.524 x 0.012 + 0.762 x 0.008 = 24.384 mm below the tip."""
    candidate, case = build_ramp(pad=True)
    pads = tuple(replace(pad, greatest_level_difference_m=most_m) for pad in case.catalogue.bottom_pads)
    case = replace(case, catalogue=replace(case.catalogue, bottom_pads=pads))
    assert failed_clauses(candidate, case) == expected


def test_the_tip_lies_on_the_ground_to_a_millimetre() -> None:
    for sunk_m, expected in ((0.0009, set()), (0.0015, {"build.tip"})):
        ground = replace(CASE.ground, triangles_z=CASE.ground.triangles_z - sunk_m)
        assert failed_clauses(RAMP, replace(CASE, ground=ground)) & {"build.tip"} == expected


def test_the_way_to_the_destination_is_stated_where_there_is_one() -> None:
    assert failed_clauses(RAMP, change_yard(CASE, destination_m=None)) == {"build.toe"}
    toe = RAMP.toe.model_copy(update={"to_destination_m": None})
    assert failed_clauses(RAMP.model_copy(update={"toe": toe}), CASE) == {"build.toe"}


def test_a_pad_carries_the_whole_bottom_space() -> None:
    candidate, case = build_ramp(pad=True)
    limits = tuple(
        replace(limit, value=1.61, unit="m", value_si=1.61) if limit.quantity == "landing_length" else limit
        for limit in rules_of(case).limits
    )
    found = find_failed(candidate, with_rules(case, replace(rules_of(case), limits=limits)))
    assert "smaller than the bottom space" in next(f.text for f in found if f.clause == "build.pad")
