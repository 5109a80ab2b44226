"""The job made by hand, built once."""

from __future__ import annotations

import pytest

from optimizer.brief.site import Site
from optimizer.plan import Candidate, Plan
from tests.viewer import sample
from viewer.meshes import draw_scene
from viewer.solids import NamedMesh


@pytest.fixture(scope="session")
def site() -> Site:
    return sample.build_site()


@pytest.fixture(scope="session")
def plan(site: Site) -> Plan:
    return sample.build_plan(site)


@pytest.fixture(scope="session")
def candidate(plan: Plan) -> Candidate:
    return plan.candidates[0]


@pytest.fixture(scope="session")
def meshes(site: Site, candidate: Candidate) -> tuple[NamedMesh, ...]:
    return draw_scene(site, candidate)
