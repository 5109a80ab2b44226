"""The field sheet as a second library reads it back: every number on it is the plan's."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from pypdf import PdfReader

from optimizer.assembly.build_order import find_build_order
from optimizer.catalogue.parts import Leg
from optimizer.documents.field_sheet import build_field_sheet, set_field_sheet
from optimizer.documents.first_shots import LEAST_SPACE_M, list_first_shots
from optimizer.terrain.yard import Obstacle
from tests.documents.jobs_to_print import SHAPES, SYSTEMS, System, build_job, read_pages, say_height

TEMPLATES = Path(__file__).parents[2] / "optimizer" / "documents"


def pages_of(shape: str, system: System) -> list[str]:
    return read_pages(set_field_sheet(build_job(shape, system), "pdf")[0])


@pytest.mark.parametrize("system", SYSTEMS)
@pytest.mark.parametrize("shape", SHAPES)
def test_every_drop_and_every_setting_on_paper_is_the_plan_s(shape: str, system: System) -> None:
    job = build_job(shape, system)
    text = " ".join(pages_of(shape, system))
    table = text[text.index("step where drop") : text.index("Mark on the ground")]
    walked = [
        piece for piece in job.candidate.pieces if piece.kind in ("landing", "section", "transition_plate")
    ]
    top_m = walked[0].corners_m[0][2]
    for piece in walked:
        where = {"landing": "end", "transition_plate": "tip, on the ground"}.get(piece.kind, "(?:to|on) \\w+")
        drop = re.escape(say_height(system, top_m - piece.corners_m[2][2]))
        assert re.search(rf"\b{piece.id} {where} {drop}", table), piece.id
    for leg in job.candidate.legs:
        assert f"{leg.id} {leg.leg_type} {say_setting(shape, system, leg.id)}" in table, leg.id


def say_setting(shape: str, system: System, name: str) -> str:
    """From the plan's own numbers: its hole and what its height leaves beyond it."""
    job = build_job(shape, system)
    leg = next(one for one in job.candidate.legs if one.id == name)
    part = job.site.catalogue.part(leg.leg_type)
    if not isinstance(part, Leg):
        return f"height {say_height(system, leg.height_m)}"
    hole = re.match(r"hole (\d+)", leg.setting)
    if hole is None:
        return f"screw {say_height(system, leg.height_m - leg.range_m[0])}"
    beyond_m = leg.height_m - leg.range_m[0] - int(hole[1]) * part.pin_pitch_m
    return f"hole {hole[1]}, screw {say_height(system, max(0.0, beyond_m))}"


@pytest.mark.parametrize("shape", SHAPES)
def test_in_millimetres_the_setting_is_the_plan_s_word_for_word(shape: str) -> None:
    text = " ".join(pages_of(shape, "mm"))
    for leg in build_job(shape, "mm").candidate.legs:
        assert f"{leg.id} {leg.leg_type} {leg.setting}" in text


@pytest.mark.parametrize("shape", SHAPES)
def test_the_first_page_has_the_first_box_the_drawing_and_the_heaviest_lift(shape: str) -> None:
    first = pages_of(shape, "mm")[0]
    assert "Before anything is unloaded" in first
    assert "Heaviest lift:" in first
    assert "drop below the" in first
    job = build_job(shape, "mm")
    heaviest = max(
        step.lift.weight_kg
        for step in find_build_order(job.candidate, job.site.catalogue)
        if step.lift is not None
    )
    assert f"{heaviest:.0f} kg" in first


@pytest.mark.parametrize("shape", SHAPES)
def test_the_last_page_ends_with_the_way_out_and_care_comes_before(shape: str) -> None:
    text = " ".join(pages_of(shape, "mm"))
    for caution in (
        "Eye and hand protection",
        "Lift as a team",
        "Nobody under a piece that is not fully supported",
        "Utilities located and marked before any digging",
        "maker\u2019s instructions and local rules come first",
        "common practice, no source",
    ):
        assert caution in text
    assert text.index("Care ") < text.index("The way out while the ramp is built")
    assert "approved" not in text.lower()
    assert text.count("Not an approval") == len(pages_of(shape, "mm"))


