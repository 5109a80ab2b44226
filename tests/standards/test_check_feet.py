"""Feet stand off the bottom pad, or where none is made off the bottom space (common practice, no source)."""

from __future__ import annotations

import math

import pytest

from optimizer.plan import Candidate, Finding
from optimizer.standards.check_candidate import CheckCase, check_candidate
from tests.standards.damage import change_leg, failed_clauses
from tests.standards.invented_parts import FOOT_SIDE
from tests.standards.ramp_on_a_plane import build_ramp

RADIUS = FOOT_SIDE / math.sqrt(2.0) + 0.02
#: Length and width, and the ramp that ends there.
ENDS = {
    "the bottom space": (1.524, 1.524, build_ramp(pad=False)),
    "the bottom pad": (1.6, 1.6, build_ramp(pad=True)),
}


def look(laid: tuple[Candidate, CheckCase], along_m: float, right_m: float) -> Finding:
    """The clause for one leg put so far beyond the tip and to the right of its middle."""
    candidate, case = laid
    start = case.yard.starts[0]
    out_x, out_y = (float(value) for value in start.outward)
    x, y, _ = candidate.toe.tip_m
    leg = candidate.legs[0].id
    moved = change_leg(
        candidate, leg, x_m=x + along_m * out_x + right_m * out_y, y_m=y + along_m * out_y - right_m * out_x
    )
    (finding,) = (
        finding
        for finding in check_candidate(moved, case)
        if (finding.clause, finding.subject) == ("build.foot_off_pad", leg)
    )
    return finding


@pytest.mark.parametrize("end", ENDS)
@pytest.mark.parametrize(("in_m", "verdict"), [(0.0, "meets"), (1e-5, "fails")])
@pytest.mark.parametrize("place", ["right", "left", "beyond", "before", "corner"])
def test_a_foot_touches_the_ground_kept_free_and_no_more(
    end: str, in_m: float, verdict: str, place: str
) -> None:
    length, width, laid = ENDS[end]
    off = RADIUS - in_m
    slant = off / math.sqrt(2.0)
    along, right = {
        "right": (length / 2, width / 2 + off),
        "left": (length / 3, -width / 2 - off),
        "beyond": (length + off, 0.2),
        "before": (-off, -0.1),
        "corner": (length + slant, width / 2 + slant),
    }[place]
    finding = look(laid, along, right)
    assert finding.verdict == verdict
    assert finding.limit == pytest.approx(RADIUS)
    assert f"lies off {end} by" in finding.text


def test_with_a_pad_its_own_rectangle_counts_which_is_larger_than_the_space() -> None:
    beside = (0.7, 1.524 / 2 + RADIUS + 0.001)
    assert look(ENDS["the bottom space"][2], *beside).verdict == "meets"
    assert look(ENDS["the bottom pad"][2], *beside).verdict == "fails"


def test_a_foot_in_the_middle_of_the_pad_fails() -> None:
    finding = look(ENDS["the bottom pad"][2], 0.8, 0.0)
    assert (finding.verdict, finding.measured) == ("fails", 0.0)


@pytest.mark.parametrize("end", ENDS)
def test_the_supports_at_the_hinge_stand_clear_of_it(end: str) -> None:
    candidate, case = ENDS[end][2]
    hinges = {leg.id for leg in candidate.legs if leg.station.startswith("hinge")}
    found = [one for one in check_candidate(candidate, case) if one.clause == "build.foot_off_pad"]
    assert {one.subject for one in found} == {leg.id for leg in candidate.legs} > hinges
    # The plate of 0.9 m lies between the hinge and the tip.
    measured = [one.measured for one in found if one.subject in hinges]
    assert [value for value in measured if value is not None and value > 0.89] == measured
    assert "build.foot_off_pad" not in failed_clauses(candidate, case)
