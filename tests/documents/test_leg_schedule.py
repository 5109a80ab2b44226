"""The leg schedule, read back by a second library and compared with the plan."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from optimizer.documents.leg_schedule import (
    CUT_A_SEAT,
    ON_A_THING,
    build_leg_schedule,
    measure_slope_at,
    set_leg_schedule,
)
from tests.documents.jobs_to_print import SHAPES, SYSTEMS, System, build_job, read_pages, say_height
from tests.layout.plane_layouts import FALL_U, FALL_V
from tests.search.flat_yard import falling_ground


@pytest.mark.parametrize("system", SYSTEMS)
@pytest.mark.parametrize("shape", SHAPES)
def test_every_leg_stands_on_paper_with_its_height(shape: str, system: System) -> None:
    job = build_job(shape, system)
    text = " ".join(read_pages(set_leg_schedule(job, "pdf")[0]))
    assert f"{len(job.candidate.legs)} supports" in text
    for leg in job.candidate.legs:
        row = text[text.index(f"{leg.id} {leg.piece} {leg.station}") :][:200]
        assert f" {say_height(system, leg.height_m)} " in row
        assert leg.leg_type in row
        assert leg.foot in row


@pytest.mark.parametrize("shape", SHAPES)
def test_places_are_along_and_out_from_the_wall_to_a_millimetre(shape: str) -> None:
    job = build_job(shape, "mm")
    start = job.site.yard.starts[0]
    out = np.array(start.outward)
    right = np.array([out[1], -out[0]])
    for row, leg in zip(build_leg_schedule(job).rows, job.candidate.legs, strict=True):
        along, side = row[2].replace("\u00a0", " ").rsplit(" ", 1)
        sign = 1 if side == "right" else -1
        found = np.array(start.midpoint_m) + sign * float(along.removesuffix(" m")) * right
        found = found + float(row[3].replace("\u00a0m", "")) * out
        assert math.dist(found, (leg.x_m, leg.y_m)) <= 0.0005 * math.sqrt(2) + 1e-9


def test_the_slope_of_a_plane_is_its_own() -> None:
    ground = falling_ground(FALL_U, FALL_V)
    assert measure_slope_at(ground, 1.0, 2.0) == pytest.approx(math.hypot(FALL_U, FALL_V), abs=1e-9)


def test_ground_that_is_not_surveyed_has_no_slope() -> None:
    assert measure_slope_at(falling_ground(FALL_U, FALL_V), 1e4, 1e4) is None


@pytest.mark.parametrize(("fall", "is_marked"), [(0.0999, False), (0.1, False), (0.1001, True)])
def test_a_seat_is_cut_where_the_ground_is_steeper_than_the_foot_follows(
    fall: float,
    is_marked: bool,  # noqa: FBT001 (what is expected)
) -> None:
    job = build_job("straight", "mm")
    feet = tuple(replace(foot, swivel_limit=0.1) for foot in job.site.catalogue.feet)
    catalogue = replace(job.site.catalogue, feet=feet)
    steep = replace(job, site=replace(job.site, catalogue=catalogue, ground=falling_ground(fall, 0.0)))
    legs = tuple(
        leg.model_copy(
            update={"ground_elevation_m": steep.site.ground.elevation_at(leg.x_m, leg.y_m)},
        )
        for leg in job.candidate.legs
    )
    steep = replace(steep, candidate=job.candidate.model_copy(update={"legs": legs}))
    assert [CUT_A_SEAT in row[-1] for row in build_leg_schedule(steep).rows] == [is_marked] * len(legs)


def test_marks_of_the_range_and_of_a_foot_on_a_thing() -> None:
    job = build_job("straight", "mm")
    leg = job.candidate.legs[0]
    changed = (
        leg.model_copy(update={"height_m": leg.range_m[1] - leg.reserve_m - 0.2, "height_error_m": 0.001}),
        leg.model_copy(update={"height_m": leg.range_m[1] - 0.5 * leg.reserve_m}),
        leg.model_copy(update={"height_m": leg.range_m[1] + 0.001}),
        leg.model_copy(update={"height_error_m": 0.004, "is_near_end": True}),
        leg.model_copy(update={"ground_elevation_m": leg.ground_elevation_m + 0.1, "height_error_m": 0.001}),
    )
    marked = replace(job, candidate=job.candidate.model_copy(update={"legs": changed}))
    marks = [row[-1] for row in build_leg_schedule(marked).rows]
    assert marks == ["", "in its reserve", "out of range", "shoot again", ON_A_THING]


@pytest.mark.parametrize(
    ("error_m", "told"),
    [(0.0, "1 mm"), (0.0005, "1 mm"), (0.00051, "2 mm"), (0.004, "8 mm"), (0.0041, "9 mm")],
)
def test_plus_minus_is_two_standard_errors_rounded_up(error_m: float, told: str) -> None:
    job = build_job("straight", "mm")
    leg = job.candidate.legs[0].model_copy(update={"height_error_m": error_m})
    one = replace(job, candidate=job.candidate.model_copy(update={"legs": (leg,)}))
    assert build_leg_schedule(one).rows[0][6] == told.replace(" ", "\u00a0")


def test_the_schedule_goes_on_over_pages_with_its_head_and_the_same_bytes() -> None:
    job = build_job("sixty pieces", "mm")
    pdf = set_leg_schedule(job, "pdf")
    pages = read_pages(pdf[0])
    assert len(pages) >= 4
    assert all("leg under along out type height" in page for page in pages[:-1])
    assert pdf == set_leg_schedule(job, "pdf")