def test_steps_stand_in_their_order_with_people_and_props() -> None:
    job = build_job("half turn right", "mm")
    text = " ".join(pages_of("half turn right", "mm"))
    steps = find_build_order(job.candidate, job.site.catalogue)
    told = build_field_sheet(job).steps
    assert [row[0] for row in told] == [str(step.number) for step in steps]
    assert text.count("PROP under its lower end") == sum(len(step.props) for step in steps) == 1
    assert "Bolt S2 to it; only then take the prop of S2 away." in text


def test_nothing_on_the_sheet_is_smaller_than_eleven_points() -> None:
    sizes: list[float] = []
    reader = PdfReader(io.BytesIO(set_field_sheet(build_job("half turn right", "mm"), "pdf")[0]))
    for page in reader.pages:
        page.extract_text(visitor_text=lambda t, _c, _m, _f, size: sizes.append(size) if t.strip() else None)
    assert sizes
    assert min(sizes) >= 11.0
    template = (TEMPLATES / "field_sheet.typ").read_text(encoding="utf-8")
    assert min(float(size) for size in re.findall(r"size: ([\d.]+)pt", template)) >= 11.0


@pytest.mark.parametrize("system", SYSTEMS)
def test_pages_are_the_paper_asked_for_and_black_on_white(system: System) -> None:
    job = build_job("quarter turn left", system)
    wide, tall = (210.0, 297.0) if system == "mm" else (215.9, 279.4)
    for page in PdfReader(io.BytesIO(set_field_sheet(job, "pdf")[0])).pages:
        assert float(page.mediabox.width) * 25.4 / 72 == pytest.approx(wide, abs=0.1)
        assert float(page.mediabox.height) * 25.4 / 72 == pytest.approx(tall, abs=0.1)
    for picture in set_field_sheet(job, "png"):
        with Image.open(io.BytesIO(picture)) as page_picture:
            colours = np.ptp(np.asarray(page_picture.convert("RGB")).astype(int), axis=2)
        assert colours.max() == 0


def test_the_same_job_gives_the_same_bytes() -> None:
    job = build_job("five runs", "ft-in")
    assert set_field_sheet(job, "pdf") == set_field_sheet(job, "pdf")


def test_long_tables_go_on_over_pages_with_their_heads() -> None:
    pages = pages_of("sixty pieces", "mm")
    assert sum("step where drop reading" in page for page in pages) >= 3
    assert sum("do lift people" in page for page in pages) >= 3


def test_names_with_markup_and_foreign_letters_are_text() -> None:
    job = build_job("straight", "mm")
    name = '#panic("x") *fett* _b_ [c] $d$ Øst Ærø Žižkov'
    thing = "R\u00fcbe <a> #let"
    ring = np.array(job.candidate.pieces[1].corners_m)[:, :2]
    odd = Obstacle(thing, ring, job.site.yard.starts[0].threshold_m - 0.6, may_stand=False)
    site = replace(job.site, name=name, yard=replace(job.site.yard, obstacles=(odd,)))
    text = " ".join(read_pages(set_field_sheet(replace(job, site=site), "pdf")[0]))
    assert name in text
    assert f"top of {thing}" in text


def obstacle_under(piece_name: str, below_m: float, aside_m: float = 0.0) -> tuple[Obstacle, float]:
    """A thing under the middle of a piece, its top so far below the deck there; and the deck's level."""
    job = build_job("straight", "mm")
    piece = next(one for one in job.candidate.pieces if one.id == piece_name)
    corners = np.array(piece.corners_m)
    middle = corners.mean(axis=0)
    across = corners[1, :2] - corners[0, :2]
    across /= np.hypot(*across)
    centre = middle[:2] + aside_m * across
    ring = centre + 0.1 * np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]])
    return Obstacle("thing", ring, float(middle[2]) - below_m, may_stand=False), float(middle[2])


