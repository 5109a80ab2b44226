"""What the search kernel reads and writes: flat arrays in the door frame, whole-cent costs."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]

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


class Tables(NamedTuple):
    """Everything the kernel reads: arrays in the door frame and whole-cent costs."""

    # surfaces: (n, 3, 3) triangles of u, v, height
    cover: Floats
    plate_cover: Floats
    bottom_cover: Floats
    solid: Floats  # what is infinitely high in ``cover``
    dig_cover: Floats
    overhead: Floats
    ground: Floats
    cell_start: Ints
    cell_items: Ints
    grid: Floats
    # what feet keep off: ring segments (m, 4)
    segments: Floats
    ring_start: Ints
    ring_kind: Ints
    ring_top: Floats
    ring_box: Floats  # (rings, 4): u_min, u_max, v_min, v_max
    arrival_segments: Floats
    arrival_start: Ints
    # supports: legs, then low supports
    support_min: Floats
    support_max: Floats
    support_lateral: Floats
    support_reach: Floats
    support_cost: Ints
    brace_above: Floats
    brace_cost: Ints
    # sections
    section_cost: Ints
    section_rail: Ints
    section_supports: Flags  # (sections, supports) bool
    section_low: Flags  # (sections, supports) bool: low supports only
    mid_start: Ints
    mid_at: Floats
    sums: Floats  # surface lengths reachable by sections, ascending, first 0
    before: Ints  # (sums, sections) index of sum - pitch, or -1
    least_cost: Ints  # (2, sums) least cost without and with rails, cheapest supports assumed
    # landings
    landing_cost: Ints
    landing_length: Floats
    landing_width: Floats
    landing_depth: Floats
    landing_inset: Floats
    landing_legs: Flags  # (landings, supports) bool
    # turn options: landing, kind, then geometry relative to the arriving run
    turn_landing: Ints
    turn_kind: Ints
    turn_shift: Floats  # lateral of the landing's middle from the run's middle
    turn_leave: Floats  # (turns, 2): t, l of the leaving pose
    turn_heading: Floats  # (turns, 2): leaving heading as (along, right) of the arriving one
    turn_rail: Ints
    turn_walk: Floats
    # plates
    plate_length: Floats
    plate_cost: Ints
    plate_rail: Ints
    slopes: Floats
    numbers: Numbers


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
