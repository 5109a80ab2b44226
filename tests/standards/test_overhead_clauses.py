"""What hangs over the way, and the underside over people below: least heights, on and beside the limit.

Limits: International Building Code 2018, 1012.5.2 (80 in over ramps and landings); England, Approved
Document K 2.7 (a soffit less than 2 m over a floor is guarded); Ireland, TGD M 1.3.4.4 (2100 mm).
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from optimizer.plan import Candidate, Finding
from optimizer.rulebook.rules import Limit
from optimizer.standards.check_candidate import CheckCase
from tests.standards.damage import box_at, change_yard, middle_of, with_zone
from tests.standards.ramp_on_a_plane import build_ramp
from tests.standards.rulings_by_hand import judge, make_limit

HEADROOM = make_limit("headroom", ">=", 80 * 0.0254)
SOFFIT = make_limit("soffit", ">=", 2.0)
RAMP, CASE = build_ramp()
DEPTH_M = 0.05


def by_subject(candidate: Candidate, case: CheckCase, *limits: Limit) -> dict[str, Finding]:
    return {finding.subject: finding for finding in judge(candidate, case, *limits)}


@pytest.mark.parametrize("kind", ["headroom", "wire"])
@pytest.mark.parametrize(("spare_m", "verdict"), [(0.0, "meets"), (-1e-5, "fails"), (0.3, "meets")])
def test_the_free_height_over_a_landing(kind: str, spare_m: float, verdict: str) -> None:
    deck = RAMP.pieces[1].corners_m[0][2]
    case = with_zone(CASE, kind, box_at(middle_of(RAMP, "L0"), 0.2), deck + 80 * 0.0254 + spare_m, 0.1)
    found = by_subject(RAMP, case, HEADROOM)
    assert found["L0"].verdict == verdict
    assert found["L0"].measured == pytest.approx(80 * 0.0254 + spare_m)
    assert found["run 1"].verdict == "does not apply"


def test_over_a_run_the_highest_deck_below_and_the_lowest_zone_count() -> None:
    section = next(piece for piece in RAMP.pieces if piece.id == "S1.2")
    upper, lower = section.corners_m[0][2], section.corners_m[3][2]
    everywhere = np.array([[corner[0], corner[1]] for corner in section.corners_m])
    low = with_zone(CASE, "headroom", everywhere, upper + 2.2, 0.1)
    zones = (*low.yard.zones, replace(low.yard.zones[0], name="lower", underside_m=upper + 2.1))
    found = by_subject(RAMP, change_yard(low, zones=zones), HEADROOM)
    assert found["run 1"].measured == pytest.approx(2.1, abs=1e-5)
    assert '"lower"' in found["run 1"].text
    assert lower < upper


def test_a_zone_without_an_underside_leaves_the_height_open() -> None:
    case = with_zone(CASE, "headroom", box_at(middle_of(RAMP, "L0"), 0.2), None, 0.1)
    assert by_subject(RAMP, case, HEADROOM)["L0"].verdict == "cannot tell"


def build_high(surface_m: float) -> tuple[Candidate, CheckCase]:
    """A landing whose surface lies so high over level ground."""
    return build_ramp(slope=math.tan(math.asin(surface_m / 6.9)), gradient=(0.0, 0.0))


@pytest.mark.parametrize(
    ("asked_m", "verdict"), [(0.6, "meets"), (0.60001, "cannot tell"), (2.0, "cannot tell")]
)
def test_a_low_underside_is_for_the_authority_to_judge(asked_m: float, verdict: str) -> None:
    limit = make_limit("soffit", ">=", asked_m)
    found = by_subject(*build_high(0.6 + DEPTH_M), limit)["L0"]
    assert (found.verdict, found.measured) == (verdict, pytest.approx(0.6))


@pytest.mark.parametrize(("underside_m", "verdict"), [(0.5, "cannot tell"), (0.49999, "does not apply")])
def test_nobody_passes_below_an_underside_lower_than_half_a_metre(underside_m: float, verdict: str) -> None:
    found = by_subject(*build_high(underside_m + DEPTH_M), SOFFIT)["L0"]
    assert found.verdict == verdict


def test_a_run_tells_its_least_and_its_greatest_underside() -> None:
    candidate, case = build_high(0.7)
    end = next(piece for piece in candidate.pieces if piece.id == "S1.3").corners_m[3][2]
    found = by_subject(candidate, case, SOFFIT)["run 1"]
    assert found.measured == pytest.approx(end - DEPTH_M - 0.35, abs=1e-4)
    assert "0.650 m above the ground, less than 2 m in places; whether people may walk" in found.text


def test_an_underside_over_unknown_ground_cannot_be_told() -> None:
    candidate, case = build_high(0.7)
    x, y, _ = candidate.toe.tip_m
    square = np.array([[x - 4, y - 4], [x + 4, y - 4], [x + 4, y + 4], [x - 4, y + 4]])
    ground = replace(
        case.ground,
        triangles_xy=np.array([square[[0, 1, 2]], square[[0, 2, 3]]]),
        triangles_z=np.full((2, 3), 0.35),
        outline_m=(square,),
    )
    found = by_subject(candidate, replace(case, ground=ground), SOFFIT)
    assert found["L0"].text == "L0: cannot tell, the ground below is not surveyed."
    assert "part of the ground below is not surveyed" in found["run 1"].text
