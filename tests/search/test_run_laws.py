"""Which runs a law allows: the kernel, the rule book and the brute force say the same, a hair apart."""

from __future__ import annotations

import math
from dataclasses import replace
from random import Random

import numpy as np
import pytest

from optimizer.brief.site import Site
from optimizer.rulebook.run_law import NO_END_M, RunLaw
from optimizer.search.law_kernel import allows_last, allows_run, most_steps
from optimizer.search.prepared import prepare
from optimizer.search.slope_levels import build_laws, build_levels
from optimizer.search.trials_of_wishes import with_slope
from tests.search.flat_yard import HAIR, flat_site, with_design, with_search, with_start, with_wishes
from tests.validation.bound_yards import LAW_KINDS, allowance, bound, build_law, build_named_yard, law_limit
from tests.validation.brute_laws import Laws, Stretch
from tests.validation.brute_parts import UsableParts

#: 1:n with n = plan length in metres + 10, to 10 m.
BY_LENGTH = RunLaw((allowance(0.0, 10.0, 1 / 10, 1 / 20, "run_per_rise"),), widens=False)


def allows(*laws: RunLaw, rise: float, plan: float) -> bool:
    """The kernel's answer, checked against the two others."""
    answer = bool(allows_run(build_laws(laws), rise, plan))
    assert answer is all(law.allows(rise, plan) for law in laws)
    site = with_design(flat_site(), laws=laws)
    assert answer is Laws(site, site.yard.starts[0]).allow(Stretch(rise, plan))
    return answer


@pytest.mark.parametrize(("plan", "n"), [(2.0, 12.0), (5.0, 15.0), (10.0, 20.0), (7.3, 17.3)])
@pytest.mark.parametrize(("more_m", "fits"), [(-HAIR, True), (0.0, True), (HAIR, False)])
def test_the_points_of_a_published_table_and_one_between_them(
    plan: float, n: float, more_m: float, *, fits: bool
) -> None:
    # Approved Document M, volume 2, table 1: going 2 m 1:12, 5 m 1:15, 10 m 1:20.
    assert allows(BY_LENGTH, rise=plan / n + more_m, plan=plan) is fits


@pytest.mark.parametrize(("more_m", "fits"), [(-HAIR, True), (0.0, True), (HAIR, False)])
def test_a_run_longer_than_the_law_speaks_of_is_not_allowed(more_m: float, *, fits: bool) -> None:
    assert allows(BY_LENGTH, rise=0.1, plan=10.0 + more_m) is fits


@pytest.mark.parametrize(("more_m", "fits"), [(-HAIR, True), (0.0, True), (HAIR, False)])
def test_a_row_has_room_up_to_its_greatest_rise(more_m: float, *, fits: bool) -> None:
    row = replace(allowance(0.0, NO_END_M, 1 / 8, 1 / 8), greatest_rise_m=0.0762)
    assert allows(RunLaw((row,), widens=False), rise=0.0762 + more_m, plan=5.0) is fits


@pytest.mark.parametrize(("more_m", "fits"), [(-HAIR, True), (0.0, False), (HAIR, False)])
def test_a_strict_slope_is_itself_not_allowed(more_m: float, *, fits: bool) -> None:
    row = replace(allowance(0.0, NO_END_M, 1 / 8, 1 / 8), is_strict=True)
    assert allows(RunLaw((row,), widens=False), rise=0.5 + more_m, plan=4.0) is fits


def test_one_row_is_enough_of_a_law_and_every_law_is_asked() -> None:
    short, long = allowance(0.0, 2.0, 1 / 8, 1 / 8), allowance(2.0, 9.0, 1 / 12, 1 / 12)
    either = RunLaw((short, long), widens=False)
    assert allows(either, rise=0.24, plan=2.0)
    assert not allows(either, rise=0.24, plan=2.0 + 2 * HAIR)
    assert not allows(either, BY_LENGTH, rise=0.24, plan=2.0)
    assert allows(either, BY_LENGTH, rise=2.0 / 12, plan=2.0)
    assert allows(rise=9.0, plan=1.0), "nothing asked, nothing forbidden"
    assert not allows_run(build_laws((RunLaw((), widens=False),)), 0.1, 5.0), "no row has room"


def test_the_three_agree_on_drawn_laws_and_runs() -> None:
    random = Random("run laws")  # noqa: S311  # repeatable, no secrets
    said = set()
    for _ in range(400):
        kind = random.choice(LAW_KINDS)
        limits = build_law(kind, random.uniform(6.0, 12.0))
        laws = tuple(one.law for one in limits if one.law is not None)
        said.add((kind, allows(*laws, rise=random.uniform(0.05, 0.5), plan=random.uniform(0.5, 5.0))))
    assert said == {(kind, answer) for kind in LAW_KINDS for answer in (True, False)}


def test_a_last_run_keeps_the_law_in_its_parts_and_as_a_whole() -> None:
    laws = build_laws((BY_LENGTH,))
    rise, plan, fall, reach = 4.0 / 14, 4.0, 1.0 / 15 - 0.02, 1.0
    assert allows_last(laws, rise, plan, fall, reach)
    assert rise + fall <= 5.0 / 15
    assert not allows_last(laws, rise, plan, 5.0 / 15 - rise + 2 * HAIR, reach), "as a whole"
    assert not allows_last(laws, 0.1, plan, 1.0 / 11 + 2 * HAIR, reach), "the plate by itself"
    assert allows_last(laws, 0.1, plan, 1.0 / 11 - HAIR, reach)


