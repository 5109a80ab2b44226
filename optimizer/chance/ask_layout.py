"""From a candidate of the plan to the conditions that the ground must meet.

The door landing is set from the threshold and every section from the one above it, so steel keeps its
planned elevations whatever the ground is: the ramp hangs from the door.  A ground that lies lower
everywhere by the same amount then makes every leg longer by that amount, from the first to the last,
and the plate at the toe steeper: an error that all feet share is not harmless, and the one of the
threshold against the ground is such an error.  Legs fail together, which is why the chance of a layout
is not the product of the chances of its legs.  What the crew may do about it is in ``regrade``.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimizer.catalogue.parts import BottomPad, Catalogue, Landing, Leg, LowSupport, Section, TransitionPlate
from optimizer.chance.layout_question import LayoutQuestion, SupportSpot, SupportType, Window
from optimizer.errors import InternalError
from optimizer.plan import Candidate, Piece, SupportLeg
from optimizer.terrain.ground import Ground
from optimizer.terrain.yard import Points
from optimizer.units import TOLERANCE_M

#: Where on a piece its clearance is looked at: corners, middles of the edges, middle.
_SHARES: Final = (0.0, 0.5, 1.0)
_ALONE: Final = np.ones(1)
_DIRECTIONS: Final = 12


@dataclass(frozen=True, slots=True)
class LandingLimits:
    """Limits at the low end: slope of plate and runs, of the place beyond, and the lip at the tip."""

    steepest: float
    bottom_slope: float
    lip_m: float


def ask_layout(
    candidate: Candidate, catalogue: Catalogue, ground: Ground, limits: LandingLimits
) -> LayoutQuestion:
    """The conditions of a candidate that hangs from the door, its steel where the plan has it.

    ``ground``: the surface the plan was made on; a support whose level is not that surface's stands on
    something built.  Obstacles are not looked at.  Raises ``InternalError`` for parts that the
    catalogue does not have as what the plan calls them.
    """
    pieces = {piece.id: piece for piece in candidate.pieces}
    supports = tuple(_ask_support(leg, pieces, catalogue, ground) for leg in candidate.legs)
    known = {option for spot in supports for option in spot.options}
    stock = {level.part: level.count for level in catalogue.stock}
    planned = [spot.planned for spot in supports]
    parts: tuple[Leg | LowSupport, ...] = (*catalogue.legs, *catalogue.low_supports)
    types = tuple(
        _describe_type(one, catalogue, stock.get(one.id), planned.count(one.id))
        for one in parts
        if one.id in known
    )
    windows = [*_ask_clearances(candidate, catalogue), *_ask_plate(candidate, catalogue, limits)]
    windows += _ask_bottom(candidate, catalogue, limits)
    tip = candidate.toe.tip_m
    return LayoutQuestion(
        supports, tuple(windows), types, np.array(tip[:2]), candidate.toe.ground_elevation_m
    )


def _ask_support(
    leg: SupportLeg, pieces: dict[str, Piece], catalogue: Catalogue, ground: Ground
) -> SupportSpot:
    part = catalogue.part(pieces[leg.piece].catalogue_id)
    if leg.station.startswith("hinge") and isinstance(part, Section):
        options = part.low_supports
    elif isinstance(part, Section):
        options = (*part.legs, *part.low_supports)
    elif isinstance(part, Landing):
        options = part.legs
    else:
        message = f'support "{leg.id}" stands under "{leg.piece}", which takes none'
        raise InternalError(message)
    surface = ground.elevation_at(leg.x_m, leg.y_m)
    stands_on_ground = math.isnan(surface) or abs(surface - leg.ground_elevation_m) <= TOLERANCE_M
    return SupportSpot(
        id=leg.id,
        planned=leg.leg_type,
        options=options if leg.leg_type in options else (*options, leg.leg_type),
        xy_m=np.array([[leg.x_m, leg.y_m]]),
        weights=_ALONE,
        steel_m=leg.frame_elevation_m,
        bedding_m=leg.height_m - (leg.frame_elevation_m - leg.ground_elevation_m),
        height_m=leg.height_m,
        low_m=leg.range_m[0] + leg.reserve_m - TOLERANCE_M,
        high_m=leg.range_m[1] - leg.reserve_m + TOLERANCE_M,
        hung=1.0,
        built_level_m=None if stands_on_ground else leg.ground_elevation_m,
    )


def _describe_type(
    one: Leg | LowSupport, catalogue: Catalogue, in_stock: int | None, planned: int
) -> SupportType:
    reserve = one.reserve_m if isinstance(one, Leg) else 0.0
    price = one.price_cents + catalogue.part(one.foot).price_cents
    most = None if in_stock is None else max(0, in_stock - planned)
    low, high = one.min_m + reserve - TOLERANCE_M, one.max_m - reserve + TOLERANCE_M
    return SupportType(one.id, low, high, price, most)


def _ask_clearances(candidate: Candidate, catalogue: Catalogue) -> list[Window]:
    decks = [piece for piece in candidate.pieces if piece.kind in ("landing", "section")]
    last = [piece.id for piece in decks if piece.kind == "section"][-1:]
    windows = []
    for piece in decks:
        part = catalogue.part(piece.catalogue_id)
        if not isinstance(part, Section | Landing):
            message = f'piece "{piece.id}" is a {piece.kind} in the plan and none in the catalogue'
            raise InternalError(message)
        least = catalogue.low_clearance_m if piece.id in last else catalogue.clearance_m
        for x, y, z in _spread_over(piece):
            underside = z - part.frame_depth_m
            at = np.array([[x, y]])
            windows.append(
                Window(piece.id, "clearance", at, _ALONE, underside, least - TOLERANCE_M, math.inf, 1.0)
            )
    return windows


def _ask_plate(candidate: Candidate, catalogue: Catalogue, limits: LandingLimits) -> list[Window]:
    """The plate falls by nothing at least and by its slope's limit at most, over the tip as planned."""
    windows = []
    for piece in candidate.pieces:
        part = catalogue.part(piece.catalogue_id)
        if piece.kind == "transition_plate" and isinstance(part, TransitionPlate):
            hinge = 0.5 * (piece.corners_m[0][2] + piece.corners_m[1][2])
            most = part.length_m * limits.steepest / math.hypot(1.0, limits.steepest)
            at = np.array([candidate.toe.tip_m[:2]])
            windows.append(
                Window(piece.id, "plate", at, _ALONE, hinge, -TOLERANCE_M, most + TOLERANCE_M, 1.0)
            )
    return windows


