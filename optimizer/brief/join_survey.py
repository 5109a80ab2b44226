"""All ground points of a survey in one frame: levelled ones, and what the scan adds between them."""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely

from optimizer.brief.assemble_site import JoinPoints
from optimizer.brief.build_yard import build_wall_frame
from optimizer.brief.gather import FaultList
from optimizer.brief.height_errors import HeightErrors, PlacedScanErrors, join_level_errors
from optimizer.brief.join_spots import NamedPoints, join_spots
from optimizer.brief.judge_heights import judge_levels, judge_scan
from optimizer.brief.locate import Locator
from optimizer.brief.places import WallFrame
from optimizer.brief.read_survey import Surveyed
from optimizer.brief.site import Heights
from optimizer.brief.site_file import SiteFile
from optimizer.survey.scan_cells import AreaTest
from optimizer.survey.scan_ground import GroundArea, ScanGround, build_scan_ground
from optimizer.survey.scan_survey import ScanSurvey
from optimizer.terrain.ground_error.scan_errors import ScanCells
from optimizer.terrain.yard import Points
from optimizer.toml_file import TomlFile

#: Points so near to the house are its walls' own: three times the noise of a phone, and its drift.
BESIDE_WALL_M: Final = 0.08


@dataclass(frozen=True, slots=True)
class JoinedSurvey:
    """How the points are got, what the scan's ground is, how far the heights may be used and are off."""

    join: JoinPoints
    scan_ground: ScanGround | None
    heights: Heights
    errors: HeightErrors


def join_survey(surveyed: Surveyed, model: SiteFile, file: TomlFile) -> JoinedSurvey:
    """Join files and scan; raises ``InputError`` when a place the scan's area depends on leads nowhere."""
    levels = functools.partial(join_spots, surveyed.spots)
    if surveyed.scan is None or model.scan is None:
        errors = join_level_errors(surveyed.files, model.ground.reading_error)
        return JoinedSurvey(levels, None, judge_levels(surveyed.files), errors)
    zero = np.zeros(3)
    wall = build_wall_frame(model.start[0], Locator(file, levels(None), None, zero), ("start", 0))
    points = levels(wall)
    area = _find_area(model, Locator(file, points, wall, zero), model.scan.reach)
    ground = build_scan_ground(surveyed.scan.placed, model.scan.cell, area, points.names, points.points_m)
    joined = _add_scan(points, ground)

    def join(frame: WallFrame | None) -> NamedPoints:
        return levels(None) if frame is None else joined

    return JoinedSurvey(
        join, ground, judge_scan(surveyed.files, surveyed.scan, ground), _find_errors(surveyed.scan, ground)
    )


def _find_errors(scan: ScanSurvey, ground: ScanGround) -> PlacedScanErrors:
    """The usual scatter of a cell's level, and what the cells not chosen miss by, for every cell alike."""
    count = len(ground.seen_m)
    scatter_m = math.hypot(ground.cell_error_m, ground.vertices.usual_m)
    cells = ScanCells(
        ground.seen_m, np.full(count, scatter_m), np.ones(count), ground.edge_m, np.zeros((0, 2))
    )
    return PlacedScanErrors(cells, scan.placed.placing, _list_control(scan))


def _list_control(scan: ScanSurvey) -> Points:
    """Control points (c, 2) in the survey's frame, where the scan has them once it is placed."""
    picked = [point.scan_m for point in scan.report.control.points if point.role == "control"]
    control_m: Points = scan.placed.placing.to_site(np.array(picked))[:, :2]
    return control_m


def _find_area(model: SiteFile, locator: Locator, reach_m: float) -> GroundArea:
    """On the lot, near the first start, and outside the house by more than the scatter of its walls."""
    found = FaultList()
    house = found.attempt(locator.locate_outline, model.house.outline, ("house", "outline"))
    lot = found.attempt(locator.locate_outline, model.lot.outline, ("lot", "outline"))
    lot_m, house_m = found.sound(lot), found.sound(house)
    middle = locator.locate(model.start[0].midpoint, ("start", 0, "midpoint"))
    area = shapely.Polygon(lot_m).intersection(shapely.Point(middle).buffer(reach_m))
    house_and_walls = shapely.Polygon(house_m).buffer(BESIDE_WALL_M)
    return GroundArea(_test_inside(area.difference(house_and_walls)), _test_inside(house_and_walls))


def _test_inside(area: shapely.Geometry) -> AreaTest:
    shapely.prepare(area)
    return lambda xy: np.asarray(shapely.contains_xy(area, xy), dtype=np.bool_)


def _add_scan(points: NamedPoints, ground: ScanGround) -> NamedPoints:
    names = tuple(f"scan {number}" for number in range(1, len(ground.xyz_m) + 1))
    wheres = tuple(f"{ground.path.name} at ({x:.2f}, {y:.2f}) m" for x, y in ground.xyz_m[:, :2])
    joined = np.vstack((points.points_m, ground.xyz_m))
    joined.setflags(write=False)
    return NamedPoints((*points.names, *names), joined, (*points.wheres, *wheres))
