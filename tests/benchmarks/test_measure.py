"""The sums the measurements make of their timings."""

from __future__ import annotations

import pytest

from tests.benchmarks.engine import Solved
from tests.benchmarks.measure import Row, Timing, draw_table, geometric_mean, is_settled

SHAPE = ("front", ("left",))


def row(*seconds: float) -> Row:
    return Row("yards", tuple(Timing("yard", one, is_proven=one < 5, peak_mb=None) for one in seconds))


def solved(status: str, best: int | None, bound: int | None, *, is_shape_proven: bool = True) -> Solved:
    costs = {} if best is None else {SHAPE: best}
    return Solved(1.0, status, best, bound, costs, frozenset(costs) if is_shape_proven else frozenset())


def test_a_row_counts_what_is_proven_and_gives_middle_and_worst() -> None:
    three = row(3.0, 1.0, 9.0)
    assert (three.count, three.proven, three.median_s, three.worst_s) == (3, 2, 3.0, 9.0)


@pytest.mark.parametrize(("count", "kept"), [(6, 6.0), (19, 19.0), (20, 19.0), (21, 20.0), (100, 95.0)])
def test_ninety_five_of_a_hundred_keep_the_time_named_p95(count: int, kept: float) -> None:
    assert row(*(float(n) for n in range(1, count + 1))).p95_s == kept


def test_the_table_shows_memory_only_where_it_was_measured() -> None:
    measured = Row("large", (Timing("yard", 1.0, is_proven=True, peak_mb=321.4),))
    first, second = draw_table([row(1.0), measured]).splitlines()[1:]
    assert first.rstrip().endswith("1.000")
    assert second.endswith("321")


def test_ratios_are_averaged_on_a_logarithmic_scale() -> None:
    assert geometric_mean([10.0, 1000.0]) == pytest.approx(100.0)


@pytest.mark.parametrize(
    ("answer", "is_honest"),
    [
        (solved("optimal_on_lattice", 100, 100), True),
        (solved("infeasible_on_lattice", None, None), True),
        (solved("feasible", 100, 90), True),
        (solved("feasible", 100, 101), False),
        (solved("feasible", 100, None), False),
        (solved("unknown", None, 90), True),
        (solved("unknown", None, None), False),
    ],
)
def test_an_open_answer_is_honest_when_it_tells_its_gap(answer: Solved, *, is_honest: bool) -> None:
    assert answer.is_honest is is_honest


def test_several_shapes_are_settled_only_when_each_is_proven() -> None:
    open_shape = solved("optimal_on_lattice", 100, 100, is_shape_proven=False)
    assert is_settled(open_shape, wanted=1)
    assert not is_settled(open_shape, wanted=5)
    assert is_settled(solved("optimal_on_lattice", 100, 100), wanted=5)
