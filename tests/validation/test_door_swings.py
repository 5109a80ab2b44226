"""What a door that opens over the landing takes of it, leaves and sweeps.

Sources and values:
- International Building Code 2018, 1012.5.3: a door onto a landing leaves 42 in of clear width.
- IBC 2018, 1010.1.6: the fully open door takes at most 7 in of a required width.
- California Building Code, 11B-405.7.5: it takes at most 3 in of the required landing width.
- England, Approved Document M volume 2, 1.26h: landings at foot and head 1.2 m long clear of any swing.
The leaf is as wide as the doorway (36 in), opened square to the wall.  Tolerance: one micrometre.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from optimizer.plan import Finding
from optimizer.rulebook.door_clearance import Approach
from optimizer.rulebook.rules import Limit, Operator, Quantity
from tests.standards.damage import change_yard
from tests.standards.door_by_hand import INCH_M, Hinge, judge_door, lay_door

HAIR_IN = 1e-3


def limit_in(quantity: Quantity, operator: Operator, inches: float) -> Limit:
    return Limit(
        "t", "9.9", quantity, operator, inches, "in", inches * INCH_M, "a test", "text", "", place="top"
    )


LEAVES = limit_in("door_swing_leaves", ">=", 42.0)
TAKES = limit_in("door_swing_takes", "<=", 3.0)
SWEEPS = Limit("t", "9.9", "swing_clear_length", ">=", 1200.0, "mm", 1.2, "a test", "text", "", place="top")
WIDTH = limit_in("landing_width", ">=", 60.0)


def verdicts(found: list[Finding]) -> list[str]:
    return [finding.verdict for finding in found if finding.subject == "door"]


@pytest.mark.parametrize(("depth", "verdict"), [(78.0, "meets"), (78.0 - HAIR_IN, "fails")])
@pytest.mark.parametrize("approach", ["hinge", "latch"])
def test_left_by_a_side_the_depth_beyond_the_leaf_is_what_is_left(
    approach: Approach, depth: float, verdict: str
) -> None:
    assert verdicts(judge_door(lay_door(depth, 60, 12, approach=approach), LEAVES)) == [verdict]


@pytest.mark.parametrize("hinge", ["left", "right"])
@pytest.mark.parametrize(
    ("width", "beyond_hinge", "verdict"),
    [
        (60.0, 18.0, "meets"),
        (60.0, 18.0 + HAIR_IN, "fails"),
        (80.0, 42.0, "meets"),
        (78.0, 41.0, "fails"),
    ],
)
def test_left_by_the_front_the_wider_part_beside_the_leaf_is_what_is_left(
    width: float, beyond_hinge: float, verdict: str, hinge: Hinge
) -> None:
    assert verdicts(judge_door(lay_door(60, width, beyond_hinge, hinge=hinge), LEAVES)) == [verdict]


@pytest.mark.parametrize(
    ("depth", "verdict"), [(93.0, "meets"), (93.0 - HAIR_IN, "cannot tell"), (60.0, "cannot tell")]
)
def test_a_leaf_across_the_way_takes_what_the_depth_beyond_it_lacks(depth: float, verdict: str) -> None:
    found = judge_door(lay_door(depth, 60, 12, approach="latch"), TAKES, WIDTH)
    assert verdicts(found) == [verdict]


def test_a_leaf_across_the_way_says_how_much_it_takes_and_what_is_not_known() -> None:
    (found,) = judge_door(lay_door(60, 60, 12, approach="latch"), TAKES, WIDTH)[:1]
    assert found.measured == pytest.approx(36.0)
    assert "takes of the landing's asked width 36 in; how far it opens was not told" in found.text


@pytest.mark.parametrize(("most", "verdict"), [(3.0, "meets"), (1.75, "meets"), (1.74, "fails")])
def test_a_leaf_along_the_way_takes_its_thickness(most: float, verdict: str) -> None:
    takes = replace(TAKES, value=most, value_si=most * INCH_M)
    assert verdicts(judge_door(lay_door(60, 60, 12), takes, WIDTH)) == [verdict]
    assert verdicts(judge_door(lay_door(60, 62, 12), takes, WIDTH)) == ["meets"]


@pytest.mark.parametrize(("spare_m", "verdict"), [(0.0, "meets"), (-1e-5, "fails")])
def test_the_landing_is_so_long_clear_of_the_swing(spare_m: float, verdict: str) -> None:
    reach_in = (1.2 + spare_m) / INCH_M
    assert verdicts(judge_door(lay_door(36 + reach_in, 60), SWEEPS)) == [verdict]
    for hinge in ("left", "right"):
        beside = lay_door(60, 36 + reach_in, approach="latch", hinge=hinge)
        assert verdicts(judge_door(beside, SWEEPS)) == [verdict]


def test_beyond_the_swing_the_whole_width_is_clear_where_a_way_as_wide_as_the_run_passes() -> None:
    run_in = 0.95 / INCH_M
    wide = judge_door(lay_door(36 + run_in, 60, approach="latch"), SWEEPS)
    narrow = judge_door(lay_door(36 + run_in - HAIR_IN, 60, approach="latch"), SWEEPS)
    assert (verdicts(wide), verdicts(narrow)) == (["meets"], ["fails"])


@pytest.mark.parametrize("limit", [LEAVES, TAKES, SWEEPS])
def test_a_door_that_swings_in_takes_nothing_and_an_existing_porch_is_unknown(limit: Limit) -> None:
    candidate, case = lay_door(40, 40, side="push")
    assert verdicts(judge_door((candidate, case), limit)) == ["does not apply"]
    pieces = tuple(piece for piece in candidate.pieces if piece.id != "L0")
    porch = change_yard(case, starts=(replace(case.yard.starts[0], kind="edge"),))
    bare = candidate.model_copy(update={"pieces": pieces})
    assert verdicts(judge_door((bare, porch), limit)) == ["cannot tell"]
