"""Stopping early with what is known by then, progress, and answering alike every time."""

from __future__ import annotations

import itertools
import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from optimizer.brief.site import Site
from optimizer.search import grown, shape_search
from optimizer.search.answers import SearchEvent, Skeleton
from optimizer.search.prepared import prepare
from optimizer.search.solve import solve_site
from optimizer.search.solve_shapes import SolvedShapes, Stop, solve_shapes
from tests.benchmarks.generated_yards import build_yard, with_lattice, with_time_limit
from tests.search.flat_yard import (
    flat_site,
    with_parts,
    with_search,
    with_sections,
    with_start,
    with_stock,
    with_wishes,
)
from tests.search.searched import small_yard, solved_yard
from tests.validation.small_yards import demo_catalogue

TOP = Path(__file__).parents[2]
#: How long a search may go on after it was told to end.
AT_ONCE_S = 0.3
#: Words of an ended search, in the order of how much is known.
ENDED = ("unknown", "feasible", "optimal_on_lattice")


@cache
def large_site() -> Site:
    """A large lot at a sixth of its pitch: half a minute of search or more."""
    return with_time_limit(with_lattice(build_yard("large", 3), 1 / 6), 120.0)


@cache
def wide_site() -> Site:
    """Level ground, a high door, several sections, all landings and exits: a second of search."""
    site = with_sections(flat_site(), "section-48", "section-72", "section-96")
    site = with_parts(with_start(site, threshold_m=1.0), landings=demo_catalogue("demo-inch").landings)
    site = with_wishes(site, exits=("front", "left", "right"), most_turns=2)
    return with_search(
        site, most_runs=3, slope_levels=5, longest_run_m=8.0, lattice_m=0.2, finest_lattice_m=0.2
    )


def low_site() -> Site:
    """The wide site with a door so low that one run does."""
    return with_start(wide_site(), threshold_m=0.5)


def tell_layout(one: Skeleton) -> tuple[object, ...]:
    """A layout without the tables of its start."""
    return (one.slopes, one.surfaces_m, one.turns, one.plate, one.cost_cents, one.walk_m)


def tell(solved: SolvedShapes) -> tuple[object, ...]:
    """Everything an answer says, without the tables that go with it."""
    shapes = tuple(
        (one.exit, one.turns, one.bound_cents, one.is_whole, tuple(tell_layout(x) for x in one.skeletons))
        for one in solved.shapes
    )
    return (solved.status, solved.bound_cents, shapes, solved.not_settled, solved.stopped, solved.certificate)


@cache
def whole() -> tuple[SolvedShapes, tuple[SearchEvent, ...]]:
    """The wide site solved to the end, with what it told on its way."""
    events: list[SearchEvent] = []
    solved = solve_shapes(wide_site(), on_event=events.append)
    assert (solved.status, solved.stopped) == ("optimal_on_lattice", "")
    return solved, tuple(events)


def truth() -> int:
    """The least cost of the wide site."""
    best = whole()[0].best_cents
    assert best is not None
    return best


def check_ended(solved: SolvedShapes, true_cents: int) -> None:
    """An answer cut short claims nothing that is not so."""
    assert solved.status in ENDED
    assert solved.bound_cents is not None
    assert solved.bound_cents <= true_cents
    assert (solved.best_cents is None) == (solved.status == "unknown")
    if solved.best_cents is not None:
        assert solved.best_cents >= true_cents
        assert (solved.status == "optimal_on_lattice") == (solved.bound_cents == solved.best_cents)
    for one in solved.shapes:
        assert not one.is_proven or one.proof == "proven"
        assert one.bound_cents <= one.cost_cents or one.is_proven


# Ending at once


class Watch:
    """Cancels a while after the search has told of itself for the first time, and keeps the time."""

    def __init__(self, stop: Stop, delay_s: float) -> None:
        self.stop, self.delay_s = stop, delay_s
        self.cancelled_s = self.first_s = 0.0

    def __call__(self, _event: SearchEvent) -> None:
        if not self.first_s:
            self.first_s = time.perf_counter()
            threading.Timer(self.delay_s, self.cancel).start()

    def cancel(self) -> None:
        self.cancelled_s = time.perf_counter()
        self.stop.cancel()


@pytest.mark.parametrize("delay_s", [0.05, 0.5])
def test_a_cancel_from_another_thread_ends_a_large_search_at_once(delay_s: float) -> None:
    stop = Stop()
    watch = Watch(stop, delay_s)
    solved = solve_shapes(large_site(), on_event=watch, stop=stop)
    ended = time.perf_counter()
    assert watch.cancelled_s > 0.0, "the search was over before it was cancelled"
    assert ended - watch.cancelled_s < AT_ONCE_S
    assert solved.stopped == "cancelled"
    assert solved.status in ("unknown", "feasible")
    assert solved.bound_cents is not None
    assert solved.bound_cents > 0


