"""Ramps of every shape to put up and take down: on a plane, at an existing edge, and with steps."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from optimizer.brief.site import Site
from optimizer.layout.spec import LayoutSpec, TurnKind, TurnSpec
from optimizer.pipeline import build_checked
from optimizer.plan import Candidate
from tests.layout.plane_layouts import FLUSH_LEFT_M, LAYOUTS, SECTION_M, plane_site, spec_of
from tests.layout.steps_at_the_door import level_site
from tests.planned_scene import planned, planned_site

#: Sections in each of five runs with half turns between them, and of the longest ramp.
FIVE_RUNS = (2, 2, 2, 2, 2)
#: 48 sections in nine runs, nine landings, two plates and a pad.
SIXTY = (5, 5, 5, 5, 5, 5, 5, 5, 8)


@dataclass(frozen=True, slots=True)
class Ramp:
    """A candidate on its site."""

    site: Site
    candidate: Candidate

    @property
    def door(self) -> tuple[float, float]:
        x, y = np.array(self.site.yard.starts[0].midpoint_m).tolist()
        return float(x), float(y)


def fold(runs: tuple[int, ...], slope: float) -> LayoutSpec:
    """Runs that turn by half, now left, now right."""
    spec = spec_of(runs, "half_left", slope=slope)
    kinds: tuple[TurnKind, TurnKind] = ("half_left", "half_right")
    turns = tuple(
        TurnSpec(kinds[i % 2], "landing-half-94", FLUSH_LEFT_M, FLUSH_LEFT_M) for i in range(len(runs) - 1)
    )
    return replace(spec, turns=turns)


@cache
def build_ramp(name: str) -> Ramp:
    """One of ``NAMES``; built once."""
    if name == "porch edge":
        return Ramp(planned_site(), planned().candidates[0])
    if name == "with steps":
        wanted = level_site()
        spec = LAYOUTS["straight"][1]
        return Ramp(wanted, build_checked(wanted, spec, "candidate 1", "typed by hand", None, "as typed"))
    if name in LAYOUTS:
        threshold_m, spec, _ = LAYOUTS[name]
    else:
        runs = {"five runs": FIVE_RUNS, "sixty pieces": SIXTY, "one section a run": (1, 1, 1)}[name]
        slope = 1 / 12 if len(runs) < 5 else 1 / 60
        spec, threshold_m = fold(runs, slope), 0.25 + SECTION_M * slope * sum(runs)
    site = plane_site(threshold_m)
    return Ramp(site, build_checked(site, spec, "candidate 1", "typed by hand", None, "as typed"))


NAMES = (*LAYOUTS, "five runs", "sixty pieces", "one section a run", "porch edge", "with steps")
