"""From a layout's choices to placed pieces: the tree of ramp pieces laid out from the door down."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from shapely.geometry import Polygon, box
from shapely.ops import unary_union

from optimizer.brief.site import Site
from optimizer.catalogue.parts import BottomPad, Landing, RailPanel, Section, TransitionPlate
from optimizer.catalogue.rates import part_cost_cents
from optimizer.errors import Fault, InputError
from optimizer.layout.footing import SupportPoint, set_support
from optimizer.layout.landing_edges import (
    Edge,
    EdgeRail,
    attach_offset,
    find_departure,
    list_door_landing_rails,
    list_landing_rails,
)
from optimizer.layout.placed import PlacedLayout
from optimizer.layout.run_arithmetic import measure_plan_length
from optimizer.layout.spec import Exit, LayoutSpec, RunSpec, TurnSpec
from optimizer.plan import XYZ, Piece, PieceKind, Rail, SupportLeg, Toe
from optimizer.terrain.frames import DoorFrame, build_door_frame
from optimizer.terrain.yard import Start
from optimizer.units import TOLERANCE_M

HEADINGS: dict[Exit, tuple[float, float]] = {"front": (0.0, 1.0), "left": (-1.0, 0.0), "right": (1.0, 0.0)}
#: Ground within this distance of an edge counts for rails: 36 in, metres.
NEAR_EDGE_M = 0.9144
#: Greatest gap under a tip corner without a pad: 1/4 in, metres.
LIP_M = 0.00635


@dataclass(frozen=True, slots=True)
class Strip:
    """A rectangle from a pose: (u, v) middle of its upper edge, heading, width, plan length."""

    u: float
    v: float
    hu: float
    hv: float
    width_m: float
    length_m: float

    def point(self, along_m: float, right_m: float) -> tuple[float, float]:
        """The door-frame point so far along and to the right of the upper edge's middle."""
        return (
            self.u + along_m * self.hu + right_m * self.hv,
            self.v + along_m * self.hv - right_m * self.hu,
        )

    def corners(self) -> tuple[tuple[float, float], ...]:
        """Start-left, start-right, end-right, end-left."""
        half = self.width_m / 2.0
        return (
            self.point(0.0, -half),
            self.point(0.0, half),
            self.point(self.length_m, half),
            self.point(self.length_m, -half),
        )

    def shape(self) -> Polygon:
        """The rectangle as a polygon in the door frame."""
        return Polygon(self.corners())