def test_the_time_limit_ends_a_large_search_at_once() -> None:
    solve_shapes(with_time_limit(large_site(), 0.1))  # the kernels are compiled, or read, before the clock
    began = time.perf_counter()
    prepare(large_site())
    # The clock starts once the site is prepared on each of its lattices.
    prepared_s = time.perf_counter() - began
    for limit_s in (1.5, 2.5):
        began = time.perf_counter()
        solved = solve_shapes(with_time_limit(large_site(), limit_s))
        took = time.perf_counter() - began
        assert limit_s <= took < limit_s + 1.5 * prepared_s + AT_ONCE_S
        assert solved.stopped == "time limit"
        assert solved.status in ("unknown", "feasible")


def test_what_is_cancelled_before_it_begins_is_not_searched() -> None:
    stop = Stop()
    stop.cancel()
    solved = solve_shapes(wide_site(), stop=stop)
    assert (solved.status, solved.shapes, solved.stopped) == ("unknown", (), "cancelled")
    check_ended(solved, truth())


def test_the_first_reason_to_stop_stands() -> None:
    stop = Stop()
    with stop.after(1e-3):
        time.sleep(0.1)
    stop.cancel()
    assert (stop.word, int(stop.flag[0])) == ("time limit", 1)
    other = Stop()
    with other.after(0.05):
        other.cancel()
        time.sleep(0.1)
    assert other.word == "cancelled"
    left = Stop()
    with left.after(0.05):
        pass
    time.sleep(0.1)
    assert (left.word, int(left.flag[0])) == ("", 0)


INTERRUPTED = """
import signal
from optimizer.search.solve_shapes import solve_shapes
from tests.search.test_stopping import large_site

signal.signal(signal.SIGINT, signal.default_int_handler)
site = large_site()
print("searching", flush=True)
solved = solve_shapes(site, on_event=lambda event: print("event", event.bound_cents, flush=True))
print(solved.stopped, solved.status, solved.bound_cents, flush=True)
"""


def test_control_c_ends_a_running_search_at_once_with_what_is_known() -> None:
    with subprocess.Popen(
        [sys.executable, "-c", INTERRUPTED],
        cwd=TOP,
        env=os.environ | {"PYTHONPATH": str(TOP)},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    ) as running:
        assert running.stdout is not None
        assert running.stdout.readline() == "searching\n"
        assert running.stdout.readline().startswith("event ")
        time.sleep(0.5)
        sent = time.perf_counter()
        running.send_signal(signal.SIGINT)
        lines = list(running.stdout)
        took = time.perf_counter() - sent
        _, complaint = running.communicate(timeout=60)
    assert running.returncode == 0, complaint
    stopped, status, bound = lines[-1].split()
    assert stopped == "interrupted"
    assert status in ("unknown", "feasible")
    assert int(bound) > 0
    # The end of the whole process, with threads and imports to be taken down, comes after the answer.
    assert took < AT_ONCE_S + 1.0


def test_an_interrupt_leaves_what_is_known_by_then() -> None:
    solved, events = whole()
    for count in range(1, len(events)):
        told: list[SearchEvent] = []

        def interrupt(event: SearchEvent, most: int = count, told: list[SearchEvent] = told) -> None:
            told.append(event)
            if len(told) == most:
                raise KeyboardInterrupt

        try:
            cut = solve_shapes(wide_site(), on_event=interrupt)
        except KeyboardInterrupt:
            pytest.fail("the interrupt was not taken as a cancel")
        assert cut.stopped == "interrupted" or cut.status == "optimal_on_lattice"
        check_ended(cut, truth())
        assert cut.bound_cents is not None
        if told[-1].lattice_m == solved.lattice_m:
            assert cut.bound_cents >= min(told[-1].bound_cents or 0, truth())
    assert len(events) > 2


# Bounds of what was cut short


@pytest.mark.parametrize("limit_s", [1e-6, 0.02, 0.1])
def test_a_search_out_of_time_gives_its_best_with_a_bound_that_holds(limit_s: float) -> None:
    site = with_search(wide_site(), time_limit_s=limit_s)
    solved = solve_shapes(site)
    check_ended(solved, truth())
    assert solved.stopped == "time limit" or solved.status == "optimal_on_lattice"
    plan = solve_site(site)
    assert plan.status in ENDED
    assert plan.bound_cents is None or plan.bound_cents <= truth()
    for one in plan.shown:
        assert one.cost_cents >= truth()
        assert one.bound_cents <= one.cost_cents
        assert one.is_proven <= (one.bound_cents == one.cost_cents)


def place_of(name: str) -> int:
    """Place of an argument of the compiled growth."""
    code = grown.expand.py_func.__code__
    return code.co_varnames[: code.co_argcount].index(name)


