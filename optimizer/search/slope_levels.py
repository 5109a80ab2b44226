"""What runs of every length drop at every slope level, and the laws that bend the levels."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimizer.brief.site import Site
from optimizer.rulebook.run_law import NO_END_M, Allowance, RunLaw
from optimizer.search.kernel_tables import Floats, LaidRow, LawRow, Records, SlopeRow, build_records
from optimizer.search.law_kernel import allows_run, most_steps
from optimizer.search.raster_kernel import BESIDE_M
from optimizer.terrain.yard import Start

#: Runs looked at together have their joints so near each other in plan, metres: cells are looked up
#: beside a joint's place by ``BESIDE_M``, and a whole height step is rounded off in any case.
TOGETHER_M: Final = 0.9 * BESIDE_M


class Levels(NamedTuple):
    """What runs of every sum drop at every slope level (DEVELOPERS.md, 'Slopes')."""

    sines: Floats
    laws: Records
    slopes: Records
    laid: Records
    drops: NDArray[np.int64]
    plans: Floats


def steepest_slope(site: Site, start: Start) -> float:
    """The steepest slope that rules and wish allow at a start, rise over plan run."""
    steepest = site.design_of(start).steepest
    return steepest if site.wishes.steepest is None else min(steepest, site.wishes.steepest)


def list_laws(site: Site, start: Start) -> tuple[RunLaw, ...]:
    """What every run must keep: the laws of the rules, and the wish about walks between landings."""
    laws = site.design_of(start).laws
    longest = site.wishes.longest_between_rests_m
    if longest is None:
        return laws
    row = Allowance(0.0, longest, NO_END_M, NO_END_M, NO_END_M, "ratio", is_strict=False)
    return (*laws, RunLaw((row,), widens=False))


def is_plain(law: RunLaw) -> bool:
    """Whether a law has one slope for every run it allows."""
    return len(law.allowances) == 1 and all(
        row.slope_at_above == row.slope_at_longest for row in law.allowances
    )


def has_plain_laws(site: Site, start: Start) -> bool:
    """Whether slope levels are the same for every length."""
    return all(is_plain(law) for law in list_laws(site, start))


def build_laws(laws: tuple[RunLaw, ...]) -> Records:
    """The laws as the kernels read them; a law that allows nothing keeps a row that has no room."""
    nothing = Allowance(0.0, -1.0, -1.0, 0.0, 0.0, "ratio", is_strict=False)
    return build_records(
        LawRow,
        [
            LawRow(
                law=n,
                above=row.above_m,
                longest=row.longest_m,
                rise=row.greatest_rise_m,
                slope_above=row.slope_at_above,
                slope_longest=row.slope_at_longest,
                by_ratio=int(row.between == "ratio"),
                strict=int(row.is_strict),
            )
            for n, law in enumerate(laws)
            for row in law.allowances or (nothing,)
        ],
    )


def build_levels(site: Site, start: Start, lengths: Floats) -> Levels:
    """Levels, steepest first, for sums of section lengths, ascending from 0."""
    step = site.search.height_step_m
    laws = build_laws(list_laws(site, start))
    steepest = steepest_slope(site, start)
    greatest = steepest / np.sqrt(1.0 + steepest * steepest)
    shares = _build_shares(site)
    tops = greatest * lengths
    is_bent = not has_plain_laws(site, start)
    if is_bent:
        tops = np.array([_bend_top(laws, greatest, float(length), step) for length in lengths])
    drops = np.floor(shares[:, None] * tops[None, :] / step + 1e-9).astype(np.int64)
    for level in range(1, len(drops)):
        same = (drops[:level] == drops[level]).any(axis=0)
        drops[level, same] = 0
    plans = np.sqrt(np.maximum(lengths[None, :] ** 2 - (drops * step) ** 2, 0.0))
    for level, i in zip(*np.nonzero(drops), strict=True):
        if not allows_run(laws, float(drops[level, i]) * step, float(plans[level, i])):
            drops[level, i] = 0
    sines = greatest * shares
    rows = _list_bent_rows(lengths, drops, step, steepest) if is_bent else _list_rows(sines, drops, step)
    slopes, laid = _file_rows(rows)
    return Levels(sines, laws, slopes, laid, drops, plans)


def _build_shares(site: Site) -> Floats:
    count = site.search.slope_levels
    at = np.arange(count) / (count - 1) if count > 1 else np.zeros(1)
    return np.asarray(1.0 - (1.0 - site.search.flattest_share) * at)


def _bend_top(laws: Records, greatest: float, length: float, step: float) -> float:
    """What the levels of one length share: its steepest drop, or the greatest that the laws allow."""
    top = greatest * length
    most = int(np.floor(top / step + 1e-9))
    kept = int(most_steps(laws, length, step, most))
    return top if kept == most else kept * step


class _Row(NamedTuple):
    """Runs of about one slope before they are filed."""

    sine: float
    spare: float
    runs: tuple[LaidRow, ...]


def _list_rows(sines: Floats, drops: NDArray[np.int64], step: float) -> Iterator[_Row]:
    """One row a level: its runs drop its sine times their length, rounded down to a whole step."""
    for level, sine in enumerate(sines):
        runs = tuple(LaidRow(int(i), level) for i in np.flatnonzero(drops[level]))
        if runs:
            yield _Row(float(sine), step, runs)


def _list_bent_rows(
    lengths: Floats, drops: NDArray[np.int64], step: float, steepest: float
) -> Iterator[_Row]:
    """Runs of all levels sorted by slope; a row ends where its joints would be looked up too far off."""
    levels, sums = np.nonzero(drops)
    dropped = drops[levels, sums] * step
    by_slope = np.argsort(-dropped / lengths[sums], kind="stable")
    spare = max(step, TOGETHER_M / steepest)
    first = 0
    while first < len(by_slope):
        head = by_slope[first]
        sine = float(dropped[head] / lengths[sums[head]])
        short = sine * lengths[sums[by_slope]] - dropped[by_slope]
        last = first
        while last < len(by_slope) and short[last] <= spare:
            last += 1
        runs = sorted(LaidRow(int(sums[k]), int(levels[k])) for k in by_slope[first:last])
        yield _Row(sine, float(max(step, short[first:last].max())), tuple(runs))
        first = last


def _file_rows(rows: Iterable[_Row]) -> tuple[Records, Records]:
    slopes: list[SlopeRow] = []
    laid: list[LaidRow] = []
    for row in rows:
        first = len(laid)
        laid += row.runs
        levels = {run.level for run in row.runs}
        level = levels.pop() if len(levels) == 1 else -1
        slopes.append(SlopeRow(row.sine, row.spare, level, first, len(laid)))
    return build_records(SlopeRow, slopes), build_records(LaidRow, laid)
