"""What ``evenfall ground`` tells, as records: read, thrown away, fitted, and how sure.

The terminal and ``ground.json`` are drawn from the same records.  Metres; plan positions and elevations are
the survey's own.
"""

from __future__ import annotations

from typing import Final, Literal

from pydantic import Field

from optimizer.plan import XYZ, DoubtRecord, Record

GROUND_SCHEMA: Final = "evenfall-ground-1"


class SumRecord(Record):
    """The arithmetic of one page or of the whole book: three differences that must agree."""

    title: str
    source: Literal["booked", "readings"]
    backsights_m: float
    foresights_m: float
    rises_m: float
    falls_m: float
    level_change_m: float
    agrees: bool


class ClosureRecord(Record):
    """What a line of levels misses the mark by that it closes on; ``None`` where it closes on none."""

    start: str
    end: str
    line: int
    setups: int
    counted: Literal["set-ups", "boards"]
    misclosure_m: float | None
    limit_m: float | None
    rule: str
    verdict: Literal["closes", "too large", "open", "no length"]


class AverageRecord(Record):
    """A point shot more than once."""

    name: str
    count: int
    range_m: float
    standard_error_m: float | None
    is_flagged: bool


class RowRecord(Record):
    """One row of a level book worked out; ``adjusted_m`` with the misclosure spread."""

    line: int
    name: str
    height_of_instrument_m: float | None
    rise_m: float | None
    elevation_m: float
    correction_m: float
    adjusted_m: float


class FileRecord(Record):
    """One file of levels.

    ``shot_once``: levelled points of one intermediate sight, which no sum or second shot checks.
    ``used``: points that became ground; ``not_ground``: names of levelled points that did not (marks,
    overhead, or without a position).  ``setup_error_m``: standard error of one set-up of a level.
    """

    file: str
    kind: Literal["spots", "level_book", "straightboard"]
    used: int
    not_ground: tuple[str, ...]
    shot_once: tuple[str, ...]
    rows: tuple[RowRecord, ...]
    sums: tuple[SumRecord, ...]
    closures: tuple[ClosureRecord, ...]
    averages: tuple[AverageRecord, ...]
    setup_error_m: float | None
    doubts: tuple[DoubtRecord, ...]


class ControlRecord(Record):
    """One control or check point: placed less measured, as fitted and as the others foretell it.

    ``None`` where it was not taped or not levelled, or where the others cannot place it.
    """

    name: str
    role: Literal["control", "check"]
    plan_m: float | None
    height_m: float | None
    left_out_plan_m: float | None
    left_out_height_m: float | None
    standard_errors: float | None


class FreedomRecord(Record):
    """Scale or tilt: whether it was fitted, and why."""

    freedom: Literal["scale", "tilt"]
    is_freed: bool
    reason: str


class ParameterRecord(Record):
    """One fitted parameter, in degrees, metres or as a factor."""

    parameter: str
    value: float
    standard_error: float


class MetRecord(Record):
    """A levelled ground point on the scan's ground: scan less level."""

    name: str
    off_m: float


class ThingRecord(Record):
    """Something that stands or hangs in the yard.  ``place``: as the site file takes it; ``outline_m`` in
    the survey's plan; ``said``: what the site file calls it.
    """

    number: int
    place: str
    how: Literal["stands", "hangs"]
    said: Literal["unconfirmed", "obstacle", "gone", "ground"]
    length_m: float
    width_m: float
    top_m: float
    bottom_m: float
    above_m: float
    outline_m: tuple[tuple[float, float], ...]


class StepRecord(Record):
    """A kerb, wall or terrace found in the scan.  ``is_woven``: it is a break line of the ground."""

    name: str
    length_m: float
    least_m: float
    greatest_m: float
    is_woven: bool
    line_m: tuple[XYZ, ...]


class HoleRecord(Record):
    """Where no ground was seen."""

    x_m: float
    y_m: float
    area_m2: float
    why: Literal["nothing seen", "something stands there"]


class ScanRecord(Record):
    """The scan: what was read and left out, its frame, its placing, the ground made of it.

    Of the points in the area some are ground, some lie too low (ghosts), some stand there (things), some
    cannot be told (unknown).  ``usual_error_m`` and ``greatest_error_m``: standard errors of a height at
    the points of the ground, everything included.
    """

    file: str
    unit: str
    up: str
    points_read: int
    points_unusable: int
    points_too_far: int
    points_kept: int
    frame_evidence: tuple[str, ...]
    control: tuple[ControlRecord, ...]
    left_out_plan_m: float | None
    left_out_height_m: float | None
    plan_factor: float
    height_factor: float
    freed: tuple[FreedomRecord, ...]
    parameters: tuple[ParameterRecord, ...]
    doubts: tuple[DoubtRecord, ...]
    points_in_area: int
    cell_m: float
    cells: int
    cells_poor: int
    points_ground: int
    points_ghosts: int
    points_things: int
    points_unknown: int
    vertices: int
    vertices_near_levels: int
    bound_m: float
    largest_left_m: float
    is_bounded: bool
    cell_error_m: float
    placing_error_m: float
    usual_error_m: float
    greatest_error_m: float
    met: tuple[MetRecord, ...]
    limits: tuple[str, ...]
    things: tuple[ThingRecord, ...]
    steps: tuple[StepRecord, ...]
    holes: tuple[HoleRecord, ...]


class GroundReport(Record):
    """A whole report.  ``warning``: why legs may not be ordered by these heights; empty where they may.

    ``doubts``: those of the ground as a whole, beside those of files and scan.
    """

    schema_id: Literal["evenfall-ground-1"] = Field(alias="schema")
    site: str
    warning: str
    basis: str
    rough_error_m: float | None
    levelled_points: int
    scan_points: int
    triangles: int
    files: tuple[FileRecord, ...]
    scan: ScanRecord | None
    doubts: tuple[DoubtRecord, ...]
    thin_places_m: tuple[XYZ, ...]
