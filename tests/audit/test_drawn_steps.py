"""A flight of steps: level treads one riser apart, from the landing's edge down."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from optimizer.audit.check_faces import check_steps
from optimizer.audit.drawn_model import DrawnPart
from optimizer.audit.judge import Words
from optimizer.plan import Piece

Array = NDArray[np.float64]
WORDS = Words("mm", 0.001)
#: Three treads of 0.28 m, four risers of 0.17 m, down +x from a landing's edge at level 0.6.
GOING_M, RISER_M, TREADS, TOP_M = 0.28, 0.17, 3, 0.6


def build_piece() -> Piece:
    run, fall = TREADS * GOING_M, TREADS * RISER_M
    return Piece(
        id="F1",
        catalogue_id="flight",
        kind="steps",
        use=None,
        run=None,
        # Walking down +x the left side is +y.
        corners_m=((0, 1, TOP_M), (0, 0, TOP_M), (run, 0, TOP_M - fall), (run, 1, TOP_M - fall)),
        slope=RISER_M / GOING_M,
    )


def build_treads() -> Array:
    triangles = []
    for k in range(TREADS):
        x0, x1, z = k * GOING_M, (k + 1) * GOING_M, TOP_M - (k + 1) * RISER_M
        ring = np.array([[x0, 0, z], [x1, 0, z], [x1, 1, z], [x0, 1, z]])
        triangles += [ring[[0, 1, 2]], ring[[0, 2, 3]]]
    return np.array(triangles)


def disagreeing(triangles: Array) -> set[str]:
    part = DrawnPart("steps F1", "piece", "F1", "steps", "flight", "", len(triangles), triangles)
    findings = list(check_steps(WORDS, build_piece(), part))
    assert len({finding.clause for finding in findings}) == 6
    return {finding.clause for finding in findings if finding.verdict == "disagrees"}


def test_steps_as_planned_agree() -> None:
    assert disagreeing(build_treads()) == set()


@pytest.mark.parametrize("tread", range(TREADS))
def test_a_tread_two_millimetres_low_is_a_level(tread: int) -> None:
    triangles = build_treads()
    triangles[2 * tread : 2 * tread + 2, :, 2] -= 0.002
    assert disagreeing(triangles) == {"drawn.level"}


def test_a_tread_that_slopes_is_not_flat() -> None:
    triangles = build_treads()
    triangles[2:4, :, 2] += 0.0018 * (triangles[2:4, :, 1] - 0.5)
    assert disagreeing(triangles) == {"drawn.flat"}


def test_a_tread_that_is_missing_leaves_an_opening() -> None:
    assert disagreeing(np.delete(build_treads(), [2, 3], axis=0)) == {"drawn.level", "drawn.openings"}


def test_a_flight_that_stands_aside_or_reaches_further() -> None:
    triangles = build_treads()
    triangles[:, :, 1] += 0.002
    assert disagreeing(triangles) == {"drawn.place"}
    triangles = build_treads()
    triangles[4:, :, 0][triangles[4:, :, 0] > 0.8] += 0.003
    assert disagreeing(triangles) == {"drawn.place", "drawn.length"}
