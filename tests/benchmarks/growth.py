"""How the time grows with the lot, the pitch, the runs, the obstacles and the rise."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

from optimizer.brief.site import Site
from tests.benchmarks.generated_yards import build_from, build_yard, with_lattice, with_runs, with_time_limit
from tests.benchmarks.measure import Row, measure_row
from tests.benchmarks.yard_families import INCH_M, Family, family_named

SEEDS = range(3)
LIMIT_S = 60.0
#: Side lengths along the wall and out, metres; door 36 in above the ground.
LOTS = ((8.0, 10.0), (14.0, 14.0), (20.0, 18.0), (30.0, 25.0), (40.0, 30.0))
COARSENESS = ((2.0, "12 in"), (1.0, "6 in"), (2 / 3, "4 in"), (1 / 3, "2 in"))
RUNS = (2, 3, 4, 5, 6, 7)
OBSTACLES = (0, 2, 4, 6, 8)
RISES_IN = (12, 24, 36, 48, 60)


def growth_tables() -> Iterator[tuple[str, tuple[Row, ...]]]:
    """One table for each of the five, three yards a line."""
    yield (
        "lot, rise 36 in, 4 runs",
        _rows((f"{wide:g} x {deep:g} m", _yards(_lot(wide, deep))) for wide, deep in LOTS),
    )
    yield "pitch, medium yards", _rows((name, _pitched(share)) for share, name in COARSENESS)
    yield "runs, medium yards (roomy)", _rows((f"{runs} runs", _with_runs("medium", runs)) for runs in RUNS)
    yield (
        "runs, narrow yards without a layout",
        _rows((f"{runs} runs", _with_runs("narrow_infeasible", runs)) for runs in RUNS),
    )
    yield (
        "obstacles, 20 x 18 m",
        _rows((f"{count} obstacles", _yards(_obstructed(count))) for count in OBSTACLES),
    )
    yield "rise of the door, 30 x 20 m", _rows((f"{rise} in", _yards(_risen(rise))) for rise in RISES_IN)


def _rows(lines: Iterator[tuple[str, Callable[[], Iterator[Site]]]]) -> tuple[Row, ...]:
    return tuple(measure_row(name, sites()) for name, sites in lines)


def _yards(family: Family) -> Callable[[], Iterator[Site]]:
    return lambda: (with_time_limit(build_from(family, seed), LIMIT_S) for seed in SEEDS)


def _pitched(share: float) -> Callable[[], Iterator[Site]]:
    return lambda: (
        with_time_limit(with_lattice(build_yard("medium", seed), share), LIMIT_S) for seed in SEEDS
    )


def _with_runs(name: str, runs: int) -> Callable[[], Iterator[Site]]:
    return lambda: (with_time_limit(with_runs(build_yard(name, seed), runs), LIMIT_S) for seed in SEEDS)


def _lot(wide: float, deep: float) -> Family:
    """Only the size changes: one name, so one sequence of random numbers."""
    rise = 36 * INCH_M
    return replace(
        family_named("medium"), name="growth lot", wide=(wide, wide), deep=(deep, deep), rise=(rise, rise),
        catalogues=("demo-inch", "demo-millimetre"), wall_share=0.0,
    )  # fmt: skip


def _obstructed(count: int) -> Family:
    return replace(
        family_named("medium"), name="growth obstacles", wide=(20.0, 20.0), deep=(18.0, 18.0),
        obstacles=(count, count),
    )  # fmt: skip


def _risen(rise_in: float) -> Family:
    rise = rise_in * INCH_M
    return replace(
        family_named("large"), name="growth rise", wide=(30.0, 30.0), deep=(20.0, 20.0), rise=(rise, rise),
        catalogues=("demo-inch", "demo-millimetre"), wall_share=0.0,
    )  # fmt: skip
