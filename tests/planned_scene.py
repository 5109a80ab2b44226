"""A demo scene planned once for all tests of one process: the one that is searched fastest."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from optimizer.brief.read_site import read_site
from optimizer.brief.site import Site
from optimizer.pipeline import make_plan
from optimizer.plan import Plan

SCENES = Path(__file__).parents[1] / "scenes"
NAME = "retaining-wall"


@cache
def planned_site() -> Site:
    return read_site(SCENES / NAME)


@cache
def planned() -> Plan:
    return make_plan(planned_site())