class LayoutBuilder:
    """Lays one layout piece by piece; used once."""

    def __init__(self, site: Site, spec: LayoutSpec, start: Start, width_m: float) -> None:
        self.site = site
        self.spec = spec
        self.start = start
        self.frame: DoorFrame = build_door_frame(start)
        self.width_m = width_m
        self.pieces: list[Piece] = []
        self.points: list[SupportPoint] = []
        self.rails: list[Rail] = []
        self.area_m2 = 0.0
        self.walk_m = 0.0
        self.ground = [
            (Polygon(corners), levels)
            for corners, levels in zip(
                self.frame.to_door(site.ground.triangles_xy.reshape(-1, 2)).reshape(-1, 3, 2),
                site.ground.triangles_z,
                strict=True,
            )
        ]

    # ---- placing

    def site_point(self, uv: tuple[float, float], z_m: float) -> XYZ:
        x_m, y_m = self.frame.to_site(np.array([uv]))[0]
        return (float(x_m), float(y_m), z_m)

    def add_piece(self, piece: Piece) -> Piece:
        self.pieces.append(piece)
        return piece

    def place(
        self,
        kind: PieceKind,
        catalogue_id: str,
        strip: Strip,
        upper_m: float,
        lower_m: float,
        run: int | None,
    ) -> Piece:
        """Record a rectangle whose upper edge lies at ``upper_m`` and lower edge at ``lower_m``."""
        levels = (upper_m, upper_m, lower_m, lower_m)
        corners = tuple(self.site_point(uv, z) for uv, z in zip(strip.corners(), levels, strict=True))
        prefix = {"section": "S", "landing": "P", "transition_plate": "T", "threshold_plate": "D"}.get(
            kind, "B"
        )
        number = 1 + sum(piece.id.startswith(prefix) for piece in self.pieces)
        return self.add_piece(
            Piece(
                id=f"{prefix}{number}",
                catalogue_id=catalogue_id,
                kind=kind,
                use=None,
                run=run,
                corners_m=(corners[0], corners[1], corners[2], corners[3]),
                slope=(upper_m - lower_m) / strip.length_m,
            )
        )

    # ---- ground near

    def lowest_near(self, strip: Strip) -> float:
        """Lowest ground in a strip's rectangle enlarged by 36 in on all sides."""
        u0, v0, u1, v1 = strip.shape().bounds
        region = box(u0 - NEAR_EDGE_M, v0 - NEAR_EDGE_M, u1 + NEAR_EDGE_M, v1 + NEAR_EDGE_M)
        lowest = math.inf
        for shape, levels in self.ground:
            part = shape.intersection(region)
            if part.is_empty or part.geom_type not in ("Polygon", "MultiPolygon", "GeometryCollection"):
                continue
            plane = np.linalg.solve(
                np.column_stack([np.asarray(shape.exterior.coords)[:3], np.ones(3)]), levels
            )
            for polygon in getattr(part, "geoms", [part]):
                if polygon.geom_type != "Polygon":
                    continue
                corners = np.asarray(polygon.exterior.coords)
                lowest = min(lowest, float((corners @ plane[:2] + plane[2]).min()))
        return lowest

    def ground_at(self, uv: tuple[float, float]) -> float:
        x_m, y_m = self.frame.to_site(np.array([uv]))[0]
        return self.site.ground.elevation_at(float(x_m), float(y_m))

    # ---- rails

    def add_rail(self, piece: Piece, part: str, kind: str, edge: Edge, line: tuple[XYZ, XYZ]) -> None:
        panel = self.site.catalogue.part(part)
        height = panel.height_m if isinstance(panel, RailPanel) else self.rail_height()
        self.rails.append(
            Rail.model_validate(
                {
                    "id": f"R{len(self.rails) + 1:02d}",
                    "catalogue_id": part,
                    "kind": kind,
                    "piece": piece.id,
                    "edge": edge,
                    "line_m": line,
                    "height_m": height,
                }
            )
        )

    def rail_height(self) -> float:
        """Height of posts and ends: that of the first panel, which they belong to."""
        return self.site.catalogue.rail_panels[0].height_m

    def edge_line(self, piece: Piece, edge: Edge) -> tuple[XYZ, XYZ]:
        start_left, start_right, end_right, end_left = piece.corners_m
        match edge:
            case "left":
                return (start_left, end_left)
            case "right":
                return (start_right, end_right)
            case "start":
                return (start_left, start_right)
            case "end":
                return (end_left, end_right)

    def rail_landing(self, piece: Piece, rails: tuple[EdgeRail, ...]) -> None:
        for rail in rails:
            self.add_rail(piece, rail.part, rail.kind, rail.edge, self.edge_line(piece, rail.edge))

    # ---- pieces

    def lay_threshold(self, deck_m: float, middle_m: float) -> None:
        """Bridge the gap before the sill (or where the first run hangs on an edge)."""
        plates = [
            plate
            for plate in self.site.catalogue.threshold_plates
            if plate.reach_m >= self.start.gap_m - TOLERANCE_M
            and plate.rated_load_kg >= self.site.rider.total_mass_kg
        ]
        if not plates:
            raise InputError(
                Fault(
                    f"start {self.start.name}",
                    f"no threshold plate bridges a gap of {self.start.gap_m:.3f} m.",
                    "Bring the landing closer or add a plate to the catalogue.",
                )
            )
        plate = min(plates, key=lambda p: part_cost_cents(p, self.site.rates))
        strip = Strip(middle_m, 0.0, 0.0, 1.0, plate.width_m, self.start.gap_m)
        self.place("threshold_plate", plate.id, strip, self.start.threshold_m, deck_m, None)

    def lay_landing(self, landing: Landing, strip: Strip, deck_m: float, use: str) -> Piece:
        piece = self.place("landing", landing.id, strip, deck_m, deck_m, None)
        piece = piece.model_copy(update={"use": use})
        self.pieces[-1] = piece
        self.area_m2 += landing.length_m * landing.width_m
        inset = landing.leg_inset_m
        side = landing.width_m / 2.0 - inset
        lateral: tuple[tuple[str, float], ...] = (("left", -side), ("right", side))
        if use in ("half_left", "half_right"):
            lateral = (*lateral, ("middle", 0.0))
        for end, along in (("start", inset), ("end", landing.length_m - inset)):
            for name, right in lateral:
                xy = self.site_point(strip.point(along, right), 0.0)[:2]
                self.points.append(
                    SupportPoint(
                        piece.id,
                        f"{end}-{name}",
                        deck_m - landing.frame_depth_m,
                        landing.legs,
                        tuple(xy for _ in landing.legs),
                    )
                )
        return piece

    def add_pair(
        self, piece: Piece, station: str, strip: Strip, along_m: float, frame_m: float, types: tuple[str, ...]
    ) -> None:
        for side, sign in (("left", -1.0), ("right", 1.0)):
            places = []
            for type_id in types:
                offset = getattr(self.site.catalogue.part(type_id), "lateral_offset_m", 0.0)
                right = sign * (self.width_m / 2.0 + offset)
                places.append(self.site_point(strip.point(along_m, right), 0.0)[:2])
            self.points.append(SupportPoint(piece.id, f"{station}-{side}", frame_m, types, tuple(places)))

    def lay_run(
        self, run: RunSpec, number: int, pose: Strip, deck_m: float, is_last: bool, ends: tuple[bool, bool]
    ) -> tuple[Strip, float]:
        """Lay the sections of one run (and the plate); ``ends``: half turn at its start, its end.

        Returns the pose and elevation at its lower end.
        """
        sections = [self.section(name) for name in run.sections]
        at, level = pose, deck_m
        placed: list[Piece] = []
        for n, section in enumerate(sections):
            plan = measure_plan_length(section.pitch_m, run.slope)
            strip = Strip(at.u, at.v, at.hu, at.hv, section.overall_width_m, plan)
            lower = level - plan * run.slope
            piece = self.place("section", section.id, strip, level, lower, number)
            placed.append(piece)
            self.area_m2 += plan * section.overall_width_m
            self.walk_m += section.pitch_m
            depth = section.frame_depth_m
            types = tuple(
                [leg.id for leg in self.site.catalogue.legs if leg.id in section.legs]
                + [low.id for low in self.site.catalogue.low_supports if low.id in section.low_supports]
            )
            low_types = tuple(
                low.id for low in self.site.catalogue.low_supports if low.id in section.low_supports
            )
            for k, mid in enumerate(section.mid_supports_m):
                t = measure_plan_length(mid, run.slope)
                self.add_pair(piece, f"mid{k + 1}", strip, t, level - t * run.slope - depth, types)
            if n + 1 < len(sections):
                self.add_pair(piece, "joint", strip, plan, lower - depth, types)
            elif is_last:
                self.add_pair(piece, "hinge", strip, plan, lower - depth, low_types)
            u, v = strip.point(plan, 0.0)
            at, level = Strip(u, v, at.hu, at.hv, self.width_m, 0.0), lower
        whole = Strip(
            pose.u,
            pose.v,
            pose.hu,
            pose.hv,
            self.width_m,
            sum(measure_plan_length(s.pitch_m, run.slope) for s in sections),
        )
        bottom = level
        if is_last:
            at, bottom = self.lay_plate(at, level, number)
        handrail = self.site.rules.limit("handrail_rise")
        trigger = math.inf if handrail is None else handrail.value_si
        railed = deck_m - bottom > trigger + TOLERANCE_M or (
            deck_m - self.lowest_near(whole) > self.site.wishes.guard_above_m + TOLERANCE_M
        )
        if railed:
            self.rail_run(placed, is_last, pose, ends)
        return at, level

    def lay_plate(self, at: Strip, hinge_m: float, number: int) -> tuple[Strip, float]:
        """Lay the transition plate so that its tip meets the ground."""
        plate = self.site.catalogue.part(self.spec.plate)
        if not isinstance(plate, TransitionPlate):
            raise InputError(
                Fault(
                    "plate", f"{self.spec.plate!r} is not a transition plate.", "Name one of the catalogue's."
                )
            )
        reach = plate.length_m
        moved = math.inf
        for _ in range(12):
            ground = self.ground_at(at.point(reach, 0.0))
            below = plate.length_m**2 - (hinge_m - ground) ** 2
            if not below > 0.0:
                break
            nearer = math.sqrt(below)
            moved, reach = abs(nearer - reach), nearer
        if not moved < 1e-7:
            raise InputError(
                Fault(
                    "transition plate",
                    f"hinged at elevation {hinge_m:.3f} m it does not reach the ground.",
                    "Lengthen the last run or take a longer plate.",
                )
            )
        tip = self.ground_at(at.point(reach, 0.0))
        strip = Strip(at.u, at.v, at.hu, at.hv, self.width_m, reach)
        self.place("transition_plate", plate.id, strip, hinge_m, tip, number)
        self.area_m2 += reach * self.width_m
        self.walk_m += plate.length_m
        u, v = strip.point(reach, 0.0)
        return Strip(u, v, at.hu, at.hv, self.width_m, 0.0), tip

    def rail_run(self, placed: list[Piece], is_last: bool, pose: Strip, ends: tuple[bool, bool]) -> None:
        post = self.site.catalogue.rail_posts[0].id
        extension = self.rail_end()
        along = list(placed)
        if is_last:
            along.append(self.pieces[-1])
        for edge in ("left", "right"):
            side: Edge = "left" if edge == "left" else "right"
            for piece in along:
                part = self.site.catalogue.part(piece.catalogue_id)
                if isinstance(part, Section | TransitionPlate):
                    self.add_rail(piece, part.rail_panel, "panel", side, self.edge_line(piece, side))
            for n, piece in enumerate(placed):
                upper, lower = self.edge_line(piece, side)
                if n == 0:
                    self.add_rail(piece, post, "post", side, (upper, upper))
                self.add_rail(piece, post, "post", side, (lower, lower))
            upper = self.edge_line(along[0], side)[0]
            lower = self.edge_line(along[-1], side)[1]
            if not (ends[0] and self.is_inner(side, self.start_turn)):
                self.add_rail(along[0], extension, "end", side, self.extension_line(pose, upper, -1.0))
            if not (ends[1] and self.is_inner(side, self.end_turn)):
                self.add_rail(along[-1], extension, "end", side, self.extension_line(pose, lower, 1.0))

    #: Turn before and after the run being railed; set by ``lay_all``.
    start_turn: str | None = None
    end_turn: str | None = None

    def is_inner(self, side: Edge, turn: str | None) -> bool:
        """Whether a side of a run is the inner one of a half turn."""
        return (turn == "half_left" and side == "left") or (turn == "half_right" and side == "right")

    def extension_line(self, pose: Strip, end: XYZ, sign: float) -> tuple[XYZ, XYZ]:
        """A level handrail extension beyond the end of a run, on the walking surface."""
        part = next(e for e in self.site.catalogue.rail_ends if e.id == self.rail_end())
        x0, y0, _ = self.site_point((pose.u, pose.v), 0.0)
        x1, y1, _ = self.site_point((pose.u + pose.hu, pose.v + pose.hv), 0.0)
        step = sign * part.extension_m
        return end, (end[0] + step * (x1 - x0), end[1] + step * (y1 - y0), end[2])

    def rail_end(self) -> str:
        """The first rail end long enough for the rule set (else simply the first)."""
        limit = self.site.rules.limit("handrail_extension")
        need = 0.0 if limit is None else limit.value_si
        ends = self.site.catalogue.rail_ends
        return next((e.id for e in ends if e.extension_m >= need - TOLERANCE_M), ends[0].id)

    def section(self, name: str) -> Section:
        part = self.site.catalogue.part(name)
        if not isinstance(part, Section):
            raise InputError(Fault("run", f"{name!r} is not a section.", "Name a section of the catalogue."))
        return part

    def landing(self, name: str) -> Landing:
        part = self.site.catalogue.part(name)
        if not isinstance(part, Landing):
            raise InputError(
                Fault("landing", f"{name!r} is not a landing.", "Name a landing of the catalogue.")
            )
        return part

    def lay_turn(self, turn: TurnSpec, at: Strip, deck_m: float) -> Strip:
        """Lay the landing after a run; returns the next run's pose."""
        landing = self.landing(turn.landing)
        departure = find_departure(landing, turn.kind, turn.arrive, turn.leave, self.width_m)
        u, v = at.point(0.0, departure.shift_m)
        strip = Strip(u, v, at.hu, at.hv, landing.width_m, landing.length_m)
        piece = self.lay_landing(landing, strip, deck_m, turn.kind)
        self.walk_m += abs(departure.along_m) + abs(departure.right_m)
        if deck_m - self.lowest_near(strip) > self.site.wishes.rail_landings_above_m + TOLERANCE_M:
            self.rail_landing(piece, list_landing_rails(landing, turn.kind, self.width_m))
        along, right = departure.heading
        u, v = at.point(departure.along_m, departure.right_m)
        return Strip(u, v, along * at.hu + right * at.hv, along * at.hv - right * at.hu, self.width_m, 0.0)

    def lay_start(self, deck_m: float) -> Strip:
        """Threshold plate and door landing; returns the first run's pose."""
        spec, start = self.spec, self.start
        gap = start.gap_m
        if spec.door_landing is None:
            self.lay_threshold(deck_m, spec.slide_m)
            return Strip(spec.slide_m, gap, 0.0, 1.0, self.width_m, 0.0)
        self.lay_threshold(deck_m, 0.0)
        landing = self.landing(spec.door_landing)
        strip = Strip(spec.slide_m, gap, 0.0, 1.0, landing.width_m, landing.length_m)
        piece = self.lay_landing(landing, strip, deck_m, "door")
        if deck_m - self.lowest_near(strip) > self.site.wishes.rail_landings_above_m + TOLERANCE_M:
            self.rail_landing(piece, list_door_landing_rails(landing, spec.exit, self.width_m))
        edge = landing.width_m if spec.exit == "front" else landing.length_m
        offset = attach_offset(spec.attach, edge, self.width_m)
        middle = gap + landing.length_m / 2.0
        match spec.exit:
            case "front":
                u, v = spec.slide_m + offset, gap + landing.length_m
            case "left":
                u, v = spec.slide_m - landing.width_m / 2.0, middle + offset
            case "right":
                u, v = spec.slide_m + landing.width_m / 2.0, middle - offset
        self.walk_m += abs(u) + abs(v)
        return Strip(u, v, *HEADINGS[spec.exit], self.width_m, 0.0)

    def lay_toe(self, at: Strip, tip_m: float) -> Toe:
        """Look at the ground beyond the tip and lay a pad when it is not level enough."""
        site = self.site
        length_limit = site.rules.limit("landing_length")
        turn_limit = site.rules.limit("landing_turn")
        slope_limit = site.rules.limit("landing_slope")
        long = 1.2 if length_limit is None else length_limit.value_si
        wide = max(self.width_m, 0.0 if turn_limit is None else turn_limit.value_si)
        strip = Strip(at.u, at.v, at.hu, at.hv, wide, long)
        probe = [
            [self.ground_at(strip.point(long * i / 2, wide * (j - 1) / 2)) for j in range(3)]
            for i in range(3)
        ]
        levels = np.array(probe)
        along = (levels[2].mean() - levels[0].mean()) / long
        across = (levels[:, 2].mean() - levels[:, 0].mean()) / wide
        slope = float(math.hypot(along, across))
        half = self.width_m / 2.0
        gap = max(abs(self.ground_at(at.point(0.0, side)) - tip_m) for side in (-half, half))
        level_limit = 1.0 / 48.0 if slope_limit is None else slope_limit.value_si
        pad = slope > level_limit + 1e-9 or gap > LIP_M + TOLERANCE_M
        if math.isnan(slope) or math.isnan(gap):
            raise InputError(
                Fault(
                    "bottom space",
                    "the ground beyond the tip is not surveyed.",
                    "Survey further or land elsewhere.",
                )
            )
        if pad:
            self.lay_pad(at, tip_m, long, wide)
        plate = next(p for p in reversed(self.pieces) if p.kind == "transition_plate")
        tip = self.site_point((at.u, at.v), tip_m)
        corners = tuple(self.site_point(uv, tip_m if pad else self.ground_at(uv)) for uv in strip.corners())
        to = site.yard.destination_m
        return Toe(
            tip_m=tip,
            ground_elevation_m=tip_m,
            plate_slope=plate.slope,
            tip_corner_gap_m=0.0 if pad else float(gap),
            bottom_space_m=(corners[0], corners[1], corners[2], corners[3]),
            bottom_slope=0.0 if pad else slope,
            pad=pad,
            to_destination_m=None if to is None else float(math.hypot(tip[0] - to[0], tip[1] - to[1])),
        )

    def lay_pad(self, at: Strip, tip_m: float, long: float, wide: float) -> None:
        pads = [
            pad
            for pad in self.site.catalogue.bottom_pads
            if pad.length_m >= long - TOLERANCE_M and pad.width_m >= wide - TOLERANCE_M
        ]
        if not pads:
            raise InputError(
                Fault(
                    "bottom pad",
                    f"the ground at the tip is not level and no pad is {long:.2f} x {wide:.2f} m.",
                    "Add a pad to the catalogue or land elsewhere.",
                )
            )
        pad: BottomPad = min(pads, key=lambda p: part_cost_cents(p, self.site.rates))
        strip = Strip(at.u, at.v, at.hu, at.hv, pad.width_m, pad.length_m)
        self.place("bottom_pad", pad.id, strip, tip_m, tip_m, None)

    def lay_all(self) -> PlacedLayout:
        """Lay everything and set the supports."""
        spec, start = self.spec, self.start
        deck = start.threshold_m - start.drop_m
        pose = self.lay_start(deck)
        level = deck
        for n, run in enumerate(spec.runs):
            last = n + 1 == len(spec.runs)
            self.start_turn = spec.turns[n - 1].kind if n else None
            self.end_turn = None if last else spec.turns[n].kind
            halves = ("half_left", "half_right")
            ends = (self.start_turn in halves, self.end_turn in halves)
            pose, level = self.lay_run(run, n + 1, pose, level, last, ends)
            if not last:
                pose = self.lay_turn(spec.turns[n], pose, level)
        tip = self.pieces[-1].corners_m[2][2]
        toe = self.lay_toe(pose, tip)
        wanted = self.spec.supports
        if wanted is not None and len(wanted) != len(self.points):
            raise InputError(
                Fault(
                    "supports",
                    f"{len(wanted)} support types are named for {len(self.points)} points.",
                    "Name one for every point or none at all.",
                )
            )
        legs: list[SupportLeg] = [
            set_support(self.site, point, n + 1, None if wanted is None else wanted[n])
            for n, point in enumerate(self.points)
        ]
        slopes = [piece.slope for piece in self.pieces if piece.kind in ("section", "transition_plate")]
        return PlacedLayout(
            pieces=tuple(self.pieces),
            legs=tuple(legs),
            rails=tuple(self.rails),
            toe=toe,
            walking_length_m=self.walk_m,
            footprint_m2=self.area_m2,
            rise_m=deck - tip,
            steepest_slope=max(slopes),
        )


def build_layout(site: Site, spec: LayoutSpec) -> PlacedLayout:
    """Place every piece, support and rail of a layout.

    Raises InputError when the layout cannot be laid at all (unknown part, plate that does not
    reach, unsurveyed ground); what it merely breaks is the checker's to find.
    """
    start = next((s for s in site.yard.starts if s.name == spec.start), None)
    if start is None:
        names = ", ".join(s.name for s in site.yard.starts)
        raise InputError(Fault("start", f"{spec.start!r} is not a start.", f"Name one of: {names}."))
    if not spec.runs or not all(run.sections for run in spec.runs):
        raise InputError(Fault("runs", "a run has no section.", "Give every run at least one section."))
    section = site.catalogue.part(spec.runs[0].sections[0])
    if not isinstance(section, Section):
        raise InputError(
            Fault("run", f"{section.id!r} is not a section.", "Name a section of the catalogue.")
        )
    return LayoutBuilder(site, spec, start, section.overall_width_m).lay_all()