def test_a_search_stopped_after_any_number_of_poses_claims_nothing_untrue(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The stop comes after a counted number of poses, so that it does not hang on a clock.

    On the low yard ramps end with their first run, on the wide one with their second.
    """
    expand = grown.expand
    first, last, stop = (place_of(name) for name in ("first", "last", "stop"))
    true = {"low": solve_shapes(low_site()).best_cents, "wide": truth()}
    statuses = set()
    for name, most in itertools.product(true, (0, 1, 2, 3, 5, 8, 13, 30, 80, 200, 600, 1500)):
        left = [most]

        def counted(*arguments: object, left: list[int] = left) -> int:
            begin, end, flag = (arguments[k] for k in (first, last, stop))
            assert isinstance(begin, int)
            assert isinstance(end, int)
            assert isinstance(flag, np.ndarray)
            until = min(end, begin + left[0])
            left[0] -= until - begin
            reached = begin
            if until > begin:
                reached = int(expand(*(until if k == last else x for k, x in enumerate(arguments))))
            if left[0] <= 0 and reached < end:
                flag[0] = 1
            return reached

        monkeypatch.setattr(grown, "expand", counted)
        solved = solve_shapes(low_site() if name == "low" else wide_site())
        check_ended(solved, true[name] or 0)
        statuses.add((name, solved.status))
    # Stops came before, between and after layouts were found.
    assert {("wide", "unknown"), ("wide", "feasible"), ("low", "unknown")} <= statuses


# Progress


def check_events(events: tuple[SearchEvent, ...]) -> None:
    """On one lattice bounds never fall, incumbents never rise and ceilings rise."""
    for _, group in itertools.groupby(events, key=lambda event: event.lattice_m):
        for before, after in itertools.pairwise(tuple(group)):
            assert after.bound_cents is None or after.bound_cents >= (before.bound_cents or 0)
            assert before.incumbent_cents is None or (
                after.incumbent_cents is not None and after.incumbent_cents <= before.incumbent_cents
            )
            assert (after.ceiling_cents or 0) > (before.ceiling_cents or 0)
            assert after.shapes >= before.shapes


def test_progress_tells_lattice_ceiling_bound_incumbent_and_gap() -> None:
    solved, events = whole()
    check_events(events)
    # A quick look on twice the pitch comes first.
    assert list(dict.fromkeys(event.lattice_m for event in events)) == [0.4, 0.2]
    assert [(one.lattice_m, one.ceiling_cents) for one in solved.certificate.rounds] == [
        (event.lattice_m, event.ceiling_cents) for event in events
    ]
    last = events[-1]
    assert last.incumbent_cents == truth()
    assert last.bound_cents is None or last.bound_cents >= truth()
    for event in events:
        if event.incumbent_cents is None:
            assert event.gap is None
        elif event.bound_cents is not None:
            assert event.gap == pytest.approx(max(0.0, event.incumbent_cents / event.bound_cents - 1.0))
    assert last.gap in (0.0, None)


def test_progress_of_a_large_search_keeps_its_word_when_it_is_cut_short() -> None:
    events: list[SearchEvent] = []
    solved = solve_shapes(with_time_limit(with_lattice(large_site(), 3.0), 2.0), on_event=events.append)
    check_events(tuple(events))
    own = [event for event in events if event.lattice_m == solved.lattice_m]
    assert own
    assert solved.bound_cents is not None
    assert solved.bound_cents >= min(own[-1].bound_cents or 0, solved.best_cents or sys.maxsize)


# Alike every time


def test_a_wide_search_gives_the_same_answer_twice_and_with_one_worker_or_two(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    first, events = whole()
    again: list[SearchEvent] = []
    assert tell(solve_shapes(wide_site(), on_event=again.append)) == tell(first)
    assert tuple(again) == events
    asked = []

    def workers(count: int) -> Callable[..., ThreadPoolExecutor]:
        def build(max_workers: int) -> ThreadPoolExecutor:
            asked.append(max_workers)
            return ThreadPoolExecutor(max_workers=count)

        return build

    # Never a thread; then one thread and two threads for every round, however small.
    monkeypatch.setattr(shape_search, "WORTH_A_THREAD", sys.maxsize)
    monkeypatch.setattr(shape_search, "ThreadPoolExecutor", workers(2))
    assert tell(solve_shapes(wide_site())) == tell(first)
    assert not asked
    monkeypatch.setattr(shape_search, "WORTH_A_THREAD", 0)
    for count in (1, 2):
        monkeypatch.setattr(shape_search, "ThreadPoolExecutor", workers(count))
        assert tell(solve_shapes(wide_site())) == tell(first)
    assert set(asked) == {2}


@pytest.mark.parametrize("seed", [9, 18, 23, 38, 51])
def test_the_same_yard_gives_the_same_plan_twice(seed: int) -> None:
    small_yard.cache_clear()
    assert solve_site(small_yard(seed)) == solved_yard(seed)


def test_a_search_under_stock_gives_the_same_answer_twice() -> None:
    scarce = with_wishes(with_stock(wide_site(), leg_short=3, section_96=1), exits=("front",), most_turns=0)
    assert solve_site(scarce) == solve_site(scarce)
