"""Compiled: which runs the laws allow, and which must have rails (DEVELOPERS.md, 'What binds', 'Rails')."""

from __future__ import annotations

import math

import numpy as np

from optimizer.search.compiled import compiled, inlined
from optimizer.search.geometry_kernel import E


@inlined
def law_slope(row, plan):
    """The steepest slope of a row of ``LawRow`` at a plan length."""
    if row.slope_above == row.slope_longest or row.longest == np.inf:
        return row.slope_longest
    share = min(1.0, max(0.0, (plan - row.above) / (row.longest - row.above)))
    if row.by_ratio == 1:
        return row.slope_above + share * (row.slope_longest - row.slope_above)
    return 1.0 / (1.0 / row.slope_above + share * (1.0 / row.slope_longest - 1.0 / row.slope_above))


@inlined
def has_room(row, rise, plan):
    """Whether a row of ``LawRow`` has room for a run."""
    if plan > row.longest + E or plan <= row.above - E or rise > row.rise + E:
        return False
    greatest = law_slope(row, plan) * plan
    return rise < greatest - E if row.strict == 1 else rise <= greatest + E


@compiled
def allows_run(laws, rise, plan):
    """Whether every law allows a run; ``laws``: records of ``LawRow``, those of one law in a row."""
    law = -1
    fits = True
    for n in range(laws.shape[0]):
        if laws[n].law != law:
            if not fits:
                return False
            law = laws[n].law
            fits = False
        if not fits and has_room(laws[n], rise, plan):
            fits = True
    return fits


@compiled
def allows_last(laws, drop, plan, fall, reach):
    """Whether every law allows a last run with its plate; its sections are known to be allowed.

    ``drop``, ``plan``: of the sections; ``fall``, ``reach``: of the plate.
    """
    if laws.shape[0] == 0:
        return True
    # Slopes may be those of a run as long as both together, that rises as much.
    law = laws[0].law
    whole = False
    plate = False
    steepest = 0.0
    for n in range(laws.shape[0]):
        row = laws[n]
        if row.law != law:
            if not (whole and plate and fall <= steepest * reach + E and drop <= steepest * plan + E):
                return False
            law = row.law
            whole = False
            plate = False
            steepest = 0.0
        is_long_enough = row.above - E < plan + reach <= row.longest + E
        if is_long_enough and drop + fall <= row.rise + E:
            steepest = max(steepest, row.slope_above, row.slope_longest)
        if not whole and has_room(row, drop + fall, plan + reach):
            whole = True
        if not plate and has_room(row, fall, reach):
            plate = True
    return whole and plate and fall <= steepest * reach + E and drop <= steepest * plan + E


@inlined
def asks_rails(numbers, drop, plan, fall, reach):
    """Whether a run has rails for its rise or slope; ``fall``, ``reach``: of its plate, or 0."""
    return (
        drop + fall > numbers.handrail_rise + E
        or drop > numbers.handrail_slope * plan + E
        or fall > numbers.handrail_slope * reach + E
    )


@compiled
def most_steps(laws, length, step, most):
    """The greatest number of whole steps, at most ``most``, that a surface length may drop; 0 if none."""
    for steps in range(most, 0, -1):
        drop = steps * step
        if drop < length and allows_run(laws, drop, math.sqrt(length * length - drop * drop)):
            return steps
    return 0
