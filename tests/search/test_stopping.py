"""Stopping early, and answering alike every time."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from optimizer.brief.site import Site
from optimizer.search import find_layouts as find_layouts_module
from optimizer.search.find_layouts import ClassQuestion, SearchEvent, find_layouts, root_bound
from optimizer.search.kernel_tables import NEVER
from optimizer.search.solve import solve_site
from tests.search.flat_yard import (
    flat_site,
    with_parts,
    with_plates,
    with_search,
    with_sections,
    with_start,
    with_stock,
    with_wishes,
)
from tests.validation.small_yards import build_small_yard, demo_catalogue

TOP = Path(__file__).parents[2]


def wide_site() -> Site:
    """Level ground, a high door, all demo parts and exits: half a second of search, not a moment."""
    site = with_sections(flat_site(), "section-48", "section-72", "section-96")
    site = with_plates(site, "plate-36", "plate-48", "plate-60")
    site = with_parts(with_start(site, threshold_m=1.0), landings=demo_catalogue("demo-inch").landings)
    site = with_wishes(site, exits=("front", "left", "right"), most_turns=1)
    return with_search(
        site, most_runs=3, slope_levels=9, flattest_share=0.6, longest_run_m=8.0, slide_step_m=0.3
    )


@pytest.fixture(scope="module")
def truth() -> int:
    solved = solve_site(wide_site())
    assert solved.status == "optimal_on_lattice"
    assert solved.stopped == ""
    assert solved.classes_open == 0
    assert solved.bound_cents == solved.shown[0].cost_cents
    return solved.shown[0].cost_cents


@pytest.mark.parametrize("limit_s", [1e-6, 0.05, 0.15])
def test_a_search_out_of_time_gives_its_best_with_a_bound_that_holds(limit_s: float, truth: int) -> None:
    solved = solve_site(with_search(wide_site(), time_limit_s=limit_s))
    assert solved.stopped == "time limit"
    assert solved.classes_open > 0
    assert solved.bound_cents is not None
    assert 0 < solved.bound_cents <= truth
    if solved.shown:
        best = solved.shown[0].cost_cents
        assert best >= truth
        assert solved.status == ("optimal_on_lattice" if solved.bound_cents == best else "feasible")
        assert all(one.bound_cents <= one.cost_cents for one in solved.shown)
        assert all(one.is_proven <= (one.bound_cents == one.cost_cents) for one in solved.shown)
    else:
        assert solved.status == "unknown"


def test_every_class_of_a_search_out_of_time_has_a_bound_below_its_true_cost() -> None:
    site = wide_site()
    full = {(one.exit, one.turn): one for one in find_layouts(site).classes}
    cut = find_layouts(with_search(site, time_limit_s=1e-6))
    assert cut.stopped == "time limit"
    assert not all(one.proven for one in cut.classes)
    for one in cut.classes:
        true = full[one.exit, one.turn].cost_cents
        if one.bound_cents is None:
            assert true is None, "a class was called empty that is not"
        elif true is not None:
            assert one.bound_cents <= true
            assert one.cost_cents is None or one.cost_cents >= true
        if one.proven:
            assert one.cost_cents == true


def test_a_class_stopped_between_two_slopes_keeps_a_bound_below_its_true_cost(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The stop comes after a counted number of openings and slopes, so that it does not hang on a clock."""
    site = with_wishes(with_search(wide_site(), slope_levels=4), exits=("left",))
    full = {(one.exit, one.turn): one.cost_cents for one in find_layouts(site).classes}
    explore = find_layouts_module.explore
    too_dear = 0
    for allowed in (1, 3, 9):
        calls = 0

        def counted(*arguments: object, most: int = allowed) -> int:
            nonlocal calls
            calls += 1
            stop = arguments[-1]
            assert isinstance(stop, np.ndarray)
            stop[0] = calls > most
            return int(explore(*arguments))

        monkeypatch.setattr(find_layouts_module, "explore", counted)
        for key, true in full.items():
            calls = 0
            one = find_layouts(site, None, (ClassQuestion(*key, 1, NEVER - 1),)).classes[0]
            if one.proven:
                assert one.cost_cents == true
                continue
            assert one.bound_cents is not None
            assert true is None or one.bound_cents <= true
            if one.cost_cents is not None:
                assert true is not None
                assert one.cost_cents >= true
                too_dear += one.cost_cents > true
    assert too_dear > 0, "no stop came before the best was found"


