"""All ground points of a survey in one frame: levelled ones, and what the scan adds between them."""

from __future__ import annotations

import functools
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely

from optimizer.brief.assemble_site import JoinPoints
from optimizer.brief.build_yard import build_wall_frame
from optimizer.brief.gather import FaultList
from optimizer.brief.join_spots import NamedPoints, join_spots
from optimizer.brief.locate import Locator
from optimizer.brief.places import WallFrame
from optimizer.brief.read_survey import Surveyed
from optimizer.brief.site import LEVELLED, SCAN_BASIS, Heights
from optimizer.brief.site_file import SiteFile
from optimizer.survey.placing.placing_doubts import FEWEST_FOR_LEGS
from optimizer.survey.placing.placing_report import PlacingReport
from optimizer.survey.scan_ground import AreaTest, ScanGround, build_scan_ground
from optimizer.toml_file import TomlFile

#: Points so near to the house are its walls' own: three times the noise of a phone, and its drift.
BESIDE_WALL_M: Final = 0.08


@dataclass(frozen=True, slots=True)
class JoinedSurvey:
    """How the points are got, what the scan's ground is, and how far the heights may be used."""

    join: JoinPoints
    scan_ground: ScanGround | None
    heights: Heights


def join_survey(surveyed: Surveyed, model: SiteFile, file: TomlFile) -> JoinedSurvey:
    """Join files and scan; raises ``InputError`` when a place the scan's area depends on leads nowhere."""
    levels = functools.partial(join_spots, surveyed.spots)
    if surveyed.scan is None or model.scan is None:
        return JoinedSurvey(levels, None, LEVELLED)
    zero = np.zeros(3)
    wall = build_wall_frame(model.start[0], Locator(file, levels(None), None, zero), ("start", 0))
    points = levels(wall)
    area = _find_area(model, Locator(file, points, wall, zero), model.scan.reach)
    ground = build_scan_ground(surveyed.scan.placed, model.scan.cell, area, points.names, points.points_m)
    joined = _add_scan(points, ground)

    def join(frame: WallFrame | None) -> NamedPoints:
        return levels(None) if frame is None else joined

    return JoinedSurvey(join, ground, _judge_heights(surveyed.scan.report, ground))


def _find_area(model: SiteFile, locator: Locator, reach_m: float) -> AreaTest:
    """On the lot, near the first start, and outside the house by more than the scatter of its walls."""
    found = FaultList()
    house = found.attempt(locator.locate_outline, model.house.outline, ("house", "outline"))
    lot = found.attempt(locator.locate_outline, model.lot.outline, ("lot", "outline"))
    lot_m, house_m = found.sound(lot), found.sound(house)
    middle = locator.locate(model.start[0].midpoint, ("start", 0, "midpoint"))
    area = shapely.Polygon(lot_m).intersection(shapely.Point(middle).buffer(reach_m))
    area = area.difference(shapely.Polygon(house_m).buffer(BESIDE_WALL_M))
    shapely.prepare(area)
    return lambda xy: np.asarray(shapely.contains_xy(area, xy), dtype=np.bool_)


def _add_scan(points: NamedPoints, ground: ScanGround) -> NamedPoints:
    names = tuple(f"scan {number}" for number in range(1, len(ground.xyz_m) + 1))
    wheres = tuple(f"{ground.path.name} at ({x:.2f}, {y:.2f}) m" for x, y in ground.xyz_m[:, :2])
    joined = np.vstack((points.points_m, ground.xyz_m))
    joined.setflags(write=False)
    return NamedPoints((*points.names, *names), joined, (*points.wheres, *wheres))


def _judge_heights(report: PlacingReport, ground: ScanGround) -> Heights:
    warning = ""
    if not report.is_fit_for_legs:
        count = 0 if report.placing is None else report.placing.levelled
        warning = (
            f"heights not fit for ordering legs: {count} levelled control point{'' if count == 1 else 's'} "
            f"{'carries' if count == 1 else 'carry'} the scan, {FEWEST_FOR_LEGS} are needed"
        )
    return Heights(warning, SCAN_BASIS, ground.rough_error_m)
