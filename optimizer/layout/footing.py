"""What a foot stands on, and which support fits there."""

from __future__ import annotations

import math
from dataclasses import dataclass

from shapely.geometry import Point, Polygon

from optimizer.brief.site import Site
from optimizer.catalogue.leg_setting import format_setting
from optimizer.catalogue.parts import Foot, Leg, LowSupport
from optimizer.catalogue.rates import part_cost_cents
from optimizer.errors import Fault, InputError
from optimizer.plan import SupportLeg
from optimizer.units import TOLERANCE_M


@dataclass(frozen=True, slots=True)
class SupportPoint:
    """One place that wants a support.

    ``station`` and ``piece`` as in ``SupportLeg``; ``types`` the support ids its piece takes;
    ``frame_m`` the frame underside there.  ``xy_m`` holds one point per type, because types
    reach out sideways by different amounts.
    """

    piece: str
    station: str
    frame_m: float
    types: tuple[str, ...]
    xy_m: tuple[tuple[float, float], ...]


def foot_of(site: Site, support: Leg | LowSupport) -> Foot:
    """The foot a support type stands on."""
    return next(foot for foot in site.catalogue.feet if foot.id == support.foot)


def standing_level(site: Site, x_m: float, y_m: float, reach_m: float) -> float:
    """Level under a foot of reach ``reach_m``: ground, or the top of an obstacle it stands on.

    NaN outside the surveyed ground.
    """
    level = site.ground.elevation_at(x_m, y_m)
    point = Point(x_m, y_m)
    tops = [
        obstacle.top_m
        for obstacle in site.yard.obstacles
        if obstacle.may_stand and obstacle.top_m is not None
        for shape in [Polygon(obstacle.outline_m)]
        if shape.contains(point) and shape.exterior.distance(point) >= reach_m - TOLERANCE_M
    ]
    return max(tops) if tops else level


def misfit(support: Leg | LowSupport, height_m: float) -> float:
    """How far a height lies outside a type's range with its reserve; 0 when it fits."""
    reserve = support.reserve_m if isinstance(support, Leg) else 0.0
    low, high = support.min_m + reserve, support.max_m - reserve
    outside = max(low - height_m, height_m - high)
    return outside if outside > TOLERANCE_M else 0.0


def set_support(site: Site, point: SupportPoint, number: int, wanted: str | None) -> SupportLeg:
    """Put a support at a point: the ``wanted`` type, else the cheapest that fits.

    When nothing fits, the type that misses by least is set and the checker objects: a layout
    typed by hand is drawn as typed.  Raises InputError where the ground is not known.
    """
    candidates = []
    for order, (type_id, (x_m, y_m)) in enumerate(zip(point.types, point.xy_m, strict=True)):
        if wanted is not None and type_id != wanted:
            continue
        support = site.catalogue.part(type_id)
        if not isinstance(support, Leg | LowSupport):
            continue
        foot = foot_of(site, support)
        reach = foot.plate_m / math.sqrt(2.0) + foot.edge_distance_m
        level = standing_level(site, x_m, y_m, reach)
        if math.isnan(level):
            continue
        height = point.frame_m - (level - site.bedding_m)
        braced = isinstance(support, Leg) and height > support.brace_above_m + TOLERANCE_M
        cost = part_cost_cents(support, site.rates) + part_cost_cents(foot, site.rates)
        if braced and isinstance(support, Leg):
            cost += part_cost_cents(site.catalogue.part(support.brace), site.rates)
        candidates.append(((misfit(support, height), cost, order), support, x_m, y_m, level, height, braced))
    if not candidates:
        x_m, y_m = point.xy_m[0]
        raise InputError(
            Fault(
                f"support {number} of {point.piece} ({point.station})",
                f"the ground at ({x_m:.2f}, {y_m:.2f}) m is not surveyed.",
                "Survey further or keep the ramp off it.",
            )
        )
    _, support, x_m, y_m, level, height, braced = min(candidates, key=lambda c: c[0])
    return SupportLeg(
        id=f"L{number:02d}",
        piece=point.piece,
        station=point.station,
        kind="leg" if isinstance(support, Leg) else "low_support",
        leg_type=support.id,
        foot=support.foot,
        brace=support.brace if braced and isinstance(support, Leg) else None,
        x_m=x_m,
        y_m=y_m,
        ground_elevation_m=level,
        frame_elevation_m=point.frame_m,
        height_m=height,
        range_m=(support.min_m, support.max_m),
        reserve_m=support.reserve_m if isinstance(support, Leg) else 0.0,
        setting=format_setting(support, height),
        fit_chance=None,
    )
