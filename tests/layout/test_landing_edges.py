"""Where runs are fixed to a landing, measured on the placed rectangle."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from optimizer.catalogue.demo_files import demo_catalogue_path
from optimizer.catalogue.parts import Landing
from optimizer.catalogue.read_catalogue import read_catalogue
from optimizer.errors import InputError
from optimizer.layout.landing_edges import check_offset, find_departure
from optimizer.layout.spec import TurnKind
from optimizer.layout.strip import Strip

WIDTH_M = 1.05
EDGE_M = 1.65
#: What a run of WIDTH_M may be moved on an edge of EDGE_M, by hand.
ROOM_M = 0.30
ARRIVE_M, LEAVE_M = 0.11, -0.07
#: Corners of a strip (start-left, start-right, end-right, end-left) at the ends of each edge.
EDGE_CORNERS = {"left": (0, 3), "right": (1, 2), "start": (0, 1), "end": (3, 2)}
LEAVING_EDGE: dict[TurnKind, str] = {"straight": "end", "left": "left", "right": "right"}
HEADINGS = [(0.0, 1.0), (1.0, 0.0), (0.0, -1.0), (-1.0, 0.0)]


def landing() -> Landing:
    """A landing whose sizes differ, so that they cannot be mistaken for one another."""
    (one,) = (
        one
        for one in read_catalogue(demo_catalogue_path("demo-inch")).landings
        if one.id == "landing-half-94"
    )
    return replace(one, length_m=1.6, width_m=1.9)


def edge_middle(strip: Strip, edge: str) -> np.ndarray:
    corners = np.array(strip.corners())
    return corners[list(EDGE_CORNERS[edge])].mean(axis=0)


@pytest.mark.parametrize("heading", HEADINGS)
@pytest.mark.parametrize("kind", LEAVING_EDGE)
def test_both_runs_lie_as_far_right_of_their_edges_middles_as_they_are_told(
    kind: TurnKind, heading: tuple[float, float]
) -> None:
    arriving = Strip(3.0, 5.0, *heading, WIDTH_M, 0.0)
    departure = find_departure(landing(), kind, ARRIVE_M, LEAVE_M, WIDTH_M)
    placed = arriving.moved(0.0, departure.shift_m).laid(1.9, 1.6)
    right_of_arriving = np.array(arriving.point(0.0, 1.0)) - (3.0, 5.0)
    assert np.array([3.0, 5.0]) == pytest.approx(
        edge_middle(placed, "start") + ARRIVE_M * right_of_arriving, abs=1e-12
    )
    along, right = departure.heading
    ahead = along * np.array(heading) + right * right_of_arriving
    right_of_leaving = np.array([ahead[1], -ahead[0]])
    leaves_at = np.array(arriving.point(departure.along_m, departure.right_m))
    assert leaves_at == pytest.approx(
        edge_middle(placed, LEAVING_EDGE[kind]) + LEAVE_M * right_of_leaving, abs=1e-12
    )
    away = leaves_at - np.mean(placed.corners(), axis=0)
    assert away @ ahead == pytest.approx(1.6 / 2 if kind == "straight" else 1.9 / 2)


@pytest.mark.parametrize(("kind", "side"), [("half_left", -1.0), ("half_right", 1.0)])
def test_a_half_turn_fixes_its_runs_whatever_the_offsets(kind: TurnKind, side: float) -> None:
    told = find_departure(landing(), kind, ARRIVE_M, LEAVE_M, WIDTH_M)
    assert told == find_departure(landing(), kind, 0.0, 0.0, WIDTH_M)
    assert (told.along_m, told.right_m) == pytest.approx((0.0, side * (1.9 - WIDTH_M)))
    assert told.heading == (-1, 0)


@pytest.mark.parametrize("offset_m", [0.0, 0.1234, ROOM_M, ROOM_M + 0.9e-6])
@pytest.mark.parametrize("sign", [-1.0, 1.0])
def test_a_run_may_lie_anywhere_on_the_edge_with_its_whole_width(offset_m: float, sign: float) -> None:
    check_offset("attach", sign * offset_m, EDGE_M, WIDTH_M)


@pytest.mark.parametrize("offset_m", [ROOM_M + 1.1e-6, -ROOM_M - 1.1e-6, 1.0, float("inf"), float("nan")])
def test_a_run_that_leaves_the_edge_is_refused_with_what_it_may_be(offset_m: float) -> None:
    with pytest.raises(InputError) as caught:
        check_offset("attach", offset_m, EDGE_M, WIDTH_M)
    (fault,) = caught.value.faults
    assert fault.where == "attach"
    assert fault.remedy == "Give at most 0.3000 m either way."


def test_an_edge_carries_no_run_wider_than_itself() -> None:
    for edge_m in (WIDTH_M + 0.001, WIDTH_M):
        check_offset("attach", 0.0, edge_m, WIDTH_M)
    with pytest.raises(InputError, match=r"the edge is 1\.0490 m long, too short for a run 1\.0500 m wide"):
        check_offset("attach", 0.0, WIDTH_M - 0.001, WIDTH_M)
