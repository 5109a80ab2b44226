"""Ten minutes before unloading: what to level and tape, and between which limits the plan still stands."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from string import ascii_uppercase
from typing import Final, Literal

import numpy as np
from shapely.geometry import Polygon

from optimizer.catalogue.parts import Landing, Section, StepFlight
from optimizer.documents.job import DocumentJob
from optimizer.plan import Piece
from optimizer.terrain.yard import Obstacle
from optimizer.visit.shot_limits import Leeway, measure_leg_leeway, measure_toe_leeway
from optimizer.visit.shots import SILL_M, to_door

#: Obstacles so near to a piece are looked at; how many, and how much of the space must be left
#: (common practice, no source).
NEAR_M: Final = 0.6
MOST_OBSTACLES: Final = 4
LEAST_SPACE_M: Final = 0.0254
_DECK: Final = ("landing", "section", "transition_plate", "steps")


@dataclass(frozen=True, slots=True)
class FirstShot:
    """One look before unloading.

    ``kind``: ``level``: how far below the sill, ``space``: metres free between a thing and the ramp.
    ``least_m``, ``greatest_m``: go while found between them (``None``: no limit on that side).
    ``mark``: the letter of the obstacle ``thing`` on the drawing; both are empty for others.
    """

    name: str
    kind: Literal["level", "space"]
    along_m: float
    out_m: float
    expected_m: float
    least_m: float | None
    greatest_m: float | None
    mark: str = ""
    thing: str = ""

    def is_go(self, found_m: float) -> bool:
        """Limits count as met."""
        return (self.least_m is None or found_m >= self.least_m - 1e-6) and (
            self.greatest_m is None or found_m <= self.greatest_m + 1e-6
        )


def list_first_shots(job: DocumentJob) -> tuple[FirstShot, ...]:
    """Sill, landings' tightest feet, feet near their range's end, the tip, then obstacles near the ramp."""
    start = job.start
    half_m = 0.5 * start.clear_width_m
    shots = [FirstShot("sill, right end", "level", half_m, 0.0, 0.0, -SILL_M, SILL_M)]
    for landing in (piece for piece in job.candidate.pieces if piece.kind == "landing"):
        legs = [leg for leg in job.candidate.legs if leg.piece == landing.id]
        if legs:
            leg = min(legs, key=lambda one: _narrow(measure_leg_leeway(one)))
            name = f"{landing.id}, ground at {leg.id}"
            place = (leg.x_m, leg.y_m, leg.ground_elevation_m)
            shots.append(_level(job, name, place, measure_leg_leeway(leg)))
    told = {shot.name for shot in shots}
    unsure = [leg for leg in job.candidate.legs if leg.is_near_end]
    # The legs most likely not to fit: with every other line at go, one of these may still stop the build.
    for leg in sorted(unsure, key=lambda one: (one.fit_chance or 0.0, one.id)):
        if not any(name.endswith(f"ground at {leg.id}") for name in told):
            place = (leg.x_m, leg.y_m, leg.ground_elevation_m)
            shots.append(_level(job, f"near its end: ground at {leg.id}", place, measure_leg_leeway(leg)))
    toe = job.candidate.toe
    tip = (toe.tip_m[0], toe.tip_m[1], toe.ground_elevation_m)
    shots.append(_level(job, "plate tip, ground", tip, measure_toe_leeway(job.site, job.candidate)))
    return (*shots, *_list_obstacles(job))


def _list_obstacles(job: DocumentJob) -> list[FirstShot]:
    near = sorted(
        (min(_distance(piece, obstacle) for piece in _decks(job)), i, obstacle)
        for i, obstacle in enumerate(job.site.yard.obstacles)
    )
    chosen = [one for one in near if one[0] <= NEAR_M][:MOST_OBSTACLES]
    return [
        shot
        for letter, (_, _, obstacle) in zip(ascii_uppercase, chosen, strict=False)
        for shot in _look_at(job, obstacle, letter)
    ]


def _look_at(job: DocumentJob, obstacle: Obstacle, letter: str) -> Iterator[FirstShot]:
    """Passed over: its top must stay below the frame.  Beside the ramp: it must not stand in the way."""
    piece = min(_decks(job), key=lambda one: _distance(one, obstacle))
    space_m = _distance(piece, obstacle)
    x_m, y_m = np.array(obstacle.outline_m).mean(axis=0).tolist()
    along_m, out_m = to_door(job.start, x_m, y_m)
    if space_m > 0.0 or obstacle.top_m is None:
        least_m = min(space_m, LEAST_SPACE_M)
        name = f"{obstacle.name} to {piece.id}, free"
        yield FirstShot(name, "space", along_m, out_m, space_m, least_m, None, letter, obstacle.name)
        return
    sill_m = job.start.threshold_m
    frame_m = min(_find_frame(job, one, obstacle) for one in _decks(job) if _distance(one, obstacle) == 0.0)
    name = f"top of {obstacle.name}"
    yield FirstShot(
        name, "level", along_m, out_m, sill_m - obstacle.top_m, sill_m - frame_m, None, letter, obstacle.name
    )


def _find_frame(job: DocumentJob, piece: Piece, obstacle: Obstacle) -> float:
    """The highest that anything under the piece may reach: frame less clearance, where they overlap."""
    part = job.site.catalogue.part(piece.catalogue_id)
    depth_m = part.frame_depth_m if isinstance(part, Landing | Section | StepFlight) else 0.0
    is_last = piece.id == _find_last_section(job).id or piece.kind == "transition_plate"
    clear_m = job.site.catalogue.low_clearance_m if is_last else job.site.catalogue.clearance_m
    overlap = _outline(piece).intersection(Polygon(np.array(obstacle.outline_m)))
    corners = np.array(piece.corners_m)
    start, end = corners[:2].mean(axis=0), corners[2:].mean(axis=0)
    way = end[:2] - start[:2]
    places = np.array(overlap.convex_hull.exterior.coords) if overlap.area > 0.0 else corners[:, :2]
    shares = (places - start[:2]) @ way / (way @ way)
    return float((start[2] + shares * (end[2] - start[2])).min()) - depth_m - clear_m


def _level(job: DocumentJob, name: str, place_m: tuple[float, float, float], leeway: Leeway) -> FirstShot:
    along_m, out_m = to_door(job.start, place_m[0], place_m[1])
    below_m = job.start.threshold_m - place_m[2]
    return FirstShot(
        name, "level", along_m, out_m, below_m, below_m - leeway.higher_m, below_m + leeway.lower_m
    )


def _find_last_section(job: DocumentJob) -> Piece:
    return [piece for piece in job.candidate.pieces if piece.kind == "section"][-1]


def _narrow(leeway: Leeway) -> float:
    return min(leeway.higher_m, leeway.lower_m)


def _decks(job: DocumentJob) -> list[Piece]:
    return [piece for piece in job.candidate.pieces if piece.kind in _DECK]


def _distance(piece: Piece, obstacle: Obstacle) -> float:
    return float(_outline(piece).distance(Polygon(np.array(obstacle.outline_m))))


def _outline(piece: Piece) -> Polygon:
    return Polygon([(x, y) for x, y, _ in piece.corners_m])
