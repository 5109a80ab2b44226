"""How long the search takes: timings over families of yards, as rows and as a table.

``python -m tests.benchmarks.measure`` prints everything; ``... measure child large 3`` solves one
yard in a process of its own and prints its seconds and peak memory.
"""

from __future__ import annotations

import json
import math
import resource
import statistics
import subprocess
import sys
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from optimizer.brief.site import Site
from tests.benchmarks.engine import Solved, solve
from tests.benchmarks.generated_yards import build_yard

TOP = Path(__file__).parents[2]


@dataclass(frozen=True, slots=True)
class Timing:
    """One yard solved."""

    yard: str
    seconds: float
    is_proven: bool
    peak_mb: float | None


@dataclass(frozen=True, slots=True)
class Row:
    """One line of a table."""

    name: str
    timings: tuple[Timing, ...]

    @property
    def count(self) -> int:
        """How many yards."""
        return len(self.timings)

    @property
    def proven(self) -> int:
        """How many of them were settled with proof."""
        return sum(one.is_proven for one in self.timings)

    @property
    def median_s(self) -> float:
        """Middle of the seconds."""
        return statistics.median(one.seconds for one in self.timings)

    @property
    def p95_s(self) -> float:
        """The time that 95 of 100 keep, by nearest rank: with fewer than 20 the worst."""
        ordered = sorted(one.seconds for one in self.timings)
        return ordered[math.ceil(0.95 * len(ordered)) - 1]

    @property
    def worst_s(self) -> float:
        """The longest."""
        return max(one.seconds for one in self.timings)

    @property
    def peak_mb(self) -> float | None:
        """The greatest memory of a process that solved one, where it was measured."""
        return max((one.peak_mb for one in self.timings if one.peak_mb is not None), default=None)


def warm() -> None:
    """Compile, or load what was compiled before, so that no timing has it in it."""
    solve(build_yard("tiny", 0))
    solve(build_yard("tiny", 1))


def measure_row(name: str, sites: Iterable[Site], wanted: int = 1) -> Row:
    """Solve sites one after the other in this process."""
    return Row(name, tuple(_time(site, wanted) for site in sites))


def _time(site: Site, wanted: int) -> Timing:
    solved = solve(site, wanted)
    return Timing(site.name, solved.seconds, is_settled(solved, wanted), None)


def is_settled(solved: Solved, wanted: int) -> bool:
    """Proven; with several shapes wanted, every one of them that was given."""
    if not solved.is_proven:
        return False
    return wanted == 1 or solved.proven == frozenset(solved.costs)


def measure_in_children(name: str, yards: Sequence[tuple[str, int]]) -> Row:
    """Solve each generated yard in a process of its own, for its peak memory."""
    return Row(name, tuple(_measure_child(family, seed) for family, seed in yards))


def _measure_child(family: str, seed: int) -> Timing:
    command = [sys.executable, "-m", "tests.benchmarks.measure", "child", family, str(seed)]
    done = subprocess.run(command, cwd=TOP, check=True, capture_output=True, text=True)
    told = json.loads(done.stdout.splitlines()[-1])
    return Timing(f"{family} {seed}", told["seconds"], told["is_proven"], told["peak_mb"])


def _be_child(family: str, seed: int) -> None:
    warm()
    solved = solve(build_yard(family, seed))
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    told = {"seconds": solved.seconds, "is_proven": solved.is_proven, "peak_mb": peak_mb}
    sys.stdout.write(json.dumps(told) + "\n")


def draw_table(rows: Iterable[Row]) -> str:
    """Rows as text: family, n, proven, median, p95, worst, peak."""
    lines = [f"{'yards':44}{'n':>4}{'proven':>8}{'median s':>10}{'p95 s':>9}{'worst s':>9}{'peak MB':>9}"]
    for row in rows:
        peak = "" if row.peak_mb is None else f"{row.peak_mb:.0f}"
        lines.append(
            f"{row.name:44}{row.count:4}{row.proven:8}{row.median_s:10.3f}{row.p95_s:9.3f}"
            f"{row.worst_s:9.3f}{peak:>9}"
        )
    return "\n".join(lines)


def geometric_mean(ratios: Sequence[float]) -> float:
    """Middle of ratios on a logarithmic scale."""
    return math.exp(statistics.fmean(math.log(ratio) for ratio in ratios))


def measure_ratio(
    sites: Iterable[Site], slower: Callable[[Site], tuple[float, int | None, bool]]
) -> tuple[float, tuple[str, ...]]:
    """How many times as long ``slower`` takes (geometric mean), and where the two disagree.

    ``slower`` gives seconds, best cost and whether that is proven; where it is not proven its
    seconds are only a least value, and so is the ratio.  Of the search the better of two runs.
    """
    ratios, differing = [], []
    for site in sites:
        fast = min((solve(site) for _ in range(2)), key=lambda one: one.seconds)
        seconds, cents, is_proven = slower(site)
        ratios.append(seconds / fast.seconds)
        if is_proven and fast.is_proven and cents != fast.best_cents:
            differing.append(f"{site.name}: search {fast.best_cents}, other {cents}")
    return geometric_mean(ratios), tuple(differing)


if __name__ == "__main__":
    if sys.argv[1:2] == ["child"]:
        _be_child(sys.argv[2], int(sys.argv[3]))
    else:
        from tests.benchmarks.growth import growth_tables

        warm()
        for title, rows in growth_tables():
            sys.stdout.write(f"\n{title}\n{draw_table(rows)}\n")
