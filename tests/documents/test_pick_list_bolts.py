"""Bolts on the pick list, against counts made by hand from the pieces of two ramps."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import get_args

import pytest

from optimizer.catalogue.fasteners import ConnectionKind, Fastener
from optimizer.documents.job import DocumentJob
from optimizer.documents.pick_list import list_picks, set_pick_list
from optimizer.documents.pick_list_bolts import (
    build_bolt_sheet,
    list_bolts,
    list_connections,
    sum_by_size,
)
from tests.documents.jobs_to_print import SYSTEMS, System, build_job, read_pages

BOLT, NUT, PIN, SCREW = "hex bolt", "nut", "pin", "set screw"
#: One thing a place for each kind, the M12 bolt and the M10 bolt at three and two kinds.
FASTENERS = (
    Fastener("edge", BOLT, "M12 x 40", "landing_edge", 4, 0.1),
    Fastener("joint", BOLT, "M12 x 40", "section_joint", 6, 0.1),
    Fastener("steps", BOLT, "M12 x 40", "steps", 3, 0.1),
    Fastener("hinge", PIN, "16 x 120", "plate_hinge", 2, 0.2),
    Fastener("leg", BOLT, "M10 x 30", "support", 2, 0.05),
    Fastener("brace", BOLT, "M10 x 30", "brace_end", 1, 0.05),
    Fastener("nut", NUT, "M10", "brace_end", 2, None),
    Fastener("panel", SCREW, "M8 x 20", "rail_panel", 8, None),
    Fastener("post", BOLT, "M10 x 80", "rail_post", 2, None),
    Fastener("end", SCREW, "M8 x 12", "rail_end", 5, None),
    Fastener("house", "anchor", "M10 x 100", "house", 7, None),
)
#: Counted on the drawings.  The half turn: landing P1, sections S1 and S2, landing P2, sections S3 to S5,
#: plate.  S1, S2 and S3 each hang on a landing; joints S1-S2, S3-S4, S4-S5; legs 4 + 6 at the landings,
#: 2 a joint, 2 shoes at the hinge; the legs of P1, P2 and S1-S2 are tall, so braced; 17 panels, an infill
#: and the loop; posts at both sides of both ends of each section, shared at joints (3 + 3 and 4 + 4);
#: rail ends at both sides of both ends of both runs, less the two that the loop joins.
HALF_TURN = {
    ("M12 x 40", BOLT): 3 * 4 + 3 * 6,
    ("16 x 120", PIN): 1 * 2,
    ("M10 x 30", BOLT): 18 * 2 + 12 * 2 * 1,
    ("M10", NUT): 12 * 2 * 2,
    ("M8 x 20", SCREW): 19 * 8,
    ("M10 x 80", BOLT): 14 * 2,
    ("M8 x 12", SCREW): 6 * 5,
}
#: Landing P1, sections S1 to S3, plate, a flight of steps; nothing but the landing and the flight is railed.
WITH_STEPS = {
    ("M12 x 40", BOLT): 1 * 4 + 2 * 6 + 1 * 3,
    ("16 x 120", PIN): 1 * 2,
    ("M10 x 30", BOLT): (4 + 2 * 2 + 2) * 2 + 4 * 2 * 1,
    ("M10", NUT): 4 * 2 * 2,
    ("M8 x 20", SCREW): 5 * 8,
}
BY_HAND = (("half turn right", HALF_TURN), ("with steps", WITH_STEPS))


def job_with(shape: str, system: System, fasteners: tuple[Fastener, ...]) -> DocumentJob:
    job = build_job(shape, system)
    return replace(job, site=replace(job.site, catalogue=replace(job.site.catalogue, fasteners=fasteners)))


def read_all(job: DocumentJob) -> str:
    return " ".join(read_pages(set_pick_list(job, "pdf")[0]))


@pytest.mark.parametrize(("shape", "by_hand"), BY_HAND)
def test_bolts_by_size_are_those_counted_by_hand(shape: str, by_hand: dict[tuple[str, str], int]) -> None:
    lines = list_bolts(list_connections(build_job(shape, "mm").candidate), FASTENERS)
    assert {(one.size, one.name): one.count for one in sum_by_size(lines)} == by_hand


@pytest.mark.parametrize("system", SYSTEMS)
@pytest.mark.parametrize(("shape", "by_hand"), BY_HAND)
def test_the_sheet_says_what_was_counted_by_hand(
    shape: str, by_hand: dict[tuple[str, str], int], system: System
) -> None:
    text = read_all(job_with(shape, system, FASTENERS))
    table = text[text.index("Bolts to load, by size") : text.index("Not in the catalogue")]
    for (size, name), count in by_hand.items():
        assert f" {count} {size} {name} " in table
    workings = re.findall(r"\d+ places? x \d+", table)
    assert len(workings) == sum(one.at in kinds_of(shape) for one in FASTENERS)


def kinds_of(shape: str) -> set[ConnectionKind]:
    return {place.kind for place in list_connections(build_job(shape, "mm").candidate)}


def test_the_working_is_printed_so_that_a_person_can_check() -> None:
    text = read_all(job_with("half turn right", "mm", FASTENERS))
    assert "leg or low support to its frame 18 2 of M10 x 30, hex bolt 18 places x 2 = 36" in text
    assert "plate at its hinge 1 2 of 16 x 120, pin 1 place x 2 = 2" in text
    assert "60 M10 x 30 hex bolt 18 places x 2 + 24 places x 1 3.0 kg" in text
    assert "30 M12 x 40 hex bolt 3 places x 4 + 3 places x 6 3.0 kg" in text


def test_a_nut_is_not_added_to_a_bolt_of_its_size() -> None:
    both = (
        Fastener("bolt", BOLT, "M10", "plate_hinge", 2, None),
        Fastener("nut", NUT, "M10", "plate_hinge", 4, None),
    )
    lines = list_bolts(list_connections(build_job("straight", "mm").candidate), both)
    assert [(one.name, one.count) for one in sum_by_size(lines)] == [(BOLT, 2), (NUT, 4)]


@pytest.mark.parametrize(("shape", "by_hand"), BY_HAND)
def test_a_catalogue_without_fasteners_leaves_the_blank_and_says_so(
    shape: str, by_hand: dict[tuple[str, str], int]
) -> None:
    job = job_with(shape, "mm", ())
    sheet, text = build_bolt_sheet(job), read_all(job)
    assert by_hand
    assert {row[2:] for row in sheet.places} == {("", "")}
    assert sheet.sizes == ()
    assert "the catalogue does not tell. Fill in." in text
    assert "Bolts to load, by size" not in text


def test_a_place_without_a_fastener_stays_blank_among_the_others() -> None:
    job = job_with("half turn right", "mm", tuple(one for one in FASTENERS if one.id != "panel"))
    blank = [row[0] for row in build_bolt_sheet(job).places if row[2:] == ("", "")]
    assert blank == ["rail panel, infill or loop"]
    text = read_all(job)
    assert "Blank: the catalogue has none for that place" in text
    assert "rail panel, infill or loop 19 rail post 14 2 of M10 x 80" in text
    assert "Blank:" not in read_all(job_with("half turn right", "mm", FASTENERS))


def test_what_no_place_of_the_ramp_needs_is_not_loaded() -> None:
    text = read_all(job_with("half turn right", "mm", FASTENERS))
    assert "anchor" not in text
    alone = job_with("half turn right", "mm", (FASTENERS[-1],))
    assert "the catalogue does not tell" in read_all(alone)


@pytest.mark.parametrize(("system", "together"), [("mm", "6.4 kg"), ("ft-in", "14.1 lb")])
def test_bolts_weigh_apart_from_the_parts(system: System, together: str) -> None:
    """30 x 0.1 + 2 x 0.2 + 60 x 0.05 = 6.4 kg, which is 14.11 lb; nuts, screws and posts tell no weight."""
    job = job_with("half turn right", system, FASTENERS)
    missing = "without those of which the catalogue tells no weight"
    assert f"Together {together}, {missing}; not in the weights above." in read_all(job)
    assert list_picks(job) == list_picks(build_job("half turn right", system))


def test_every_weight_told_needs_no_reservation_and_none_told_no_sum() -> None:
    weighed = tuple(one for one in FASTENERS if one.weight_kg is not None)
    assert "Together 6.4 kg; not in the weights above." in read_all(
        job_with("half turn right", "mm", weighed)
    )
    unweighed = tuple(one for one in FASTENERS if one.weight_kg is None)
    assert "Together" not in read_all(job_with("half turn right", "mm", unweighed))


def test_one_size_with_a_weight_left_out_has_none() -> None:
    mixed = (*FASTENERS[:1], replace(FASTENERS[1], weight_kg=None))
    (size,) = sum_by_size(list_bolts(list_connections(build_job("half turn right", "mm").candidate), mixed))
    assert (size.count, size.weight_kg) == (30, None)


def test_the_shapes_together_have_every_kind_of_connection() -> None:
    shapes = ("half turn right", "with steps", "porch edge")
    assert set().union(*(kinds_of(shape) for shape in shapes)) == set(get_args(ConnectionKind))
