"""What the client asks first of each way to build it, as numbers and keys of ``words.toml``.

Metres and whole cents; nothing here knows a language.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from optimizer.brief.site import Site
from optimizer.plan import Candidate, Piece, Plan, SupportLeg
from optimizer.units import TOLERANCE_M, format_length, is_slope_at_most
from viewer.facts import find_start

#: What is said about pushing goes by these slopes.  Common practice, no source.
EASY_SLOPE: Final = 1.0 / 20.0
STEADY_SLOPE: Final = 1.0 / 12.0
#: The estimate's own words for its added lines.
_TAX: Final = "tax"
_DELIVERY: Final = "delivery"


@dataclass(frozen=True, slots=True)
class KeyFigures:
    """One candidate.

    ``shape`` and ``way`` are keys of texts (``way``: how it leaves the door, then each turn);
    ``turns`` how often it turns.  ``stretch_m``: plan length of the longest slope between two level
    places.  ``unmet``: limits that bind, or checks of our own, that it fails.
    """

    shape: str
    turns: int
    way: tuple[str, ...]
    price_cents: int
    tax_cents: int
    has_delivery: bool
    slope: float
    push: str
    walk_m: float
    stretch_m: float
    rise_m: float
    landings: int
    tallest: SupportLeg | None
    steps: str
    unmet: int


def list_key_figures(plan: Plan, site: Site) -> tuple[KeyFigures, ...]:
    """The figures of every candidate, in the plan's order."""
    return tuple(_find_figures(plan, site, candidate) for candidate in plan.candidates)


def _find_figures(plan: Plan, site: Site, candidate: Candidate) -> KeyFigures:
    turns = [turn for turn in candidate.turns if turn != "straight"]
    legs = [leg for leg in candidate.legs if leg.kind == "leg"]
    told_only = {one.id for one in plan.rules if one.role != "binding"}
    return KeyFigures(
        shape=_name_shape(turns),
        turns=len(turns),
        way=(f"exit_{candidate.exit}", *(f"then_{turn}" for turn in turns)),
        price_cents=candidate.price_cents,
        tax_cents=sum(line.total_cents for line in candidate.price_lines if line.part == _TAX),
        has_delivery=any(line.part == _DELIVERY for line in candidate.price_lines),
        slope=candidate.steepest_slope,
        push=_judge_push(candidate.steepest_slope),
        walk_m=candidate.walking_length_m,
        stretch_m=measure_longest_stretch(candidate.pieces),
        rise_m=candidate.rise_m,
        landings=sum(piece.kind == "landing" for piece in candidate.pieces),
        tallest=max(legs, key=lambda leg: leg.height_m) if legs else None,
        steps=_judge_steps(site, candidate),
        unmet=sum(one.verdict == "fails" and one.rules not in told_only for one in candidate.findings),
    )


def _name_shape(turns: Sequence[str]) -> str:
    if not turns:
        return "straight"
    if any(turn.startswith("half") for turn in turns):
        return "folded"
    return "one_turn" if len(turns) == 1 else "turns"


def _judge_push(slope: float) -> str:
    if is_slope_at_most(slope, 1.0, EASY_SLOPE):
        return "push_easy"
    return "push_steady" if is_slope_at_most(slope, 1.0, STEADY_SLOPE) else "push_helper"


def _judge_steps(site: Site, candidate: Candidate) -> str:
    if any(piece.kind == "steps" for piece in candidate.pieces):
        return "steps_new"
    kinds = {"over_steps": "steps_under", "edge": "steps_porch", "landing": "steps_none"}
    return kinds[find_start(site, candidate).kind]


def measure_longest_stretch(pieces: tuple[Piece, ...]) -> float:
    """Plan length of the longest row of sections and end plate without a landing between them."""
    longest = stretch = 0.0
    for piece in pieces:
        if piece.kind in ("section", "transition_plate"):
            upper, lower = piece.corners_m[0], piece.corners_m[3]
            stretch += math.dist(upper[:2], lower[:2])
        elif piece.kind == "landing":
            stretch = 0.0
        longest = max(longest, stretch)
    return longest


def format_run(slope: float) -> str:
    """How far along for one up: ``12`` of 1/12, ``8.5`` of 2/17; cut, never rounded to flatter.

    Empty when level.
    """
    if abs(slope) < TOLERANCE_M:
        return ""
    run = 1.0 / abs(slope)
    if run >= 10.0:
        return str(math.floor(run + 1e-6))
    return f"{math.floor(run * 10.0 + 1e-6) / 10.0:g}"


def format_long(length_m: float, site: Site) -> str:
    """A length that is paced, not built: whole inches, or tenths of a metre."""
    if site.display.system in ("ft-in", "in"):
        return format_length(length_m, "ft-in", 0.0254)
    return format_length(length_m, "m", 0.1)
