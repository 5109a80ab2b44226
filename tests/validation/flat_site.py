"""Level ground all round one door: a site whose layouts and prices can be worked out by hand.

Validates nothing by itself.  Source: invented; parts are those of the demo catalogue in inches.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from optimizer.brief.site import Site
from optimizer.terrain.yard import Points
from tests.validation.small_yards import (
    build_ground,
    build_own_limits,
    build_small_yard,
    demo_catalogue,
    frozen,
    with_rules,
)

OUTWARD = np.array([0.6, 0.8])
RIGHT = np.array([0.8, -0.6])


def in_site_frame(*points: tuple[float, float]) -> Points:
    """Points (u, v) of the door frame, as (n, 2) in the site frame."""
    return frozen(np.array([u * RIGHT + v * OUTWARD for u, v in points]))


def flat_site(threshold_m: float, longest_run_m: float, most_runs: int) -> Site:
    """Few parts of the inch catalogue, one slope of 1:8, front exit only, the door 0.04 m from its landing.

    One section (96 in), the landing of 64 in (door, rest, quarter turn), the half turn of 94 in,
    drops in tenths of an inch, a lattice so wide that the line u = 0 is the only one of a start.
    """
    whole = demo_catalogue("demo-inch")
    small = build_small_yard(2)
    start = replace(
        small.yard.starts[0],
        kind="landing",
        midpoint_m=frozen(np.zeros(2)),
        outward=frozen(OUTWARD),
        threshold_m=threshold_m,
        drop_m=0.0,
        clear_width_m=0.9,
        gap_m=0.04,
    )
    corners = np.array([[-30.0, -30.0], [30.0, -30.0], [30.0, 30.0], [-30.0, 30.0]])
    site = replace(
        small,
        name="flat",
        ground=build_ground(np.column_stack([corners, np.zeros(4)])),
        yard=replace(
            small.yard,
            starts=(start,),
            house_m=(in_site_frame((-1.0, 0.0), (-1.0, -2.0), (1.0, -2.0), (1.0, 0.0)),),
            lot_m=frozen(corners),
            setback_m=0.0,
            setback_kind="hard",
            relief_cents=0,
            obstacles=(),
            zones=(),
            arrivals_m=(),
        ),
        bedding_m=0.0,
        catalogue=replace(
            whole,
            sections=tuple(s for s in whole.sections if s.id == "section-96"),
            landings=tuple(ld for ld in whole.landings if ld.id in {"landing-64", "landing-half-94"}),
        ),
        rates=replace(small.rates, labour_per_hour_cents=6000),
        rider=replace(small.rider, total_mass_kg=120.0),
        wishes=replace(
            small.wishes,
            steepest=None,
            clear_width_m=None,
            exits=("front",),
            most_turns=None,
            guard_above_m=0.762,
            rail_landings_above_m=0.1524,
            slopes="free",
            must_pass_m=(),
            landing_at_m=(),
            longest_between_rests_m=None,
            survey_error_m=0.0,
        ),
        search=replace(
            small.search,
            lattice_m=0.5,
            finest_lattice_m=0.25,
            height_step_m=0.00254,
            slope_levels=1,
            most_runs=most_runs,
            longest_run_m=longest_run_m,
        ),
    )
    return with_rules(site, build_own_limits(running_slope=1 / 8, handrail_rise=0.1524))
