"""All ground points of a survey in one frame: levelled ones, and what the scan adds between them."""

from __future__ import annotations

import functools
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely

from optimizer.brief.assemble_site import JoinPoints
from optimizer.brief.build_yard import build_wall_frame
from optimizer.brief.found_steps import DRAWN_M, choose_lines
from optimizer.brief.found_things import SLIVER_M, DrawnThing, FoundThing, LookedAt, hear, list_things
from optimizer.brief.gather import FaultList
from optimizer.brief.height_errors import HeightErrors, PlacedScanErrors, join_level_errors
from optimizer.brief.join_spots import NamedPoints, join_spots
from optimizer.brief.judge_heights import judge_levels, judge_scan
from optimizer.brief.locate import Locator
from optimizer.brief.places import WallFrame
from optimizer.brief.read_survey import Surveyed
from optimizer.brief.seen_in_scan import NOTHING_SEEN, SeenInScan, doubt_seen
from optimizer.brief.site import Heights
from optimizer.brief.site_file import SiteFile
from optimizer.scan_ground.build_ground import GroundArea, ScanGround, build_scan_ground
from optimizer.scan_ground.yard_sorted import AreaTest, SortedYard, sort_yard, take_back
from optimizer.survey.scan_survey import ScanSurvey
from optimizer.terrain.ground_error.scan_errors import ScanCells
from optimizer.terrain.yard import Points
from optimizer.toml_file import TomlFile

#: Points so near to the house are its walls' own: a cell of the sorting, partly filled by a wall, and noise.
BESIDE_WALL_M: Final = 0.12
#: So far beyond the lot the scan is sorted as well.
AROUND_LOT_M: Final = 1.5
#: A step found in the scan keeps so clear of levelled points.
CLEAR_OF_LEVELS_M: Final = 0.3


@dataclass(frozen=True, slots=True)
class JoinedSurvey:
    """How the points are got, what the scan's ground is, how far the heights may be used and are off.

    ``seen``: what the scan shows beside points.
    """

    join: JoinPoints
    scan_ground: ScanGround | None
    heights: Heights
    errors: HeightErrors
    seen: SeenInScan


def join_survey(surveyed: Surveyed, model: SiteFile, file: TomlFile) -> JoinedSurvey:
    """Join files and scan.

    Raises ``InputError`` when a place the scan's area depends on leads nowhere, when the scan shows no
    yard, and when the site file speaks of a thing that the scan does not show.
    """
    levels = functools.partial(join_spots, surveyed.spots)
    if surveyed.scan is None or model.scan is None:
        errors = join_level_errors(surveyed.files, model.ground.reading_error)
        return JoinedSurvey(levels, None, judge_levels(surveyed.files), errors, NOTHING_SEEN)
    zero = np.zeros(3)
    wall = build_wall_frame(model.start[0], Locator(file, levels(None), None, zero), ("start", 0))
    points = levels(wall)
    locator = Locator(file, points, wall, zero)
    area = _find_area(model, locator, wall, model.scan.reach)
    yard = sort_yard(surveyed.scan.placed, _test_inside(area.near))
    things = list_things(yard.found.obstacles, LookedAt(area.lot, area.house, area.drawn), wall.origin_m)
    things = hear(things, model.scan.thing, locator)
    yard = _take_back(yard, things)
    chosen = choose_lines(yard.found.break_lines, area.ground, _find_taken(model, points, area))
    ground = build_scan_ground(
        surveyed.scan.placed,
        yard,
        model.scan.cell,
        GroundArea(
            _test_inside(area.ground),
            _test_inside(area.house),
            _test_inside(area.house.buffer(SLIVER_M)),
        ),
        chosen.lines,
        points.names,
        points.points_m,
    )
    joined = _add_scan(points, ground)

    def join(frame: WallFrame | None) -> NamedPoints:
        return levels(None) if frame is None else joined

    seen = SeenInScan(things, chosen.lines, yard.found.holes, wall, chosen.left_out_m, yard.found.doubts)
    heights = judge_scan(surveyed.files, surveyed.scan, ground, doubt_seen(seen, ground))
    return JoinedSurvey(join, ground, heights, _find_errors(surveyed.scan, ground), seen)