@pytest.mark.parametrize("seed", [None, 6, 10, 14, 15, 20, 30, 34, 51])
def test_the_bound_before_any_searching_is_no_more_than_the_cost(seed: int | None) -> None:
    # On the flat yard it is tight: only shim pads are assumed under the hinge in place of screw shoes.
    site = flat_site() if seed is None else build_small_yard(seed)
    found = [(one.turn, skeleton) for one in find_layouts(site).classes for skeleton in one.skeletons]
    assert found
    for turn, skeleton in found:
        assert root_bound(skeleton.opening, skeleton.slope, turn) <= skeleton.cost_cents
    if seed is None:
        ((turn, skeleton),) = found
        dearer = 2 * ((2350 + 600) - (1100 + 400))
        assert root_bound(skeleton.opening, skeleton.slope, turn) == pytest.approx(
            skeleton.cost_cents - dearer, abs=1
        )


def test_progress_tells_of_every_class_once() -> None:
    events: list[SearchEvent] = []
    answer = find_layouts(wide_site(), events.append)
    assert [one.done for one in events] == list(range(1, len(answer.classes) + 1))
    assert {one.of for one in events} == {len(answer.classes)}
    told = {(one.exit, one.turn): (one.cost_cents, one.proven) for one in events}
    assert told == {(one.exit, one.turn): (one.cost_cents, one.proven) for one in answer.classes}


def test_an_interrupt_gives_the_best_so_far_with_its_bound(truth: int) -> None:
    def interrupt(_event: SearchEvent) -> None:
        raise KeyboardInterrupt

    solved = solve_site(wide_site(), interrupt)
    assert solved.stopped == "interrupted"
    assert solved.status in ("feasible", "optimal_on_lattice", "unknown")
    assert solved.bound_cents is not None
    assert solved.bound_cents <= truth
    assert solved.classes_proven >= 1
    assert all(one.cost_cents >= truth for one in solved.shown)


INTERRUPTED = """
from dataclasses import replace
import signal
from optimizer.search.solve import solve_site
from tests.search.test_stopping import wide_site

signal.signal(signal.SIGINT, signal.default_int_handler)
site = wide_site()
site = replace(site, search=replace(site.search, slope_levels=12, slide_step_m=0.1))
print("searching", flush=True)
solved = solve_site(site, lambda event: print("class", event.done, flush=True))
print(solved.stopped, solved.status, solved.bound_cents, flush=True)
"""


def test_control_c_ends_a_running_search_with_its_best_so_far(truth: int) -> None:
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
        assert running.stdout.readline() == "class 1\n"
        running.send_signal(signal.SIGINT)
        rest, complaint = running.communicate(timeout=60)
    assert running.returncode == 0, complaint
    stopped, status, bound = rest.splitlines()[-1].split()
    assert (stopped, status) == ("interrupted", "feasible")
    assert 0 < int(bound) <= truth


@pytest.mark.parametrize("seed", [6, 10, 20, 34, 51])
def test_the_same_yard_gives_the_same_answer_twice(seed: int) -> None:
    site = with_wishes(build_small_yard(seed), shown=5)
    assert solve_site(site) == solve_site(build_and_show(seed))


def build_and_show(seed: int) -> Site:
    """The same yard, built anew."""
    return with_wishes(build_small_yard(seed), shown=5)


def test_a_wide_search_and_one_under_stock_give_the_same_answer_twice() -> None:
    assert solve_site(wide_site()) == solve_site(wide_site())
    scarce = with_wishes(with_stock(wide_site(), leg_short=3, section_96=1), exits=("front",), most_turns=0)
    assert solve_site(scarce) == solve_site(scarce)
