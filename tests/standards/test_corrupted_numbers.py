"""No number of a candidate that is geometry, leg or price can be wrong unnoticed."""

from __future__ import annotations

import pytest

from optimizer.plan import Candidate
from tests.standards.damage import Path, change_number, find_failed, find_numbers
from tests.standards.ramp_on_a_plane import build_ramp

#: Fields that are no measurement of the ramp, with the reason why the checker leaves them be.
EXEMPT = {
    "bound_cents": "what the search proved; the checker only refuses a bound above the cost",
    "fit_chance": "an estimate of another room, not a fact of this layout",
}
#: Numbers read as ratios, areas and masses are changed by 1 %, counts and cents by one, lengths by 5 mm.
SHARES = {"slope", "plate_slope", "bottom_slope", "steepest_slope", "footprint_m2", "weight_kg"}

RAMPS = {
    "straight": build_ramp(),
    "half turn on a pad": build_ramp(
        (("section", "section-long", "section"), ("section",)), ("half_right",), pad=True
    ),
}


def damage(path: Path, number: float, sign: int) -> float:
    if isinstance(number, int):
        return number + sign
    if SHARES & {step for step in path if isinstance(step, str)}:
        return number * (1.0 + 0.01 * sign) if number else 0.005 * sign
    return number + 0.005 * sign


def is_exempt(path: Path) -> bool:
    return any(step in EXEMPT for step in path)


@pytest.mark.parametrize(("ramp", "sign"), [("straight", 1), ("straight", -1), ("half turn on a pad", 1)])
@pytest.mark.parametrize("part", ["pieces", "legs", "rails", "price_lines", "toe", "totals"])
def test_every_wrong_number_is_noticed(ramp: str, part: str, sign: int) -> None:
    candidate, case = RAMPS[ramp]
    unnoticed, tried = [], 0
    for path, number in find_numbers(candidate.model_dump()):
        home = path[0] if len(path) > 1 else "totals"
        if home != part or is_exempt(path):
            continue
        if ramp != "straight" and tried_on_the_straight_ramp(path):
            continue
        tried += 1
        changed = change_number(candidate, path, damage(path, number, sign))
        if not find_failed(changed, case):
            unnoticed.append(path)
    assert not unnoticed
    assert tried > 0


def tried_on_the_straight_ramp(path: Path) -> bool:
    """Of the second ramp's many rails and lines every seventh will do."""
    return path[0] in ("rails", "price_lines", "legs") and isinstance(path[1], int) and path[1] % 7 != 0


def test_the_undamaged_ramps_fail_nothing() -> None:
    for candidate, case in RAMPS.values():
        assert find_failed(candidate, case) == ()


def test_a_bound_above_the_cost_is_refused() -> None:
    candidate, case = RAMPS["straight"]
    changed = change_number(candidate, ("bound_cents",), candidate.direct_cost_cents + 1)
    assert [finding.clause for finding in find_failed(changed, case)] == ["build.price_total"]


def test_the_exempt_fields_still_exist() -> None:
    assert set(EXEMPT) <= set(Candidate.model_fields)
    assert RAMPS["straight"][0].fit_chance is None
