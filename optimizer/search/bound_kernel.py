"""Compiled: what a branch of the search costs at least, and whether it can come down at all."""

from __future__ import annotations

import math

from numba import njit

from optimizer.search.geometry_kernel import E, first_violation
from optimizer.search.kernel_tables import NEVER


@njit(cache=True, nogil=True)
def least_to_finish(tables, slope, deck, runs_left, landings_due):
    """Lower bound on what a layout still costs whose next run starts at ``deck``.

    Every metre of drop needs section surface at the layout's slope; beyond the free rise of
    each run that section carries rails; a limit on the rise of one run forces landings.
    """
    numbers = tables.numbers[0]
    drop = deck - numbers.highest_tip
    if drop < 0.0:
        drop = 0.0
    landings = landings_due
    if numbers.rise_limit < 1e5:
        runs = int(math.ceil((drop - E) / numbers.rise_limit - 1e-9))
        if runs > runs_left:
            return NEVER
        landings = max(landings, runs - 1)
    if landings > runs_left - 1:
        return NEVER
    steepest = numbers.steepest / math.sqrt(1.0 + numbers.steepest * numbers.steepest)
    sine = slope / math.sqrt(1.0 + slope * slope)
    best = float(NEVER)
    for p in range(tables.plates.shape[0]):
        need = max(0.0, drop - tables.plates[p].length * steepest)
        free = min(need, runs_left * numbers.handrail_rise)
        cost = (numbers.rate_bare * free + numbers.rate_railed * (need - free)) / sine
        best = min(best, max(cost, numbers.least_section) + tables.plates[p].cost)
    return int(best + landings * numbers.least_landing + numbers.least_low_pair - 1e-6)


@njit(cache=True, nogil=True)
def can_land(tables, slope, u, v, hu, hv, deck, runs_left, room):
    """Whether straight on from a pose the deck could come down to the ground before the site ends.

    A relaxation: landings, supports and clearances are left out, and straight landings may shift
    the path sideways as far as they ever could.
    """
    numbers = tables.numbers[0]
    shift = (runs_left - 1) * numbers.straight_shift
    steepest = numbers.steepest / math.sqrt(1.0 + numbers.steepest * numbers.steepest)
    fall = numbers.longest_plate * steepest
    if hu > 0.5:
        reach = numbers.u_high - u
    elif hu < -0.5:
        reach = u - numbers.u_low
    elif hv > 0.5:
        reach = numbers.v_high - v
    else:
        reach = v - numbers.v_low
    if reach <= 0.0:
        return False
    if shift <= E:
        reach = first_violation(
            tables.triangles,
            numbers.tops_end,
            numbers.solid_end,
            u,
            v,
            hu,
            hv,
            numbers.width / 2.0,
            reach,
            0.0,
            0.0,
            0.0,
            room,
        )
    reach += E
    half = shift + 1e-3
    down = first_violation(
        tables.triangles,
        numbers.start,
        numbers.ground_end,
        u,
        v,
        hu,
        hv,
        half,
        reach,
        deck,
        slope,
        fall + 3.0 * E,
        room,
    )
    if down >= reach:
        return False
    # Beyond that point the ground must also lie within the rise the runs may still take.
    rise = runs_left * numbers.rise_limit + 3.0 * E
    down -= 3.0 * E
    u += down * hu
    v += down * hv
    return (
        first_violation(
            tables.triangles,
            numbers.start,
            numbers.ground_end,
            u,
            v,
            hu,
            hv,
            half,
            reach - down,
            deck,
            0.0,
            rise,
            room,
        )
        < reach - down
    )
