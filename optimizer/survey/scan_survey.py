"""A scan of the yard read, turned as a person confirmed, and placed by its control points."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final, TypeVar

from optimizer.errors import Fault, InputError
from optimizer.survey.placing.control_file import read_control
from optimizer.survey.placing.control_levels import take_levels, take_spots
from optimizer.survey.placing.control_points import ControlPoints
from optimizer.survey.placing.picks_on_scan import FARTHEST_PICK_M, find_fitting, measure_picks
from optimizer.survey.placing.place_scan import PlacedScan, place_scan
from optimizer.survey.placing.placing_report import PlacingReport, accept_placing, place_by_control
from optimizer.survey.scan.confirm_frame import confirm_frame
from optimizer.survey.scan.file_frame import ScanUnit, UpAxis
from optimizer.survey.scan.propose_frame import FrameProposal, propose_frame
from optimizer.survey.scan.read_scan import read_scan
from optimizer.survey.scan.scan import RawScan, Scan
from optimizer.survey.survey_file import SurveyFile

T = TypeVar("T")

#: Thinned while it is read: a tenth or less of any cell the ground is made of.
THINNING_M: Final = 0.01


@dataclass(frozen=True, slots=True)
class ScanAsked:
    """A scan as a site asks for it; ``unit`` and ``up`` are ``None`` until a person confirms them.

    ``where`` leads to the place in the site file that asks; ``control``: file of its control points.
    """

    path: Path
    control: Path
    unit: ScanUnit | None
    up: UpAxis | None
    where: str


@dataclass(frozen=True, slots=True)
class ScanSurvey:
    """A scan in the survey's frame, and what was thrown away and found on the way.

    ``count_read`` points stood in the file; ``count_unusable`` were no finite numbers,
    ``count_too_far`` lay too far away; ``len(placed.local_m)`` are left, one a centimetre cube.
    """

    unit: ScanUnit
    up: UpAxis
    count_read: int
    count_unusable: int
    count_too_far: int
    proposal: FrameProposal
    report: PlacingReport
    placed: PlacedScan


@dataclass(frozen=True, slots=True)
class OpenedScan:
    """A scan turned as confirmed, its control points as their own file has them, and the site's question."""

    asked: ScanAsked
    proposal: FrameProposal
    control: ControlPoints
    scan: Scan


def open_scan(asked: ScanAsked) -> OpenedScan:
    """Read a scan and its control points.

    Raises ``InputError`` with the faults of both files, and of unit or axis not confirmed, with the
    proposal and its evidence.
    """
    faults: list[Fault] = []
    control, raw = _try(faults, lambda: read_control(asked.control)), _try(faults, lambda: _read(asked.path))
    if raw is None:
        raise InputError(*faults)
    proposal = propose_frame(raw)
    if asked.unit is None or asked.up is None:
        raise InputError(*faults, _ask_to_confirm(asked, raw, proposal))
    unit, up = asked.unit, asked.up
    scan = _try(faults, lambda: confirm_frame(raw, unit, up))
    if control is None or scan is None:
        raise InputError(*faults)
    _refuse_picks_off_scan(control, scan, asked, raw)
    return OpenedScan(asked, proposal, control, scan)


def place_opened(opened: OpenedScan, files: Sequence[SurveyFile]) -> ScanSurvey:
    """Place it; control points take levels (and positions) by name from ``files``.

    Raises ``InputError`` for control points that are faulty or show the placing to be wrong.
    """
    scan = opened.scan
    report = place_by_control(_take_from(opened.control, files))
    return ScanSurvey(
        unit=scan.unit,
        up=scan.up,
        count_read=scan.count_read,
        count_unusable=scan.count_unusable,
        count_too_far=scan.count_too_far,
        proposal=opened.proposal,
        report=report,
        placed=place_scan(scan, accept_placing(report)),
    )


def _read(path: Path) -> RawScan:
    return read_scan(path, THINNING_M)


def _try(faults: list[Fault], read: Callable[[], T]) -> T | None:
    """What is read, or ``None`` with its faults noted, so that both files are heard."""
    try:
        return read()
    except InputError as error:
        faults.extend(error.faults)
        return None


def doubt_frame(scan: ScanSurvey) -> tuple[Fault, ...]:
    """What was confirmed against what the scan looks like."""
    return tuple(
        Fault(
            scan.placed.path.name,
            f'{key} = "{confirmed}" was confirmed, the scan looks like "{seen}".',
            "Measure something you know in the scan.",
        )
        for key, confirmed, seen in (
            ("unit", scan.unit, scan.proposal.unit),
            ("up", scan.up, scan.proposal.up),
        )
        if seen is not None and seen != confirmed
    )


def _take_from(control: ControlPoints, files: Sequence[SurveyFile]) -> ControlPoints:
    """Control points with what the site's other files say of points of the same name."""
    names = {point.name for point in control.points}
    for file in files:
        if file.levelled is not None:
            if names & {point.name for point in file.levelled.points}:
                control = take_levels(control, file.levelled)
        elif file.spots is not None and names & set(file.spots.names):
            control = take_spots(control, file.spots)
    return control


def _refuse_picks_off_scan(control: ControlPoints, scan: Scan, asked: ScanAsked, raw: RawScan) -> None:
    """Picks are typed in units of their own, so a wrong unit or axis shows where no point is near them."""
    away_m = measure_picks(control, scan)
    faults = [
        Fault(
            control.where(i),
            f'the pick of "{point.name}" lies {away_m[i]:.2f} m from any point of {asked.path.name}.',
            "Pick it again.",
        )
        for i, point in enumerate(control.points)
        if away_m[i] > FARTHEST_PICK_M
    ]
    if 2 * len(faults) > len(control.points):
        x, y, z = (f"{low:.1f} to {high:.1f}" for low, high in scan.box_m.T)
        what = (
            f"{len(faults)} of {len(control.points)} picks of {asked.control.name} lie off the scan, which, "
            f"z up, reaches from x {x}, y {y}, z {z} m."
        )
        fitting = " ".join(find_fitting(control, raw, scan))
        remedy = fitting or "Confirm the scan's unit and axis again, or give the picks with z up."
        raise InputError(Fault(asked.where, what, remedy))
    if faults:
        raise InputError(*faults)


def _ask_to_confirm(asked: ScanAsked, raw: RawScan, proposal: FrameProposal) -> Fault:
    missing = [key for key, value in (("unit", asked.unit), ("up", asked.up)) if value is None]
    what = f"the scan's {' and '.join(missing)} must be confirmed by a person. {' '.join(proposal.evidence)}"
    written = [
        f'{key} = "{value}"' if value is not None else f"{key} (nothing tells it: look at the scan)"
        for key, value in (
            ("unit", asked.unit or proposal.unit),
            ("up", asked.up or proposal.up),
        )
        if key in missing
    ]
    sure = "" if proposal.is_certain else " once you have measured something you know in it"
    return Fault(asked.where, what, f"Write below [scan]{sure}: {' and '.join(written)} ({raw.path.name}).")
