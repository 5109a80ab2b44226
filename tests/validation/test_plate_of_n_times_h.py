"""How long the transition plate of a hinge must be.

Our own geometry, no source: at 1:n a hinge at height h over level ground needs a plate of plan
length n h, that is a surface length of h sqrt(1 + n^2).  Common practice, no source, takes n h for
the plate itself (1:12: 24 in for a hinge 2 in up, 36 for 3, 48 for 4); such a plate is steeper by
sqrt(1 - 1/n^2), 0.35 % at 1:12.  Tolerance 1e-7 on slopes: twelve steps of a fixed-point iteration.
"""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from optimizer.brief.site import Site
from optimizer.layout.build_layout import build_layout
from optimizer.plan import Piece
from tests.layout.plane_layouts import SECTION_M, plane_site, spec_of
from tests.search.flat_yard import INCH


def lay_plate(height_m: float, ratio: int, length_m: float) -> Piece:
    """The plate of a straight ramp of one section whose hinge lies at ``height_m`` over level ground."""
    slope = 1 / ratio
    site: Site = plane_site(height_m + SECTION_M * slope / math.hypot(1.0, slope), 0.0, 0.0)
    plates = tuple(
        replace(plate, length_m=length_m) if plate.id == "plate-60" else plate
        for plate in site.catalogue.transition_plates
    )
    site = replace(site, catalogue=replace(site.catalogue, transition_plates=plates))
    layout = build_layout(site, spec_of((1,), None, slope=slope))
    return next(piece for piece in layout.pieces if piece.kind == "transition_plate")


@pytest.mark.parametrize("ratio", [6, 10, 12, 20])
@pytest.mark.parametrize("height_in", [1, 2, 3, 4])
def test_a_plate_of_plan_length_n_h_lies_at_one_to_n(height_in: int, ratio: int) -> None:
    height_m = height_in * INCH
    plate = lay_plate(height_m, ratio, height_m * math.hypot(1.0, ratio))
    assert plate.slope == pytest.approx(1 / ratio, abs=1e-7)
    upper, _, _, lower = plate.corners_m
    assert math.dist(upper[:2], lower[:2]) == pytest.approx(ratio * height_m, abs=1e-6)


@pytest.mark.parametrize(("height_in", "plate_in"), [(2, 24), (3, 36), (4, 48)])
def test_the_plate_of_common_practice_is_a_little_too_steep(height_in: int, plate_in: int) -> None:
    plate = lay_plate(height_in * INCH, 12, plate_in * INCH)
    assert plate.slope == pytest.approx((1 / 12) / math.sqrt(1 - 1 / 144), abs=1e-7)
    assert 1.003 < plate.slope * 12 < 1.004
