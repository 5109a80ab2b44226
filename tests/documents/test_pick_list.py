"""The pick list counts the parts again, from pieces, legs and rails; the plan's price lines must agree."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest

from optimizer.documents.job import SpareLegs
from optimizer.documents.pick_list import build_pick_sheet, list_picks, set_pick_list
from optimizer.documents.pick_list_bolts import list_connections
from tests.assembly.ramps_to_build import NAMES
from tests.documents.jobs_to_print import SHAPES, SYSTEMS, System, build_job, read_pages


@pytest.mark.parametrize("shape", NAMES)
def test_counts_are_those_that_were_priced(shape: str) -> None:
    job = build_job(shape, "mm")
    priced = {line.part: line.count for line in job.candidate.price_lines if line.group == "direct"}
    assert {line.part.id: line.count for line in list_picks(job)} == priced


@pytest.mark.parametrize("shape", NAMES)
def test_all_of_it_weighs_what_the_plan_says(shape: str) -> None:
    job = build_job(shape, "mm")
    weighed = sum(line.weight_kg for line in list_picks(job))
    assert weighed == pytest.approx(job.candidate.weight_kg, abs=1e-6)


@pytest.mark.parametrize("system", SYSTEMS)
@pytest.mark.parametrize("shape", SHAPES)
def test_every_line_is_on_paper(shape: str, system: System) -> None:
    job = build_job(shape, system)
    text = " ".join(read_pages(set_pick_list(job, "pdf")[0]))
    for line in list_picks(job):
        assert f"{line.count} {line.part.name}" in text
    weight = job.candidate.weight_kg if system == "mm" else job.candidate.weight_kg / 0.45359237
    assert f"All of it weighs {int(weight + 0.5)} {'kg' if system == 'mm' else 'lb'}" in text


@pytest.mark.parametrize("shape", SHAPES)
def test_longest_first_then_heaviest_within_a_group(shape: str) -> None:
    lines = list_picks(build_job(shape, "mm"))
    decks = [line for line in lines if line.part.id.startswith(("section", "landing", "plate"))]
    order = [(-line.length_m, -line.part.weight_kg) for line in decks]
    assert order == sorted(order)


def test_spares_are_loaded_beyond_the_plan_and_said_so() -> None:
    job = build_job("straight", "mm")
    used = Counter(leg.leg_type for leg in job.candidate.legs)
    known = next(iter(used))
    new = next(leg.id for leg in job.site.catalogue.legs if leg.id not in used)
    lines = {
        line.part.id: line
        for line in list_picks(replace(job, spares=(SpareLegs(known, 2), SpareLegs(new, 1))))
    }
    assert lines[known].count == used[known] + 2
    assert lines[known].spare == 2
    assert (lines[new].count, lines[new].spare, lines[new].items) == (1, 1, ())
    for spares, told in (
        (None, "none asked for"),
        ((), "none needed"),
        ((SpareLegs(new, 1),), "counted above"),
    ):
        text = " ".join(read_pages(set_pick_list(replace(job, spares=spares), "pdf")[0]))
        assert f"Spare legs: {told}" in text


@pytest.mark.parametrize("shape", ["straight", "quarter turn left", "half turn right"])
def test_places_to_bolt_are_fenceposts(shape: str) -> None:
    """A run of n sections has n - 1 joints; a run hangs on one landing, all but the last on two."""
    job = build_job(shape, "mm")
    found = {one.name: one.count for one in list_connections(job.candidate)}
    sections = [piece for piece in job.candidate.pieces if piece.kind == "section"]
    runs = len({piece.run for piece in sections})
    assert found["section to section, on its legs"] == len(sections) - runs
    assert found["section or plate at the edge of a landing"] == 2 * runs - 1
    assert found["plate at its hinge"] == 1
    assert found["leg or low support to its frame"] == len(job.candidate.legs)
    assert found["rail post"] == sum(rail.kind == "post" for rail in job.candidate.rails)


def test_the_first_step_of_a_part_is_the_one_that_sets_it() -> None:
    lines = {line.part.id: line for line in list_picks(build_job("straight", "mm"))}
    assert lines["landing-64"].step == 1
    assert lines["section-96"].step == 3


def test_the_same_job_gives_the_same_bytes() -> None:
    job = build_job("five runs", "ft-in")
    assert set_pick_list(job, "pdf") == set_pick_list(job, "pdf")
    assert build_pick_sheet(job).paper == "us-letter"
