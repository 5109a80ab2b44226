"""What the search kernel reads and writes: flat arrays in the door frame, whole-cent costs."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, NamedTuple, TypeVar, get_type_hints

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Records = np.recarray[tuple[int], np.dtype[Any]]

#: A cost that no layout has, cents.
NEVER = 1 << 50
#: Reach within which low ground asks for rails: 36 in, metres.
NEAR_EDGE = 0.9144
#: How far a plate's surface may lie below the ground, and a tip corner off it: 1/4 in, metres.
LIP = 0.00635
#: Codes of the turns.
STRAIGHT, LEFT, RIGHT, HALF_LEFT, HALF_RIGHT = 0, 1, 2, 3, 4
#: Kinds of a landing between runs.
TURN_COUNT = 5


class Numbers(NamedTuple):
    """Single figures of the kernel: metres, ratios and whole cents."""

    width: float  # overall width of every run, metres
    depth: float  # frame depth of sections
    clearance: float  # frame above the cover
    low_clearance: float  # the same for the lowest section
    gap: float  # between pieces that are not joined
    bedding: float  # how far a foot sinks
    steepest: float  # rise over plan run, also of the plate
    bends: int  # 1 where laws bend the slope levels: no run's slope is that of its level for every length
    handrail_rise: float  # run rise above which rails are needed
    handrail_slope: float  # slope of sections or plate above which rails are needed
    guard_above: float  # run height above low ground that asks for rails
    landing_rail_above: float  # the same for landings
    bottom_length: float  # of the level space beyond the tip
    bottom_width: float
    foot_room: float
    apron_length: float
    apron_width: float
    level_limit: float  # steepest ground that counts as level
    pad_cost: int  # cents; NEVER when there is no pad
    pad_difference: float  # greatest level difference under a pad
    post_cost: int  # cents
    end_cost: int  # cents
    most_runs: int
    deck: float  # elevation of the upper end of the first run
    height_step: float  # drops are whole steps of this
    pitch: float  # of the lattice
    line_v: float  # a lattice line of runs heading left or right; those heading front or back have u = 0
    least_landing: int  # cents, with four of the cheapest legs
    least_low_pair: int  # cents
    rate_bare: float  # least cents a metre of surface
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
    """A landing: cost without legs and rails, the same with the cheapest legs, sizes, leg types as bits."""

    cost: int
    least: int
    length: float
    width: float
    depth: float
    inset: float
    legs: int


class PlateRow(NamedTuple):
    """A transition plate."""

    length: float
    cost: int
    rail: int


class LawRow(NamedTuple):
    """An allowance of a law (see ``Allowance`` of the rulebook); rows of one law follow each other."""

    law: int
    above: float
    longest: float
    rise: float
    slope_above: float
    slope_longest: float
    by_ratio: int  # 1: the slope itself changes evenly between them; 0: its plan run per rise does
    strict: int  # 1: only flatter than the slope


class SlopeRow(NamedTuple):
    """Runs of about one slope, looked at together: a stretch of ``laid``.

    They drop ``sine`` times their sum, or at most ``spare`` metres less.
    ``level``: the slope level of all of them, or -1.
    """

    sine: float
    spare: float
    level: int
    first: int
    last: int


class LaidRow(NamedTuple):
    """A run that may be laid: place of its sum and slope level."""

    at_sum: int
    level: int


class SumRow(NamedTuple):
    """A surface length that sections can add up to."""

    length: float


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
    kinds: Ints  # (landings, TURN_COUNT) cents of its rails in that use, or NEVER where it may not serve
    plates: Records  # of PlateRow
    sines: Floats  # of the slope levels, steepest first, where no law bends them
    laws: Records  # of LawRow, the wish about walks between landings among them
    slopes: Records  # of SlopeRow, steepest first
    laid: Records  # of LaidRow, within a slope row by sum
    drops: Ints  # (levels, sums) height steps a run of that sum drops, 0 where it may not be laid
    plans: Floats  # (levels, sums) its plan length
    locks: Floats  # (m, 3) u, v, and 1 for 'a landing lies here', 0 for 'some piece does'
    numbers: Records  # one Numbers


class Raster(NamedTuple):
    """Square cells over the lot: what is certain of every place in a cell.

    ``rows`` run along v, columns along u.  A run or landing that covers a cell whole meets at
    least ``cover`` there; a foot in it stands between ``foot_low`` and ``foot_high``.
    """

    corner_u: float
    corner_v: float
    cell: float
    columns: int
    rows: int
    strip: int  # cells across that a run of the common width covers wherever it lies
    ground_low: Floats  # (rows, columns) of the cell a little enlarged; inf where not surveyed
    ground_high: Floats
    cover: Floats  # greatest cover in the cell, -inf where unknown
    ceiling: Floats  # least deck level that something overhead forbids, inf where nothing hangs
    strip_u: Floats  # greatest cover of ``strip`` rows from here, for runs along u
    strip_v: Floats  # the same of columns, for runs along v
    near_low: Floats  # ground that lies within NEAR_EDGE of the cell is at least as low as this
    groups: Floats  # (g, 2) lateral offset and reach of the kinds of feet
    least_at: Ints  # (sets of supports, g, heights) least cents of a support of a set and group at a height
    joint_set: Ints  # set of supports under joints of each section
    hinge_set: Ints  # ... under its hinge
    landing_set: Ints  # ... of each landing
    ends: Ints  # 0 no ramp can end in the cell, 1 only with a pad, 2 perhaps without
    allowed: Ints  # (g, rows, columns) 0 not looked at, 1 no foot, 2 on the ground, 3 on a top
    tops: Floats  # (g, rows, columns) the top, where there is one


class Bound(NamedTuple):
    """What is left at least, by height and by place."""

    by_height: Ints  # (classes, runs + 1, steps) cents with so many runs left from a height step
    by_step: Ints  # (runs + 1, steps) the least over the classes
    tells_rests: int  # 1 when ``by_step`` also bounds the rest of a run after a joint
    landed: Ints  # (due + 1, ...) as ``by_height``, with at least so many landings on the way
    by_way: (
        Ints  # (due + 1, runs + 1, drops, ways) cents of runs that drop and lead at least so far, likewise
    )
    by_length: Floats  # (sums,) surface lengths ascending, and
    by_length_cost: Ints  # least cents of a run at least so long
    drop_bin: float
    way_bin: float
    highest: Floats  # (classes,) highest level of a tip
    plate_fall: float  # greatest fall of a plate
    ends: Ints  # (classes,) cents of plate, low supports and pad
    distance: Floats  # (classes, rows, columns) least way to ground of the class, metres
    corner_u: float
    corner_v: float
    cell: float
    advance: float  # furthest way along both axes that one landing takes the path


class States(NamedTuple):
    """Poses at which a run may start, in the order found: first those with no run behind them, and so on."""

    u: Floats
    v: Floats
    step: Ints  # height steps below the first run's upper end
    heading: Ints  # place in ``HEADINGS``
    turned: Ints  # turns so far (see ``state_kernel.add_turn``)
    flag: Ints  # locks met, whether the run starts at a half turn, the level where all must be equal
    cost: Ints  # least cost of getting here, overlap of pieces left out
    rest: Ints  # least cost from here on, for the shape in question
    arc_first: Ints
    arc_last: Ints
    slots: Ints  # hash table of places in these arrays, -1 empty
    sizes: Ints  # (4,) states, arcs, least cost left aside, first state with one run more than those expanded
    arc_to: Ints  # state reached, -1 where the ramp ends
    arc_cost: Ints
    arc_choice: Ints  # see ``state_kernel``
    arc_exact: Ints  # 1 when the cost is exact, not a bound


class Pool(NamedTuple):
    """The cheapest layouts kept so far, ascending: cost, walking length, arcs."""

    cost: Ints
    walk: Floats
    record: Ints  # (n, runs + 2) first state, then its arcs, -1 after the last
    kept: Ints  # (1,) how many
    ceiling: Ints  # (1,) no layout above this is wanted
    aside: Ints  # (1,) least cost left aside for the ceiling


class Room(NamedTuple):
    """Scratch space of one worker."""

    clip: Floats
    inner: Ints  # (2, sums): bare and railed cost of reaching an inner joint
    runs: Ints  # (4, sums): least cost of a run bare, railed, and as the last run bare, railed
    aside: Ints  # (1,) least cost left aside by ``fill_runs``
    memo_key: Ints  # what ``least_rest`` was asked last, by hash, and what it answered
    memo: Ints
    rectangles: Floats
    order: Ints  # (runs + 1, n) arcs to try
    price: Ints  # (runs + 1, n) their lower bounds
    path: Ints  # first state, then arcs
    at: Ints  # by depth: state, cost and way so far, next arc to try, how many there are
    cost: Ints
    walk: Floats
    cursor: Ints
    listed: Ints
    pops: Ints  # (2,) arcs tried, arcs made exact
