"""The drawing of the field sheet: true to scale, never mirrored, no words over others."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import combinations

import pytest

from optimizer.assembly.build_order import find_build_order
from optimizer.documents.first_shots import list_first_shots
from optimizer.documents.labels import Label, build_label, find_overlaps, is_inside
from optimizer.documents.layout_drawing import LayoutDrawing, Room, draw_layout
from optimizer.documents.layout_view import Window
from optimizer.errors import InputError
from tests.documents.jobs_to_print import SHAPES, SYSTEMS, System, build_job

FIRST, MORE = Room(182.0, 130.0), Room(182.0, 240.0)
DRAWN = (*SHAPES, "sixty pieces")


def draw(shape: str, system: System, first: Room = FIRST, more: Room = MORE) -> tuple[LayoutDrawing, ...]:
    job = build_job(shape, system)
    steps = find_build_order(job.candidate, job.site.catalogue)
    return draw_layout(job, steps, list_first_shots(job), first, more)


@pytest.mark.parametrize("system", SYSTEMS)
@pytest.mark.parametrize("shape", DRAWN)
def test_no_words_lie_over_others_or_over_the_edge(shape: str, system: System) -> None:
    for i, drawing in enumerate(draw(shape, system)):
        room = MORE if i else FIRST
        assert drawing.width_mm <= room.width_mm
        assert drawing.height_mm <= room.height_mm
        for one, other in combinations(drawing.labels, 2):
            apart_x = abs(one.x_mm - other.x_mm) - 0.5 * (one.width_mm + other.width_mm)
            apart_y = abs(one.y_mm - other.y_mm) - 0.5 * (one.height_mm + other.height_mm)
            assert max(apart_x, apart_y) > -1e-6, (one.lines, other.lines)
        for one in drawing.labels:
            assert 0.5 * one.width_mm - 1e-9 <= one.x_mm <= drawing.width_mm - 0.5 * one.width_mm + 1e-9
            assert 0.5 * one.height_mm - 1e-9 <= one.y_mm <= drawing.height_mm - 0.5 * one.height_mm + 1e-9


@pytest.mark.parametrize("system", SYSTEMS)
@pytest.mark.parametrize("shape", DRAWN)
def test_all_parts_together_name_every_piece_and_every_leg_once(shape: str, system: System) -> None:
    labels = [label for drawing in draw(shape, system) for label in drawing.labels]
    candidate = build_job(shape, system).candidate
    walked = [
        piece.id for piece in candidate.pieces if piece.kind in ("landing", "section", "transition_plate")
    ]
    assert sorted(label.lines[0] for label in labels if label.kind == "piece") == sorted(walked)
    legs = [label.lines[0].split(" ")[0] for label in labels if label.kind == "leg"]
    assert sorted(legs) == sorted(leg.id for leg in candidate.legs)
    numbers = [label.number for label in labels if label.kind == "piece"]
    assert len({*numbers}) == len(walked)


@pytest.mark.parametrize("shape", DRAWN)
def test_feet_are_as_far_apart_on_paper_as_the_scale_says(shape: str) -> None:
    """As 9.144 m at 1:50 are 182.88 mm: on the plan's own feet."""
    candidate = build_job(shape, "mm").candidate
    feet = [(leg.x_m, leg.y_m) for leg in candidate.legs]
    seen = 0
    for drawing in draw(shape, "mm"):
        own = feet[seen : seen + len(drawing.dots_mm)]
        seen += len(own)
        for (i, one), (j, other) in combinations(enumerate(own), 2):
            on_paper = math.dist(drawing.dots_mm[i], drawing.dots_mm[j])
            assert on_paper == pytest.approx(math.dist(one, other) * 1000 / drawing.scale, abs=1e-6)
    assert seen == len(feet)


@pytest.mark.parametrize("shape", DRAWN)
def test_the_drawing_is_never_mirrored(shape: str) -> None:
    """Three feet that turn left on the ground turn left on paper, where y runs down."""
    candidate = build_job(shape, "mm").candidate
    drawing = draw(shape, "mm")[0]
    a, b, c = (candidate.legs[i] for i in (0, 1, 2))
    ground = (b.x_m - a.x_m) * (c.y_m - a.y_m) - (b.y_m - a.y_m) * (c.x_m - a.x_m)
    (ax, ay), (bx, by), (cx, cy) = drawing.dots_mm[:3]
    paper = (bx - ax) * (cy - ay) - (by - ay) * (cx - ax)
    assert abs(ground) > 1e-3
    assert math.copysign(1, ground) == -math.copysign(1, paper)


def test_both_ways_of_laying_the_house_keep_right_on_the_right() -> None:
    """Looking out of the door: right is right with the house below, and below with the house at the left."""
    below = Window((0.0, 0.0), (4.0, 6.0), 50, "house below")
    assert below.to_mm((1.0, 0.0)) == (20.0, 120.0)
    assert below.to_mm((1.0, 2.0)) == (20.0, 80.0)
    left = Window((0.0, 0.0), (4.0, 6.0), 50, "house left")
    assert left.to_mm((1.0, 0.0)) == (0.0, 20.0)
    assert left.to_mm((1.0, 2.0)) == (40.0, 20.0)
    assert left.size_mm == (120.0, 80.0)


def test_what_does_not_fit_on_one_page_is_split_and_never_squeezed() -> None:
    whole = draw("straight", "mm", Room(400.0, 400.0))
    assert len(whole) == 1
    assert whole[0].look == "settings"
    parts = draw("sixty pieces", "ft-in")
    assert len(parts) > 1
    assert [one.part for one in parts] == list(range(1, len(parts) + 1))
    assert {one.parts for one in parts} == {len(parts)}
    assert max(one.scale for one in parts) <= 72


def test_a_page_too_small_for_one_piece_is_refused_by_name() -> None:
    with pytest.raises(InputError, match="P1: its numbers do not fit"):
        draw("straight", "mm", Room(30.0, 30.0), Room(30.0, 30.0))


def test_overlaps_are_told_exactly_on_and_just_off() -> None:
    one = build_label("leg", ("L01",), (20.0, 20.0))
    beside = replace(one, x_mm=one.x_mm + one.width_mm)
    assert find_overlaps((one, beside)) == []
    nearer = replace(beside, x_mm=beside.x_mm - 0.001)
    assert find_overlaps((one, nearer)) == [(one, nearer)]
    edge: Label = replace(one, x_mm=0.5 * one.width_mm, y_mm=0.5 * one.height_mm)
    assert is_inside(edge, 100.0, 100.0)
    assert not is_inside(replace(edge, x_mm=edge.x_mm - 0.001), 100.0, 100.0)
