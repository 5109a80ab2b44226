"""Which parts of a step found in a scan become break lines."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from optimizer.brief.found_steps import choose_lines
from optimizer.terrain.ground import BreakLine

AREA = shapely.box(0.0, 0.0, 10.0, 10.0)
NOTHING = shapely.Point(-50.0, -50.0).buffer(0.1)


def step(*places: tuple[float, float], drop_m: float = 0.2) -> BreakLine:
    xy = np.array(places, dtype=np.float64)
    top = np.linspace(1.0, 2.0, len(xy))
    return BreakLine("step 1", xy, top, top - drop_m, "left")


def test_a_step_from_rim_to_rim_is_cut_where_it_can_run_out_and_the_rest_is_counted() -> None:
    chosen = choose_lines([step((-1.0, 5.0), (5.0, 5.0), (11.0, 5.0))], AREA, NOTHING)
    (line,) = chosen.lines
    assert AREA.contains(shapely.LineString(line.xy_m))
    assert line.xy_m[0, 0] == pytest.approx(0.3 - 0.294, abs=1e-9)
    assert line.xy_m[-1, 0] == pytest.approx(9.7 + 0.294, abs=1e-9)
    assert line.top_m[0] == line.foot_m[0]
    assert np.allclose((line.top_m - line.foot_m)[1:-1], 0.2)
    # Levels along the part are those of the whole line there: 1 to 2 over 12 m.
    assert line.top_m[1] == pytest.approx(1.0 + 1.3 / 12.0)
    assert chosen.left_out_m == pytest.approx(12.0 - (9.4 + 2 * 0.294))


def test_a_levelled_point_in_its_way_parts_a_step_in_two() -> None:
    taken = shapely.Point(5.0, 5.0).buffer(0.3)
    chosen = choose_lines([step((1.0, 5.0), (9.0, 5.0))], AREA, taken)
    assert len(chosen.lines) == 2
    assert len({one.name for one in chosen.lines}) == 2
    for line in chosen.lines:
        assert not taken.intersects(shapely.LineString(line.xy_m))
        assert line.high_side == "left"


def test_a_part_too_short_is_left_out_and_counted() -> None:
    chosen = choose_lines([step((-1.0, 5.0), (1.0, 5.0))], AREA, NOTHING)
    assert chosen.lines == ()
    assert chosen.left_out_m == pytest.approx(2.0)


def test_a_line_whose_ends_nearly_meet_goes_round() -> None:
    chosen = choose_lines([step((2.0, 2.0), (6.0, 2.0), (6.0, 6.0), (2.0, 6.0), (2.0, 2.6))], AREA, NOTHING)
    (line,) = chosen.lines
    assert np.array_equal(line.xy_m[0], line.xy_m[-1])
    assert (line.top_m - line.foot_m).min() == pytest.approx(0.2)


def test_of_two_that_meet_the_longer_stays() -> None:
    chosen = choose_lines([step((1.0, 5.0), (9.0, 5.0)), step((5.0, 5.1), (5.0, 9.0))], AREA, NOTHING)
    assert len(chosen.lines) == 1
    assert shapely.LineString(chosen.lines[0].xy_m).length > 8.0
    assert chosen.left_out_m > 3.0
