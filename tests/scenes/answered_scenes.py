"""Each demo scene planned once for all tests of one process, by the command a person would type."""

from __future__ import annotations

import tempfile
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

from optimizer.brief.read_site import read_site
from optimizer.brief.site import Site
from optimizer.cli import run_command
from optimizer.layout.spec import Exit as Leaves
from optimizer.plan import Plan
from optimizer.plan_file import read_plan
from optimizer.search.solve_shapes import SolvedShapes, solve_shapes

SCENES = Path(__file__).parents[2] / "scenes"
#: A slow machine, or one that has to compile first, shall not decide an answer.
ENOUGH_S = 600.0


@dataclass(frozen=True, slots=True)
class Answer:
    """What `evenfall plan` says of a scene, and its exit code."""

    exit_code: int
    plan: Plan


@dataclass(frozen=True, slots=True)
class Winner:
    """What is on record for a scene: shape and least direct cost of its cheapest layout."""

    shape: str
    leaves: Leaves
    turns: tuple[str, ...]
    cost_cents: int


@cache
def answer_scene(name: str) -> Answer:
    """The scene planned without pictures."""
    with tempfile.TemporaryDirectory() as out:
        code = run_command(
            ["plan", str(SCENES / name), "--out", out, "--pictures", "none", "--time-limit", str(ENOUGH_S)]
        )
        return Answer(code, read_plan(Path(out) / "plan.json"))


@cache
def scene(name: str) -> Site:
    """The scene as read, with all the time it needs."""
    site = read_site(SCENES / name)
    return replace(site, search=replace(site.search, time_limit_s=ENOUGH_S))


def solve_proven(site: Site) -> SolvedShapes:
    """A site's best layout, proven cheapest (or proven to be missing)."""
    solved = solve_shapes(site)
    assert solved.status in ("optimal_on_lattice", "infeasible_on_lattice")
    return solved


def least_cents(site: Site) -> int:
    """Direct cost of the cheapest layout of a site that has one."""
    best = solve_proven(site).best_cents
    assert best is not None
    return best


def winning_turns(site: Site) -> tuple[str, tuple[str, ...]]:
    """By which side the cheapest layout leaves, and how it turns."""
    best = solve_proven(site).shapes[0]
    return best.exit, best.turns