@dataclass(frozen=True, slots=True)
class _Area:
    """Survey's frame.  ``near``: all points that are sorted; ``lot``: where things are looked for;
    ``ground``: where ground is made; ``house`` with its walls' own points; ``drawn``: obstacles of the
    site file.
    """

    near: shapely.Geometry
    lot: shapely.Geometry
    ground: shapely.Geometry
    house: shapely.Geometry
    drawn: tuple[DrawnThing, ...]


def _take_back(yard: SortedYard, things: tuple[FoundThing, ...]) -> SortedYard:
    """The points of what a person calls ground are ground."""
    called = [shapely.Polygon(one.outline_m).buffer(0.1) for one in things if one.said == "ground"]
    if not called:
        return yard
    return take_back(yard, _test_inside(shapely.union_all(called))(yard.points_m[:, :2]))


def _find_taken(model: SiteFile, points: NamedPoints, area: _Area) -> shapely.Geometry:
    """Where no line found in the scan may run: near levels and drawn lines, which go first, and the house."""
    levelled = shapely.MultiPoint(points.points_m[:, :2]).buffer(CLEAR_OF_LEVELS_M)
    drawn = []
    for table in model.break_line:
        rows = [points.position(name) for name in table.points or table.top or ()]
        places = [points.points_m[row, :2] for row in rows if row is not None]
        if len(places) > 1:
            drawn.append(shapely.LineString(np.array(places)).buffer(DRAWN_M))
    return shapely.union_all([levelled, area.house, *drawn])


def _find_errors(scan: ScanSurvey, ground: ScanGround) -> PlacedScanErrors:
    """Each cell's own scatter, and what the cells not chosen miss by; rims where things stand."""
    cells = ground.cells
    # The standard error already stands for the points of a cell, so each counts as one.
    scatter_m = np.hypot(cells.error_m, ground.vertices.usual_m)
    errors = ScanCells(cells.middle_m, scatter_m, np.ones(len(scatter_m)), cells.edge_m, ground.rejected_m)
    return PlacedScanErrors(errors, scan.placed.placing, _list_control(scan))


def _list_control(scan: ScanSurvey) -> Points:
    """Control points (c, 2) in the survey's frame, where the scan has them once it is placed."""
    picked = [point.scan_m for point in scan.report.control.points if point.role == "control"]
    control_m: Points = scan.placed.placing.to_site(np.array(picked))[:, :2]
    return control_m


def _find_area(model: SiteFile, locator: Locator, wall: WallFrame, reach_m: float) -> _Area:
    """On the lot, near the first start, and outside the house by more than the scatter of its walls."""
    found = FaultList()
    house = found.attempt(locator.locate_outline, model.house.outline, ("house", "outline"))
    lot = found.attempt(locator.locate_outline, model.lot.outline, ("lot", "outline"))
    drawn = [
        found.attempt(locator.locate_outline, table.outline, ("obstacle", index, "outline"))
        for index, table in enumerate(model.obstacle)
    ]
    lot_m, house_m = found.sound(lot), found.sound(house)
    near = shapely.Point(wall.origin_m).buffer(reach_m)
    on_lot = shapely.Polygon(lot_m).intersection(near)
    house_and_walls = shapely.Polygon(house_m).buffer(BESIDE_WALL_M)
    return _Area(
        # Ground and things are told apart by what surrounds them, so a little more than the lot is sorted.
        near=shapely.Polygon(lot_m).buffer(AROUND_LOT_M).intersection(near),
        lot=on_lot,
        ground=on_lot.difference(house_and_walls),
        house=house_and_walls,
        drawn=tuple(
            DrawnThing(found.sound(one), table.top) for one, table in zip(drawn, model.obstacle, strict=True)
        ),
    )


def _test_inside(area: shapely.Geometry) -> AreaTest:
    shapely.prepare(area)
    return lambda xy: np.asarray(shapely.contains_xy(area, xy), dtype=np.bool_)


def _add_scan(points: NamedPoints, ground: ScanGround) -> NamedPoints:
    names = tuple(f"scan {number}" for number in range(1, len(ground.xyz_m) + 1))
    wheres = tuple(f"{ground.path.name} at ({x:.2f}, {y:.2f}) m" for x, y in ground.xyz_m[:, :2])
    joined = np.vstack((points.points_m, ground.xyz_m))
    joined.setflags(write=False)
    return NamedPoints((*points.names, *names), joined, (*points.wheres, *wheres))
