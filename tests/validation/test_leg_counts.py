"""How many legs stand under three ramps.

Common practice, no source: four legs under a landing, six under a half turn, two at each joint
inside a run; the ends of a run bear on its landings; the two low supports at the hinge of the
transition plate are counted apart.
Landing and three sections: 4 + 2 x 2 = 8.  Landing, two sections, quarter turn, three sections:
4 + 2 + 4 + 2 x 2 = 14; with a half turn in its place 16.  Whole numbers, no tolerance.
"""

from __future__ import annotations

import pytest

from optimizer.layout.build_layout import build_layout
from optimizer.standards.check_candidate import check_candidate
from optimizer.standards.measure_chain import measure_chain
from optimizer.standards.stations import count_supports, find_stations
from tests.layout.plane_layouts import LAYOUTS, plane_site
from tests.standards.ramp_on_a_plane import build_ramp

RUNS = (("section",) * 2, ("section",) * 3)


@pytest.mark.parametrize(
    ("runs", "turns", "legs"),
    [
        ((("section",) * 3,), (), 8),
        (RUNS, ("right",), 14),
        (RUNS, ("left",), 14),
        (RUNS, ("half_right",), 16),
        (RUNS, ("half_left",), 16),
    ],
)
def test_the_checker_asks_for_as_many_legs_as_the_structure_has(
    runs: tuple[tuple[str, ...], ...], turns: tuple[str, ...], legs: int
) -> None:
    candidate, case = build_ramp(runs, turns)
    chain, _ = measure_chain(candidate, case.catalogue)
    assert chain is not None
    assert count_supports(chain) == legs
    assert len(find_stations(chain)) == legs + 2
    counted = [f for f in check_candidate(candidate, case) if f.clause == "build.support_count"]
    assert [(f.verdict, f.measured) for f in counted] == [("meets", 0.0)]
    assert len(candidate.legs) == legs + 2


def test_a_section_that_asks_for_mid_supports_has_two_more() -> None:
    candidate, case = build_ramp((("section-long", "section"),))
    chain, _ = measure_chain(candidate, case.catalogue)
    assert chain is not None
    assert count_supports(chain) == 4 + 2 + 2


@pytest.mark.parametrize("name", LAYOUTS)
def test_a_layout_is_laid_on_as_many_legs_as_the_structure_has(name: str) -> None:
    threshold_m, spec, legs = LAYOUTS[name]
    stations = [leg.station for leg in build_layout(plane_site(threshold_m), spec).legs]
    hinge = [station for station in stations if station.startswith("hinge-")]
    assert len(stations) - len(hinge) == legs
    assert hinge == ["hinge-left", "hinge-right"]
