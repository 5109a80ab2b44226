"""Straight ramps on level ground: runs, landings and total plan length by rise.

Sources: ADA 2010, 405.2 (slope at most 1:12), 405.6 (rise of a run at most 30 in), 405.7.3
(landings at least 60 in long, top and bottom); the table follows from them by our own
arithmetic, exactly.  Anchor: a textbook exercise on a door 8 ft up at 1 in to the foot answers
96 ft; it leaves out the landings, with which the ramp is 121 ft long.
Tolerance: 1e-9 ft (rounding).
"""

from __future__ import annotations

import pytest

from optimizer.brief.site import DisplayUnits
from optimizer.rough.build_limits import build_rough_limits
from optimizer.rough.question import Estimate, RoughLimits, RoughQuestion
from optimizer.rough.shapes import RoughShape, find_shapes
from optimizer.rulebook.read_rule_set import read_rule_set

INCH = 0.0254
FOOT = 0.3048


def _straight(rise_in: float, limits: RoughLimits) -> RoughShape:
    question = RoughQuestion(
        rise_m=Estimate(rise_in * INCH, 0.0),
        fall_out=Estimate(0.0, 0.0),
        fall_along=Estimate(0.0, 0.0),
        depth_m=None,
        width_m=None,
        drop_m=0.0,
        display=DisplayUnits("ft-in", INCH / 8),
    )
    (straight,) = [shape for shape in find_shapes(question, limits) if shape.name == "straight out"]
    assert isinstance(straight, RoughShape)
    return straight


@pytest.mark.parametrize(
    ("rise_in", "runs", "between", "run_ft", "total_ft"),
    [
        (6, 1, 0, 6, 16),
        (24, 1, 0, 24, 34),
        (30, 1, 0, 30, 40),
        (31, 2, 1, 31, 46),
        (48, 2, 1, 48, 63),
        (60, 2, 1, 60, 75),
        (61, 3, 2, 61, 81),
        (96, 4, 3, 96, 121),
    ],
)
def test_the_straight_ramp_of_each_rise(
    rise_in: int, runs: int, between: int, run_ft: int, total_ft: int
) -> None:
    shape = _straight(rise_in, build_rough_limits(read_rule_set("ada-2010")))
    assert (shape.runs, shape.landings) == (runs, between)
    assert shape.run_plan_m / FOOT == pytest.approx(run_ft, abs=1e-9)
    assert shape.total_plan_m / FOOT == pytest.approx(total_ft, abs=1e-9)


@pytest.mark.parametrize(
    ("rise_in", "runs"), [(29.99, 1), (30.0, 1), (30.01, 2), (59.99, 2), (60.0, 2), (60.01, 3)]
)
def test_a_run_ends_exactly_at_the_limit_of_its_rise(rise_in: float, runs: int) -> None:
    assert _straight(rise_in, build_rough_limits(read_rule_set("ada-2010"))).runs == runs
