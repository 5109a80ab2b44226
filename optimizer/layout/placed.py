"""A layout as placed pieces, supports and rails, in the site frame."""

from __future__ import annotations

from dataclasses import dataclass

from optimizer.plan import Piece, Rail, SupportLeg, Toe


@dataclass(frozen=True, slots=True)
class PlacedLayout:
    """Everything that will stand in the yard, in building order from the door down."""

    pieces: tuple[Piece, ...]
    legs: tuple[SupportLeg, ...]
    rails: tuple[Rail, ...]
    toe: Toe
    walking_length_m: float
    footprint_m2: float
    rise_m: float
    steepest_slope: float
