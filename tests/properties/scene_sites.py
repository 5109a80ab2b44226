"""The demo scenes, searched on a coarser lattice so that a test may search them several times."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

from optimizer.brief.read_site import read_site
from optimizer.brief.site import Site
from optimizer.search.solve_shapes import solve_shapes

TOP = Path(__file__).parents[2]
SCENES = ("fall-to-street", "retaining-wall", "rise-away")


def coarse(site: Site) -> Site:
    """The same site with three slopes, two runs, and a lattice of 0.45 m."""
    search = replace(
        site.search,
        lattice_m=0.45,
        finest_lattice_m=0.45,
        slope_levels=3,
        most_runs=2,
        longest_run_m=12.0,
        time_limit_s=300.0,
    )
    return replace(site, search=search)


@cache
def coarse_scene(name: str) -> Site:
    """A scene as read, on the coarser lattice."""
    return coarse(read_site(TOP / "scenes" / name))


@cache
def ceiling_of(name: str) -> int:
    """A quarter more than a scene's best: every layout up to this is looked at."""
    solved = solve_shapes(coarse_scene(name))
    assert solved.status == "optimal_on_lattice"
    assert solved.best_cents is not None
    return solved.best_cents * 5 // 4
