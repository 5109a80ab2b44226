"""Ramps to draw, on their sites, as a plan of one candidate each; in metric and in US units."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache

from optimizer.brief.site import DisplayUnits, Site
from optimizer.drawings.build_set import build_set
from optimizer.drawings.scales import choose_kind
from optimizer.drawings.set_sheets import DrawingSet, set_drawings
from optimizer.plan import Candidate, Plan
from optimizer.record_rules import record_rules
from tests.assembly.ramps_to_build import build_ramp
from tests.planned_scene import planned, planned_site

UNITS = {"mm": DisplayUnits("mm", 0.001), "ft-in": DisplayUnits("ft-in", 0.0254 / 8)}
#: The shapes that every kind of sheet is tried on, by the names of the ramps to build.
RAMPS = ("straight", "quarter turn right", "five runs", "sixty pieces", "retaining wall")


@dataclass(frozen=True, slots=True)
class Drawn:
    """A candidate, its site in one system of units, and the set made of it."""

    site: Site
    plan: Plan
    drawings: DrawingSet

    @property
    def candidate(self) -> Candidate:
        return self.plan.candidates[0]


@cache
def draw_ramp(name: str, units: str) -> Drawn:
    if name == "retaining wall":
        site, candidate = planned_site(), planned().candidates[0]
    else:
        ramp = build_ramp(name)
        site, candidate = ramp.site, ramp.candidate
    site = replace(site, display=UNITS[units])
    rules = record_rules(site.rulings.sets)
    plan = planned().model_copy(update={"candidates": (candidate,), "rules": rules})
    return Drawn(site, plan, build_set(site, plan, 1, choose_kind(site.display.system)))


@cache
def draw_pdf(name: str, units: str) -> bytes:
    (pdf,) = set_drawings(draw_ramp(name, units).drawings, "pdf")
    return pdf