def test_a_plate_is_no_steeper_than_a_run_of_the_whole_rise_may_be() -> None:
    # The shape of ADA 2010, table 405.2: 1:8 up to 3 in, 1:10 up to 6 in, else 1:12.
    rows = tuple(
        replace(allowance(0.0, NO_END_M, slope, slope), greatest_rise_m=rise)
        for slope, rise in ((1 / 12, 0.762), (1 / 10, 0.1524), (1 / 8, 0.0762))
    )
    laws = build_laws((RunLaw(rows, widens=False),))
    assert allows_last(laws, 0.05, 1.0, 0.09, 0.9), "1:10, 5.5 in in all"
    assert not allows_last(laws, 0.3, 5.0, 0.09, 0.9), "the same plate under a long run"
    assert allows_last(laws, 0.3, 5.0, 0.075, 0.9)


def test_the_greatest_whole_drop_is_the_last_that_is_allowed() -> None:
    laws, length, step = build_laws((BY_LENGTH,)), 4.82, 0.0025
    steps = int(most_steps(laws, length, step, 300))
    plan = math.sqrt(length**2 - (steps * step) ** 2)
    assert steps * step <= plan / (plan + 10) < (steps + 1) * step
    assert most_steps(build_laws((RunLaw((), widens=False),)), length, step, 300) == 0


def levels_of(site: Site) -> tuple[np.ndarray, np.ndarray]:
    """Lengths, and drops of every level and length in metres."""
    lengths = np.array([0.0, 1.13, 2.26, 2.41, 3.54, 4.82])
    levels = build_levels(site, site.yard.starts[0], lengths)
    return lengths, levels.drops * site.search.height_step_m


def test_every_length_has_its_own_steepest_slope_under_a_law() -> None:
    site = with_search(bound(flat_site(), law_limit("law", BY_LENGTH)), slope_levels=3, flattest_share=0.6)
    lengths, drops = levels_of(site)
    plans = np.sqrt(lengths**2 - drops**2)[:, 1:]
    room = plans / (plans + 10) - drops[:, 1:]
    step = site.search.height_step_m
    assert (room[0] >= -1e-9).all()
    assert (room[0] <= step).all(), "within a step of what the law leaves"
    for level, share in enumerate((1.0, 0.8, 0.6)):
        assert drops[level, 1:] == pytest.approx(share * drops[0, 1:], abs=step)


def test_plain_laws_leave_the_levels_as_they_were() -> None:
    site = with_search(flat_site(), slope_levels=2, flattest_share=0.6)
    lengths, drops = levels_of(site)
    step, sine = site.search.height_step_m, 1 / math.hypot(1, 8)
    assert drops == pytest.approx(step * np.floor(np.outer((1.0, 0.6), lengths * sine) / step + 1e-9))


def test_where_runs_bend_their_rows_hold_every_run_once_and_near_its_slope() -> None:
    site = build_named_yard("law")
    lengths = np.arange(0.0, 40.0) * 0.2
    levels = build_levels(with_search(site, slope_levels=5), site.yard.starts[0], lengths)
    step = site.search.height_step_m
    seen = []
    for row in levels.slopes:
        for run in levels.laid[row.first : row.last]:
            i, level = int(run.at_sum), int(run.level)
            short = float(row.sine) * lengths[i] - levels.drops[level, i] * step
            assert -1e-9 <= short <= float(row.spare) + 1e-9
            seen.append((level, i))
    assert sorted(seen) == sorted(
        zip(*(int_list.tolist() for int_list in np.nonzero(levels.drops)), strict=True)
    )
    assert len(levels.slopes) > 5


def test_the_wish_about_walks_is_a_law_of_its_own() -> None:
    site = with_search(flat_site(), slope_levels=1)
    _, free = levels_of(site)
    _, asked = levels_of(with_wishes(site, longest_between_rests_m=3.0))
    assert (asked[0] > 0).tolist() == [False, True, True, True, False, False]
    assert (free[0] > 0).tolist() == [False, True, True, True, True, True]


def test_another_slope_is_tried_in_every_binding_law() -> None:
    site = build_named_yard("law")
    design = with_slope(site, 1 / 8).designs[0]
    assert design.steepest == pytest.approx(1 / 8)
    assert all(law.allows(6.0 / 8, 6.0) and not law.allows(6.0 / 8 + 1e-4, 6.0) for law in design.laws)
    assert not any(law.allows(6.0 / 8, 6.0) for law in site.designs[0].laws)
    # What the law says of length stays.
    assert not any(law.allows(0.1, 10.1) for law in design.laws)


def test_under_a_law_as_many_runs_are_tried_as_its_best_run_needs() -> None:
    site = with_search(bound(flat_site(), law_limit("law", BY_LENGTH)), most_runs=None, longest_run_m=5.0)
    best = max(run.drop for run in UsableParts(site, site.yard.starts[0]).runs)
    for more_m, runs in ((0.0, 6), (2 * HAIR, 7)):
        high = with_start(site, threshold_m=4 * best + more_m)
        parts = UsableParts(high, high.yard.starts[0])
        assert parts.most_runs(4 * best + more_m, 0.0) == runs
        assert prepare(high).most_runs == runs
