"""A legal ramp on a tilted plane, built by hand in a frame of its own, to be damaged by the tests."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np

from optimizer.catalogue.leg_setting import format_setting
from optimizer.catalogue.parts import Catalogue, Landing, Leg, Part, Section
from optimizer.plan import Candidate, Piece, Rail, SupportLeg, Toe
from optimizer.standards.check_candidate import CheckCase
from tests.standards.invented_parts import build_catalogue
from tests.standards.price_by_hand import price_ramp
from tests.standards.rails_by_hand import build_rails
from tests.standards.yard_by_hand import UV, Frame, build_case

XYZ = tuple[float, float, float]

HEADINGS: dict[str, UV] = {"front": (0.0, 1.0), "right": (1.0, 0.0), "back": (0.0, -1.0), "left": (-1.0, 0.0)}


def _right_of(heading: UV) -> UV:
    return (heading[1], -heading[0])


@dataclass
class Ramp:
    """Builds pieces, supports and rails in the door frame; heights are set once the tip is known."""

    frame: Frame
    catalogue: Catalogue
    gradient: tuple[float, float]
    bedding: float = 0.005
    pieces: list[Piece] = field(default_factory=list)
    legs: list[SupportLeg] = field(default_factory=list)
    rails: list[Rail] = field(default_factory=list)

    def ground(self, u: float, v: float) -> float:
        return 0.35 + self.gradient[0] * u + self.gradient[1] * v

    def part(self, name: str) -> Part:
        return self.catalogue.part(name)

    def point(self, middle: UV, heading: UV, along: float, lateral: float) -> UV:
        right = _right_of(heading)
        return (
            middle[0] + along * heading[0] + lateral * right[0],
            middle[1] + along * heading[1] + lateral * right[1],
        )

    def xyz(self, uv: UV, z: float) -> XYZ:
        return (*self.frame.site(*uv), z)

    def add_piece(
        self,
        name: str,
        part: str,
        kind: str,
        use: str | None,
        run: int | None,
        middle: UV,
        heading: UV,
        plan: float,
        width: float,
        z: float,
        slope: float,
    ) -> None:
        half = width / 2.0
        corners = tuple(
            self.xyz(self.point(middle, heading, along, lateral), z - slope * along)
            for along, lateral in ((0.0, -half), (0.0, half), (plan, half), (plan, -half))
        )
        stated = slope if kind in ("section", "transition_plate") else 0.0
        piece = Piece(
            id=name, catalogue_id=part, kind=kind, use=use, run=run, corners_m=corners, slope=stated
        )
        self.pieces.append(piece)

    def add_leg(self, piece: str, station: str, uv: UV, frame_z: float, allowed: tuple[str, ...]) -> None:
        ground = self.ground(*uv)
        height = frame_z - (ground - self.bedding)
        for name in allowed:
            part = self.part(name)
            reserve = part.reserve_m if isinstance(part, Leg) else 0.0
            if part.min_m + reserve <= height <= part.max_m - reserve:
                break
        else:
            raise AssertionError(f"no support of {allowed} is {height:.3f} m high at {piece} {station}")
        x, y = self.frame.site(*uv)
        braced = isinstance(part, Leg) and height > part.brace_above_m
        self.legs.append(
            SupportLeg(
                id=f"leg {len(self.legs) + 1}",
                piece=piece,
                station=station,
                kind="leg" if isinstance(part, Leg) else "low_support",
                leg_type=name,
                foot=part.foot,
                brace=part.brace if braced else None,
                x_m=x,
                y_m=y,
                ground_elevation_m=ground,
                frame_elevation_m=frame_z,
                height_m=height,
                range_m=(part.min_m, part.max_m),
                reserve_m=reserve,
                setting=format_setting(part, height),
                fit_chance=None,
            )
        )

    def add_pair(
        self,
        piece: str,
        role: str,
        middle: UV,
        heading: UV,
        along: float,
        z: float,
        part: Section,
        allowed: tuple[str, ...],
    ) -> None:
        for side, sign in (("left", -1.0), ("right", 1.0)):
            for name in allowed:  # the type decides the offset, so try each type at its own place
                lateral = sign * (part.overall_width_m / 2.0 + self.part(name).lateral_offset_m)
                uv = self.point(middle, heading, along, lateral)
                try:
                    self.add_leg(piece, f"{role}-{side}", uv, z - part.frame_depth_m, (name,))
                except AssertionError:
                    continue
                break
            else:
                raise AssertionError(f"no support fits at {piece} {role}")


def build_ramp(
    runs: tuple[tuple[str, ...], ...] = (("section", "section", "section"),),
    turns: tuple[str, ...] = (),
    leave: str = "front",
    slope: float = 1.0 / 13.0,
    gradient: tuple[float, float] = (0.008, -0.012),
    angle: float = 0.6,
    origin: tuple[float, float] = (12.0, -7.0),
    *,
    pad: bool = False,
) -> tuple[Candidate, CheckCase]:
    """A candidate that breaks nothing, and the case it is judged in."""
    catalogue = build_catalogue()
    frame = Frame(angle, origin)
    ramp = Ramp(frame, catalogue, gradient)
    gap, drop = 0.02, 0.01
    stretch = math.hypot(1.0, slope)
    plan = sum(catalogue.part(name).pitch_m for run in runs for name in run) / stretch
    plan += 0.9 / stretch
    tip_uv, heading = _walk(ramp, runs, turns, leave, slope, gap, stretch, z0=0.0, place=False)
    z_tip = ramp.ground(*tip_uv)
    z0 = z_tip + slope * plan
    _walk(ramp, runs, turns, leave, slope, gap, stretch, z0=z0, place=True)
    sill_half = 0.475
    corners = tuple(
        ramp.xyz(uv, z)
        for uv, z in (
            ((-sill_half, 0.0), z0 + drop),
            ((sill_half, 0.0), z0 + drop),
            ((sill_half, gap), z0),
            ((-sill_half, gap), z0),
        )
    )
    ramp.pieces.insert(
        0,
        Piece(
            id="sill",
            catalogue_id="sill",
            kind="threshold_plate",
            use=None,
            run=None,
            corners_m=corners,
            slope=drop / gap,
        ),
    )
    length, width = 1.524, 1.524
    levels = np.array(
        [
            [ramp.ground(*ramp.point(tip_uv, heading, a, b)) for b in (-width / 2, 0.0, width / 2)]
            for a in (0.0, length / 2, length)
        ]
    )
    slope_down = math.hypot(
        (levels[2].mean() - levels[0].mean()) / length, (levels[:, 2].mean() - levels[:, 0].mean()) / width
    )
    corner_gap = max(abs(ramp.ground(*ramp.point(tip_uv, heading, 0.0, b)) - z_tip) for b in (-0.525, 0.525))
    space = tuple(
        ramp.xyz(uv, z_tip if pad else ramp.ground(*uv))
        for uv in (
            ramp.point(tip_uv, heading, a, b)
            for a, b in ((0.0, -width / 2), (0.0, width / 2), (length, width / 2), (length, -width / 2))
        )
    )
    if pad:
        ramp.add_piece("pad", "pad", "bottom_pad", None, None, tip_uv, heading, 1.6, 1.6, z_tip, 0.0)
    destination = frame.site(*ramp.point(tip_uv, heading, 4.0, 1.0))
    toe = Toe(
        tip_m=ramp.xyz(tip_uv, z_tip),
        ground_elevation_m=z_tip,
        plate_slope=slope,
        tip_corner_gap_m=0.0 if pad else corner_gap,
        bottom_space_m=space,
        bottom_slope=0.0 if pad else slope_down,
        pad=pad,
        to_destination_m=math.hypot(4.0, 1.0),
    )
    ramp.rails.extend(build_rails(tuple(ramp.pieces), turns, leave))
    case = build_case(frame, catalogue, ramp.ground, ramp.bedding, z0 + drop, drop, gap, destination)
    surface = plan * stretch
    walk = surface + _walk_landings(turns, leave, gap)
    return price_ramp(
        ramp.pieces, ramp.legs, ramp.rails, case, toe, turns, leave, slope, z0 - z_tip, walk
    ), case


def _walk(
    ramp: Ramp,
    runs: tuple[tuple[str, ...], ...],
    turns: tuple[str, ...],
    leave: str,
    slope: float,
    gap: float,
    stretch: float,
    z0: float,
    *,
    place: bool,
) -> tuple[UV, UV]:
    """Lay the pieces out from the door; the tip alone, or with ``place`` tip and heading."""
    catalogue = ramp.catalogue
    landing = catalogue.part("landing")
    heading = HEADINGS["front"]
    length, width = landing.length_m, landing.width_m
    z = z0
    if place:
        ramp.add_piece("L0", "landing", "landing", "door", None, (0.0, gap), heading, length, width, z, 0.0)
        _add_landing_legs(ramp, "L0", landing, (0.0, gap), heading, z, middle=False)
    centre = ramp.point((0.0, gap), heading, length / 2.0, 0.0)
    heading = HEADINGS[leave]
    at = ramp.point(centre, heading, length / 2.0, 0.0)
    for number, run in enumerate(runs, start=1):
        last = number == len(runs)
        for index, name in enumerate(run):
            part = catalogue.part(name)
            plan = part.pitch_m / stretch
            piece = f"S{number}.{index + 1}"
            if place:
                width = part.overall_width_m
                ramp.add_piece(piece, name, "section", None, number, at, heading, plan, width, z, slope)
                for distance in part.mid_supports_m:
                    along = distance / stretch
                    ramp.add_pair(
                        piece,
                        "mid",
                        at,
                        heading,
                        along,
                        z - slope * along,
                        part,
                        (*part.legs, *part.low_supports),
                    )
                end_z = z - slope * plan
                if index < len(run) - 1:
                    types = (*part.legs, *part.low_supports)
                    ramp.add_pair(piece, "joint", at, heading, plan, end_z, part, types)
                elif last:
                    ramp.add_pair(piece, "hinge", at, heading, plan, end_z, part, part.low_supports)
            at, z = ramp.point(at, heading, plan, 0.0), z - slope * plan
        if not last:
            at, heading = _turn(ramp, f"L{number}", turns[number - 1], at, heading, z, place=place)
    plan = 0.9 / stretch
    if place:
        ramp.add_piece("P", "plate", "transition_plate", None, len(runs), at, heading, plan, 1.05, z, slope)
    tip = ramp.point(at, heading, plan, 0.0)
    return tip, heading


def _turn(ramp: Ramp, name: str, use: str, at: UV, heading: UV, z: float, *, place: bool) -> tuple[UV, UV]:
    """Place one landing after a run; where and which way the next run leaves."""
    half_turn = use.startswith("half")
    part = ramp.catalogue.part("landing-half" if half_turn else "landing")
    shift = 0.0
    if half_turn:
        shift = (part.width_m - 1.05) / 2.0 * (1.0 if use == "half_right" else -1.0)
    middle = ramp.point(at, heading, 0.0, shift)
    if place:
        ramp.add_piece(
            name, part.id, "landing", use, None, middle, heading, part.length_m, part.width_m, z, 0.0
        )
        _add_landing_legs(ramp, name, part, middle, heading, z, middle=half_turn)
    right = _right_of(heading)
    centre = ramp.point(middle, heading, part.length_m / 2.0, 0.0)
    if use == "straight":
        return ramp.point(middle, heading, part.length_m, 0.0), heading
    if use == "right":
        return ramp.point(centre, right, part.width_m / 2.0, 0.0), right
    if use == "left":
        left = (-right[0], -right[1])
        return ramp.point(centre, left, part.width_m / 2.0, 0.0), left
    return ramp.point(middle, heading, 0.0, shift), (-heading[0], -heading[1])


def _add_landing_legs(
    ramp: Ramp, name: str, part: Landing, middle_m: UV, heading: UV, z: float, *, middle: bool
) -> None:
    inset = part.leg_inset_m
    lateral = [-(part.width_m / 2.0 - inset), part.width_m / 2.0 - inset, *([0.0] if middle else [])]
    for row, along in (("start", inset), ("end", part.length_m - inset)):
        for across in lateral:
            side = "left" if across < 0 else "right" if across > 0 else "mid"
            uv = ramp.point(middle_m, heading, along, across)
            ramp.add_leg(name, f"{row}-{side}", uv, z - part.frame_depth_m, part.legs)


def _walk_landings(turns: tuple[str, ...], leave: str, gap: float) -> float:
    """Length of the way over the landings when every run sits in the middle of its edge."""
    side = 1.62
    total = gap + side if leave == "front" else gap + side / 2.0 + side / 2.0
    for use in turns:
        if use == "straight" or use in ("left", "right"):
            total += side
        else:
            total += 2.6 - 1.05
    return total