def _ask_bottom(candidate: Candidate, catalogue: Catalogue, limits: LandingLimits) -> list[Window]:
    """With a pad: its greatest difference of levels; without: slopes along and across, and the lip."""
    toe = candidate.toe
    tip = np.array(toe.tip_m[:2])
    corners = np.array([corner[:2] for corner in toe.bottom_space_m])
    pads = [catalogue.part(piece.catalogue_id) for piece in candidate.pieces if piece.kind == "bottom_pad"]
    if toe.pad:
        most = min(
            (pad.greatest_level_difference_m for pad in pads if isinstance(pad, BottomPad)), default=0.0
        )
        return [_compare("pad", tip, _ALONE, corner[None], _ALONE, most) for corner in corners]
    plate = next(piece for piece in candidate.pieces if piece.kind == "transition_plate")
    tip_corners = np.array([corner[:2] for corner in plate.corners_m[2:]])
    return [
        *_ask_steepest(corners, limits.bottom_slope),
        *(_compare("tip", tip, _ALONE, corner[None], _ALONE, limits.lip_m) for corner in tip_corners),
    ]


def _ask_steepest(corners: Points, limit: float) -> Iterator[Window]:
    """The place (4, 2) falls by no more than the limit in each of twelve directions, both ways.

    Twelve chords for a circle: a slope less than 0.9 % steeper than the limit can pass.
    """
    along = float(np.hypot(*(corners[2:].mean(axis=0) - corners[:2].mean(axis=0))))
    across = float(np.hypot(*(corners[1] - corners[0])))
    for direction in np.arange(_DIRECTIONS) * math.pi / _DIRECTIONS:
        weights = math.cos(direction) * np.array([-0.5, -0.5, 0.5, 0.5]) / along
        weights += math.sin(direction) * np.array([-0.5, 0.5, 0.5, -0.5]) / across
        most = limit + 1e-9
        yield Window("bottom", "bottom", corners, weights, 0.0, -most, most, 0.0)


def _compare(
    subject: str,
    first: Points,
    first_weights: NDArray[np.float64],
    second: Points,
    second_weights: NDArray[np.float64],
    most_m: float,
) -> Window:
    """Two levels of the ground differ by ``most_m`` at most."""
    xy = np.vstack([np.atleast_2d(first), second])
    weights = np.concatenate([first_weights, -second_weights])
    return Window(subject, "bottom", xy, weights, 0.0, -most_m - TOLERANCE_M, most_m + TOLERANCE_M, 0.0)


def _spread_over(piece: Piece) -> list[tuple[float, float, float]]:
    start_left, start_right, end_right, end_left = (np.array(corner) for corner in piece.corners_m)
    spots = []
    for down in _SHARES:
        left, right = (1 - down) * start_left + down * end_left, (1 - down) * start_right + down * end_right
        for across in _SHARES:
            x, y, z = ((1 - across) * left + across * right).tolist()
            spots.append((x, y, z))
    return spots
