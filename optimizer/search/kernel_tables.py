"""What the search kernel reads and writes: flat arrays in the door frame, whole-cent costs."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple, TypeVar, get_type_hints

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Records = np.recarray[tuple[int], np.dtype[np.void]]

#: A cost that no layout has, cents.
NEVER = 1 << 50
#: Reach within which low ground asks for rails: 36 in, metres.
NEAR_EDGE = 0.9144
#: How far a plate's surface may lie below the ground, and a tip corner off it: 1/4 in, metres.
LIP = 0.00635
#: Codes of the turns.
STRAIGHT, LEFT, RIGHT, HALF_LEFT, HALF_RIGHT = 0, 1, 2, 3, 4
#: Words of one kept layout: opening, slope level, runs, plate; then (sum, turn) per run.
RECORD_HEAD = 4


class Numbers(NamedTuple):
    """Single figures of the kernel: metres, ratios and whole cents."""

    width: float  # overall width of every run, metres
    depth: float  # frame depth of sections
    clearance: float  # frame above the cover
    low_clearance: float  # the same for the lowest section
    gap: float  # between pieces that are not joined
    bedding: float  # how far a foot sinks
    steepest: float  # rise over plan run, also of the plate
    rise_limit: float  # of one run
    length_limit: float  # plan length of one run
    handrail_rise: float  # run rise above which rails are needed
    guard_above: float  # run height above low ground that asks for rails
    landing_rail_above: float  # the same for landings
    bottom_length: float  # of the level space beyond the tip
    bottom_width: float
    level_limit: float  # steepest ground that counts as level
    pad_cost: int  # cents; NEVER when there is no pad
    pad_difference: float  # greatest level difference under a pad
    post_cost: int  # cents
    end_cost: int  # cents
    most_runs: int
    highest_tip: float  # highest ground a tip could land on
    least_landing: int  # cents, with four of the cheapest legs
    least_low_pair: int  # cents
    rate_bare: float  # least cents a metre of surface
    rate_railed: float  # the same with rails
    least_section: int  # cents
    low_min: float  # least height of any low support
    low_max: float  # greatest height of any low support
    ground_spread: float  # how much levels under a pair can differ from its middle
    straight_shift: float  # furthest a straight landing shifts the path sideways
    u_low: float  # extent of the buildable, surveyed ground
    u_high: float
    v_low: float
    v_high: float
    longest_plate: float
    grid_u: float  # corner of the bucket grid of ground triangles
    grid_v: float
    grid_cell: float
    grid_columns: int
    grid_rows: int
    start: int  # always 0; a literal 0 in the kernel would be compiled for a second time
    ground_end: int  # ``triangles`` up to here: ground
    tops_end: int  # ... tops of obstacles that may be passed over
    solid_end: int  # ... what no frame may overlap
    plate_end: int  # ... what no transition plate may overlap
    bottom_end: int  # ... what the bottom space must be free of
    dig_end: int  # ... where no pad may be dug
    overhead_end: int  # ... overhead zones, with the highest deck level allowed


class Support(NamedTuple):
    """A leg or low support: heights it may have, where its foot lies, costs with the foot."""

    low: float
    high: float
    lateral: float
    reach: float
    brace_above: float
    cost: int
    brace_cost: int


class SectionRow(NamedTuple):
    """A section: costs, support types as bits, its stretch of ``mids``."""

    cost: int
    rail: int
    supports: int
    low_supports: int
    mid_first: int
    mid_last: int


class LandingRow(NamedTuple):
    """A landing: cost without legs and rails, sizes, leg types as bits."""

    cost: int
    length: float
    width: float
    depth: float
    inset: float
    legs: int


class TurnRow(NamedTuple):
    """A way to set a landing between two runs, relative to the arriving run."""

    landing: int
    kind: int
    rail: int
    shift: float
    along: float
    side: float
    heading_along: float
    heading_side: float
    walk: float


class PlateRow(NamedTuple):
    """A transition plate."""

    length: float
    cost: int
    rail: int


class SumRow(NamedTuple):
    """A surface length that sections can add up to, and the least it costs."""

    length: float
    least_bare: int
    least_railed: int


class Ring(NamedTuple):
    """A stretch of ``segments``: what it asks of feet, its top, its extent."""

    first: int
    last: int
    kind: int
    top: float
    u_low: float
    u_high: float
    v_low: float
    v_high: float


Row = TypeVar("Row", bound=NamedTuple)


def build_records(kind: type[Row], rows: Sequence[Row]) -> np.recarray[tuple[int], np.dtype[np.void]]:
    """Rows of one kind as a record array: one argument to the kernel instead of one a column.

    A kernel that takes every column by itself compiles several times longer.
    """
    hints = get_type_hints(kind)
    dtype = np.dtype([(name, np.int64 if hints[name] is int else np.float64) for name in hints])
    # By way of an array, because a record array cannot be made of no rows.
    return np.array([tuple(row) for row in rows], dtype=dtype).view(np.recarray)


class Tables(NamedTuple):
    """Everything the kernel reads, in the door frame."""

    triangles: Floats  # (n, 3, 3) u, v, height; the stretches are in ``numbers``
    cell_start: Ints  # bucket grid over the ground triangles
    cell_items: Ints
    segments: Floats  # (m, 4) of all rings
    rings: Records  # of Ring
    supports: Records  # of Support: legs, then low supports
    sections: Records  # of SectionRow
    mids: Floats  # surface distances of mid supports from the upper end
    sums: Records  # of SumRow, ascending, the first is 0
    before: Ints  # (sums, sections) place of the sum less the section, or -1
    landings: Records  # of LandingRow
    turns: Records  # of TurnRow
    plates: Records  # of PlateRow
    slopes: Floats  # steepest first
    numbers: Records  # one Numbers


class Pool(NamedTuple):
    """The cheapest layouts kept so far, ascending: cost, walking length, choices."""

    cost: Ints
    walk: Floats
    record: Ints
    kept: Ints  # (1,) how many
    ceiling: Ints  # (1,) no layout above this is wanted


class Room(NamedTuple):
    """Scratch space of one worker."""

    clip: Floats
    inner: Ints  # (levels, 2, sums): bare and railed cost of reaching an inner joint
    rectangles: Floats
    path: Ints
    nodes: Ints  # (1,)
