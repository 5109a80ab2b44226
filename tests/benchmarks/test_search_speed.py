"""How fast whole scenes are planned.  Run with: .venv/bin/pytest -m slow -s tests/benchmarks

In one process on one core, compiled code warm.  The assertion asks for less than what is measured
on a quiet machine, because a busy machine is no fault of the search.
"""

from __future__ import annotations

import time

import pytest

from optimizer.brief.read_site import read_site
from optimizer.search.solve import solve_site
from tests.benchmarks.measure import warm
from tests.properties.scene_sites import SCENES, TOP

#: What planning a scene may take before anything is drawn, seconds; the whole command has 15.
LONGEST_SCENE_S = 15.0


@pytest.mark.slow
@pytest.mark.parametrize("name", SCENES)
def test_a_scene_is_solved_in_time(name: str) -> None:
    warm()
    site = read_site(TOP / "scenes" / name)
    began = time.perf_counter()
    solved = solve_site(site)
    took = time.perf_counter() - began
    print(f"{name}: {took:.1f} s, {len(solved.shown)} layouts shown, {solved.status}")
    assert solved.status == "optimal_on_lattice"
    assert took < LONGEST_SCENE_S
