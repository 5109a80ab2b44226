"""Ways to damage a candidate: change one number, move one piece, take one thing away."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

import numpy as np

from optimizer.plan import Candidate, Finding, Piece, Rail, SupportLeg
from optimizer.standards.check_candidate import CheckCase, check_candidate
from optimizer.terrain.yard import Obstacle, Zone

Path = tuple[str | int, ...]


def find_numbers(value: object, path: Path = ()) -> Iterator[tuple[Path, float | int]]:
    """Every number in a dumped record, with the way to it."""
    if isinstance(value, bool):
        return
    if isinstance(value, (int, float)):
        yield path, value
    elif isinstance(value, dict):
        for key, inner in value.items():
            yield from find_numbers(inner, (*path, key))
    elif isinstance(value, (list, tuple)):
        for index, inner in enumerate(value):
            yield from find_numbers(inner, (*path, index))


def change_number(candidate: Candidate, path: Path, number: float) -> Candidate:
    """The candidate with one number replaced."""

    def put(value: object, rest: Path) -> object:
        if not rest:
            return number
        if isinstance(value, dict):
            return {key: put(inner, rest[1:]) if key == rest[0] else inner for key, inner in value.items()}
        assert isinstance(value, (list, tuple))
        return tuple(put(inner, rest[1:]) if index == rest[0] else inner for index, inner in enumerate(value))

    return Candidate.model_validate(put(candidate.model_dump(), path))


def change_piece(candidate: Candidate, name: str, change: Callable[[Piece], Piece]) -> Candidate:
    pieces = tuple(change(piece) if piece.id == name else piece for piece in candidate.pieces)
    return candidate.model_copy(update={"pieces": pieces})


def change_leg(candidate: Candidate, name: str, **values: object) -> Candidate:
    legs: tuple[SupportLeg, ...] = tuple(
        leg.model_copy(update=values) if leg.id == name else leg for leg in candidate.legs
    )
    return candidate.model_copy(update={"legs": legs})


def drop_rails(candidate: Candidate, unwanted: Callable[[Rail], bool]) -> Candidate:
    return candidate.model_copy(
        update={"rails": tuple(rail for rail in candidate.rails if not unwanted(rail))}
    )


def change_yard(case: CheckCase, **values: object) -> CheckCase:
    return replace(case, yard=replace(case.yard, **values))


def find_failed(candidate: Candidate, case: CheckCase) -> tuple[Finding, ...]:
    return tuple(finding for finding in check_candidate(candidate, case) if finding.verdict == "fails")


def failed_clauses(candidate: Candidate, case: CheckCase) -> set[str]:
    return {finding.clause for finding in find_failed(candidate, case)}


def box_at(point: tuple[float, ...], half_m: float) -> np.ndarray:
    x, y = point[0], point[1]
    return np.array(
        [
            [x - half_m, y - half_m],
            [x + half_m, y - half_m],
            [x + half_m, y + half_m],
            [x - half_m, y + half_m],
        ]
    )


def middle_of(candidate: Candidate, name: str) -> tuple[float, float]:
    corners = np.array(next(piece.corners_m for piece in candidate.pieces if piece.id == name))
    x, y = corners.mean(axis=0)[:2]
    return float(x), float(y)


def with_obstacle(
    case: CheckCase, outline: np.ndarray, top_m: float | None, *, may_stand: bool = False
) -> CheckCase:
    return change_yard(case, obstacles=(Obstacle("thing", outline, top_m, may_stand),))


def with_zone(
    case: CheckCase,
    kind: str,
    outline: np.ndarray,
    underside_m: float | None = None,
    headroom_m: float | None = None,
) -> CheckCase:
    zone = Zone("patch", kind, outline, "a reason", underside_m, headroom_m, "a source", "the owner")
    return change_yard(case, zones=(zone,))


#: The price follows what is placed: what is taken away is also still priced, weighed and added up.
MONEY = {"build.price_items", "build.price_total", "build.stated"}
