"""A layout while it is being laid: what has been placed so far, and questions to the ground."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import Polygon, box

from optimizer.brief.site import Site
from optimizer.catalogue.parts import Landing, RailPanel, Section, TransitionPlate
from optimizer.errors import Fault, InputError
from optimizer.layout.footing import SupportPoint
from optimizer.layout.landing_edges import Edge
from optimizer.layout.strip import UV, Strip
from optimizer.plan import XYZ, Piece, PieceKind, Rail
from optimizer.terrain.frames import build_door_frame
from optimizer.terrain.yard import Start
from optimizer.units import TOLERANCE_M

#: Ground within this distance of an edge counts for rails: 36 in, metres.
NEAR_EDGE_M = 0.9144
#: First letter of a piece's id.
LETTERS: dict[PieceKind, str] = {
    "threshold_plate": "D",
    "landing": "P",
    "section": "S",
    "transition_plate": "T",
    "bottom_pad": "B",
    "steps": "F",
}
LandingUseWord = Literal["door", "straight", "left", "right", "half_left", "half_right"]


class Building:
    """One layout being laid from the door down; filled by the ``lay_...`` functions, used once."""

    def __init__(self, site: Site, start: Start, width_m: float) -> None:
        """``width_m``: overall width of every run."""
        self.site = site
        self.start = start
        self.design = site.design_of(start)
        self.frame = build_door_frame(start)
        self.width_m = width_m
        self.pieces: list[Piece] = []
        self.points: list[SupportPoint] = []
        self.rails: list[Rail] = []
        self.area_m2 = 0.0
        self.walk_m = 0.0
        flat = self.frame.to_door(site.ground.triangles_xy.reshape(-1, 2)).reshape(-1, 3, 2)
        self._ground = [
            (Polygon(corners), levels) for corners, levels in zip(flat, site.ground.triangles_z, strict=True)
        ]

    def site_point(self, uv: UV, z_m: float) -> XYZ:
        """A door-frame point in the site frame, at an elevation."""
        x_m, y_m = self.frame.to_site(np.array([uv]))[0]
        return (float(x_m), float(y_m), z_m)

    def ground_at(self, uv: UV) -> float:
        """Ground elevation at a door-frame point; NaN outside the survey."""
        x_m, y_m, _ = self.site_point(uv, 0.0)
        return self.site.ground.elevation_at(x_m, y_m)

    def lowest_near(self, strip: Strip) -> float:
        """Lowest ground in a strip's rectangle enlarged by 36 in on all sides, as far as surveyed."""
        u0, v0, u1, v1 = strip.shape().bounds
        region = box(u0 - NEAR_EDGE_M, v0 - NEAR_EDGE_M, u1 + NEAR_EDGE_M, v1 + NEAR_EDGE_M)
        lowest = math.inf
        for plane, part in self._ground_parts(region):
            lowest = min(lowest, float((part @ plane[:2] + plane[2]).min()))
        return lowest

    def highest_above(self, piece: Piece) -> float:
        """How far the ground stands above a piece's surface at most (negative: below it everywhere)."""
        corners = np.array([corner[:2] for corner in piece.corners_m])
        flat = self.frame.to_door(corners)
        # Touching a triangle's neighbour across a vertical step is not lying on it.
        region = Polygon(flat).buffer(-TOLERANCE_M, join_style="mitre")
        levels = np.array([corner[2] for corner in piece.corners_m])
        deck = np.linalg.solve(np.column_stack([flat[:3], np.ones(3)]), levels[:3])
        highest = -math.inf
        for plane, part in self._ground_parts(region):
            highest = max(highest, float((part @ (plane - deck)[:2] + (plane - deck)[2]).max()))
        return highest

    def _ground_parts(self, region: Polygon) -> Iterator[tuple[NDArray[np.float64], NDArray[np.float64]]]:
        """Planes (a, b, c) of the ground triangles in a region, with the corners (n, 2) of each part."""
        for shape, levels in self._ground:
            part = shape.intersection(region)
            if part.is_empty or part.geom_type != "Polygon":
                continue  # two convex shapes share a polygon, or touch in a line or a point
            corners = np.asarray(shape.exterior.coords)[:3]
            plane = np.linalg.solve(np.column_stack([corners, np.ones(3)]), levels)
            yield plane, np.asarray(part.exterior.coords)

    def place(
        self,
        kind: PieceKind,
        catalogue_id: str,
        strip: Strip,
        levels_m: tuple[float, float],
        run: int | None = None,
        use: LandingUseWord | None = None,
    ) -> Piece:
        """Record a rectangle whose upper and lower edges lie at ``levels_m``."""
        upper, lower = levels_m
        start_left, start_right, end_right, end_left = (
            self.site_point(uv, z)
            for uv, z in zip(strip.corners(), (upper, upper, lower, lower), strict=True)
        )
        number = 1 + sum(piece.kind == kind for piece in self.pieces)
        piece = Piece(
            id=f"{LETTERS[kind]}{number}",
            catalogue_id=catalogue_id,
            kind=kind,
            use=use,
            run=run,
            corners_m=(start_left, start_right, end_right, end_left),
            slope=(upper - lower) / strip.length_m,
        )
        self.pieces.append(piece)
        return piece

    def add_rail(
        self,
        piece: Piece,
        part: str,
        kind: Literal["panel", "post", "end", "infill", "inner_loop"],
        edge: Edge,
        line: tuple[XYZ, XYZ],
    ) -> None:
        """Record one rail part.  Posts and ends are as high as the panels they belong to."""
        panel = self.site.catalogue.part(part)
        first = self.site.catalogue.rail_panels[0]
        self.rails.append(
            Rail(
                id=f"R{len(self.rails) + 1:02d}",
                catalogue_id=part,
                kind=kind,
                piece=piece.id,
                edge=edge,
                line_m=line,
                height_m=panel.height_m if isinstance(panel, RailPanel) else first.height_m,
            )
        )

    # ---- parts by name: a layout may be typed by hand

    def section(self, name: str) -> Section:
        """A section of the catalogue; raises InputError."""
        part = self._named(name, "run")
        if not isinstance(part, Section):
            raise InputError(Fault("run", f"{name!r} is not a section.", "Name a section of the catalogue."))
        return part

    def landing(self, name: str) -> Landing:
        """A landing of the catalogue; raises InputError."""
        part = self._named(name, "landing")
        if not isinstance(part, Landing):
            raise InputError(
                Fault("landing", f"{name!r} is not a landing.", "Name a landing of the catalogue.")
            )
        return part

    def transition_plate(self, name: str) -> TransitionPlate:
        """A transition plate of the catalogue; raises InputError."""
        part = self._named(name, "plate")
        if not isinstance(part, TransitionPlate):
            raise InputError(
                Fault("plate", f"{name!r} is not a transition plate.", "Name one of the catalogue's.")
            )
        return part

    def _named(self, name: str, where: str) -> object:
        try:
            return self.site.catalogue.part(name)
        except KeyError as error:
            raise InputError(
                Fault(
                    where,
                    f"the catalogue {self.site.catalogue.id!r} has no part {name!r}.",
                    "Correct the id or add the part.",
                )
            ) from error


def edge_line(piece: Piece, edge: Edge) -> tuple[XYZ, XYZ]:
    """The two ends of one edge of a piece; sides run down, start and end from left to right."""
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