def test_a_thing_under_the_landing_may_reach_up_to_the_frame_less_the_clearance() -> None:
    job = build_job("straight", "mm")
    thing, deck_m = obstacle_under("P1", 0.5)
    site = replace(job.site, yard=replace(job.site.yard, obstacles=(thing,)))
    shot = list_first_shots(replace(job, site=site))[-1]
    landing = next(one for one in site.catalogue.landings if one.id == "landing-64")
    sill_m = site.yard.starts[0].threshold_m
    limit_m = sill_m - (deck_m - landing.frame_depth_m - site.catalogue.clearance_m)
    assert shot.mark == "A"
    assert shot.least_m == pytest.approx(limit_m, abs=1e-9)
    assert shot.is_go(limit_m)
    assert not shot.is_go(limit_m - 1e-5)
    assert shot.expected_m == pytest.approx(sill_m - deck_m + 0.5, abs=1e-9)


def test_a_thing_beside_the_ramp_is_taped_and_one_far_off_is_not_asked_for() -> None:
    job = build_job("straight", "mm")
    half_m = 0.5 * 64 * 0.0254
    for aside_m, names in ((half_m + 0.5, 1), (half_m + 1.1, 0)):
        thing, _ = obstacle_under("P1", 0.5, aside_m)
        site = replace(job.site, yard=replace(job.site.yard, obstacles=(thing,)))
        spaces = [one for one in list_first_shots(replace(job, site=site)) if one.kind == "space"]
        assert len(spaces) == names
        for shot in spaces:
            assert shot.is_go(LEAST_SPACE_M)
            assert not shot.is_go(LEAST_SPACE_M - 1e-5)


@pytest.mark.parametrize("shape", SHAPES)
def test_go_is_told_exactly_on_the_limits_and_not_just_beyond(shape: str) -> None:
    shots = list_first_shots(build_job(shape, "mm"))
    landings = [one for one in build_job(shape, "mm").candidate.pieces if one.kind == "landing"]
    assert sum(one.name.startswith("P") for one in shots) == len(landings)
    assert [one.name for one in shots if "tip" in one.name] == ["plate tip, ground"]
    for shot in shots:
        assert shot.is_go(shot.expected_m)
        if shot.least_m is not None:
            assert shot.is_go(shot.least_m)
            assert not shot.is_go(shot.least_m - 1e-5)
        if shot.greatest_m is not None:
            assert shot.is_go(shot.greatest_m)
            assert not shot.is_go(shot.greatest_m + 1e-5)


def test_every_leg_near_its_ranges_end_is_looked_at_before_unloading() -> None:
    """Else every line could say go, and the ramp still not stand."""
    job = build_job("straight", "mm")
    sound = tuple(leg.model_copy(update={"is_near_end": False}) for leg in job.candidate.legs)
    shots = list_first_shots(replace(job, candidate=job.candidate.model_copy(update={"legs": sound})))
    assert not [one for one in shots if one.name.startswith("near its end")]
    leg = next(one for one in sound if not any(one.id in shot.name for shot in shots))
    marked = tuple(one.model_copy(update={"is_near_end": one.id == leg.id}) for one in sound)
    told = list_first_shots(replace(job, candidate=job.candidate.model_copy(update={"legs": marked})))
    (shot,) = [one for one in told if one.name == f"near its end: ground at {leg.id}"]
    # Go ends where the leg would leave its range with the reserve kept.
    low, high = leg.range_m[0] + leg.reserve_m, leg.range_m[1] - leg.reserve_m
    assert shot.least_m == pytest.approx(shot.expected_m - max(0.0, leg.height_m - low), abs=1e-6)
    assert shot.greatest_m == pytest.approx(shot.expected_m + max(0.0, high - leg.height_m), abs=1e-6)
