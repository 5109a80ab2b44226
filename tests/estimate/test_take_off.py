"""The take-off: counted from the plan's pieces, equal to its prices, every leg ticked once.

Leg counts 8, 14, 16 are common practice, no source: four under a landing, six under a half turn, two at
each joint inside a run (see ``tests/validation/test_leg_counts.py``).
"""

from __future__ import annotations

import csv
import io
import random
import time
from collections import Counter
from dataclasses import replace

import pytest

from optimizer.errors import InputError
from optimizer.estimate.take_off import TakeOff, build_take_off
from optimizer.plan import Candidate, Plan
from optimizer.take_off_table import draw_take_off, format_take_off
from tests.planned_scene import planned, planned_site
from tests.standards.ramp_on_a_plane import build_ramp

RUNS = (("section",) * 2, ("section",) * 3)


@pytest.fixture(scope="module")
def plan() -> Plan:
    return planned()


def count(candidate: Candidate) -> TakeOff:
    return build_take_off(candidate, planned_site().catalogue)


def list_ids(candidate: Candidate) -> list[str]:
    return [
        *(piece.id for piece in candidate.pieces),
        *(leg.id for leg in candidate.legs),
        *(rail.id for rail in candidate.rails),
    ]


@pytest.mark.parametrize(
    ("runs", "turns", "legs"),
    [((("section",) * 3,), (), 8), (RUNS, ("right",), 14), (RUNS, ("half_right",), 16)],
)
def test_legs_again_from_the_take_off(
    runs: tuple[tuple[str, ...], ...], turns: tuple[str, ...], legs: int
) -> None:
    candidate, case = build_ramp(runs, turns)
    counted = build_take_off(candidate, case.catalogue)
    at_the_hinge = sum(leg.station.startswith("hinge-") for leg in candidate.legs)
    assert at_the_hinge == 2
    assert counted.count("leg") + counted.count("low support") - at_the_hinge == legs


def test_a_switchback_has_fewer_legs_than_its_runs_tables() -> None:
    """The six legs of the half turn stand in the table of the run above and of the run below.

    4 + 2 + 6 and 6 + 2 x 2 make 22, of which 16 are there.
    """
    candidate, case = build_ramp(RUNS, ("half_right",))
    counted = build_take_off(candidate, case.catalogue)
    shared = [piece.id for piece in candidate.pieces if piece.use == "half_right"]
    six = {leg.id for leg in candidate.legs if leg.piece in shared}
    feet = [item for line in counted.lines if line.group == "foot" for item in line.items]
    assert len(six) == 6
    assert sorted(item for item in feet if item in six) == sorted(six)
    assert len(feet) - 2 == (4 + 2 + 6) + (6 + 2 * 2) - 6


def test_the_sum_is_the_direct_cost_and_every_item_is_ticked_once(plan: Plan) -> None:
    assert plan.candidates
    for candidate in plan.candidates:
        counted = count(candidate)
        assert counted.direct_cents == candidate.direct_cost_cents
        assert counted.weight_kg == pytest.approx(candidate.weight_kg, abs=1e-9)
        ticked = Counter(
            item for line in counted.lines if line.group not in ("foot", "brace") for item in line.items
        )
        assert ticked == Counter(list_ids(candidate))


def test_the_order_of_things_in_the_plan_changes_no_sum(plan: Plan) -> None:
    shuffle = random.Random(5)  # noqa: S311  # no secret: an order to try
    for _ in range(100):
        candidate = shuffle.choice(plan.candidates)
        mixed = candidate.model_copy(
            update={
                name: tuple(shuffle.sample(things, len(things)))
                for name, things in (("pieces", candidate.pieces), ("legs", candidate.legs))
            }
        )
        before, after = count(candidate), count(mixed)
        assert after.direct_cents == before.direct_cents
        assert [(one.group, one.part.id, one.count) for one in after.lines] == [
            (one.group, one.part.id, one.count) for one in before.lines
        ]


def test_a_piece_taken_out_of_the_plan_is_a_fault(plan: Plan) -> None:
    candidate = plan.candidates[0]
    gone = candidate.legs[0]
    with pytest.raises(InputError, match=gone.leg_type):
        count(candidate.model_copy(update={"legs": candidate.legs[1:]}))


def test_a_direct_cost_one_cent_off_is_a_fault(plan: Plan) -> None:
    candidate = plan.candidates[0]
    wrong = candidate.direct_cost_cents + 1
    with pytest.raises(InputError, match=str(wrong)):
        count(candidate.model_copy(update={"direct_cost_cents": wrong}))


def test_a_part_that_the_catalogue_has_not_is_named(plan: Plan) -> None:
    candidate = plan.candidates[0]
    catalogue = planned_site().catalogue
    foot = candidate.legs[0].foot
    left = replace(catalogue, feet=tuple(part for part in catalogue.feet if part.id != foot))
    with pytest.raises(InputError, match=f'"{foot}" is not in the catalogue'):
        build_take_off(candidate, left)


def test_the_file_has_every_cent_and_no_formula(plan: Plan) -> None:
    counted = count(plan.candidates[0])
    first = counted.lines[0]
    named = replace(
        counted, lines=(replace(first, part=replace(first.part, name="=1+1")), *counted.lines[1:])
    )
    rows = list(csv.DictReader(io.StringIO(format_take_off(named))))
    assert rows[0]["name"] == "'=1+1"
    assert sum(int(row["cents"]) for row in rows) + counted.relief_cents == counted.direct_cents
    assert [len(row["items"].split()) for row in rows] == [int(row["count"]) for row in rows]


@pytest.mark.parametrize("width", [80, 120])
def test_the_printed_count_names_every_id_and_keeps_to_the_page(plan: Plan, width: int) -> None:
    candidate = plan.candidates[0]
    text = draw_take_off(plan, candidate, count(candidate), width)
    assert set(list_ids(candidate)) <= {word.removeprefix("[_]") for word in text.split()}
    assert max(len(line) for line in text.splitlines()) <= width


def test_a_plan_is_counted_in_a_fifth_of_a_second(plan: Plan) -> None:
    catalogue = planned_site().catalogue
    started = time.process_time()
    for candidate in plan.candidates:
        build_take_off(candidate, catalogue)
    assert time.process_time() - started < 0.2
