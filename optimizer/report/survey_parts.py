"""How the ground was measured: file by file, what each line misses its mark by, how a scan was placed."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from optimizer.brief.site import Site
from optimizer.ground_records import ClosureRecord, FileRecord, GroundReport, ScanRecord
from optimizer.ground_table import show_small
from optimizer.report.parts import Part, Rows, Words

_KINDS: Final = {
    "spots": "spot levels",
    "level_book": "level book",
    "straightboard": "straightboard walk",
}
_UNKNOWN: Final = "-"


def list_survey_parts(ground: GroundReport, site: Site) -> Iterator[Part]:
    """The files that were levelled, then the scan where there is one."""
    levelled = ("file", "kind", "points used", "sums that agree", "shot once", "error of a set-up")
    files = tuple(_show_file(one, site) for one in ground.files)
    yield Rows("Levels", levelled, files, (4, 4, 3, 3, 5, 3), right=(2, 3, 5))
    lines = tuple(_show_closure(file, one, site) for file in ground.files for one in file.closures)
    if lines:
        closed = ("line", "length", "misses by", "may miss by", "rule", "verdict")
        yield Rows("What each line misses the mark by", closed, lines, (5, 3, 3, 3, 7, 3), right=(2, 3))
    twice = tuple(
        (
            one.name,
            str(one.count),
            show_small(site, one.range_m),
            _show_error(site, one.standard_error_m),
            "look again" if one.is_flagged else "",
        )
        for file in ground.files
        for one in file.averages
    )
    if twice:
        head = ("point", "shots", "apart by", "standard error", "")
        yield Rows("Points shot more than once", head, twice, (4, 2, 3, 3, 4), right=(1, 2, 3))
    if ground.scan is not None:
        yield from _list_scan_parts(ground.scan, site)


def _show_file(file: FileRecord, site: Site) -> tuple[str, ...]:
    sums = f"{sum(one.agrees for one in file.sums)} of {len(file.sums)}" if file.sums else _UNKNOWN
    once = ", ".join(file.shot_once) or _UNKNOWN
    error = _show_error(site, file.setup_error_m)
    return file.file, _KINDS[file.kind], str(file.used), sums, once, error


def _show_closure(file: FileRecord, one: ClosureRecord, site: Site) -> tuple[str, ...]:
    return (
        f"{file.file}: {one.start} to {one.end}",
        f"{one.setups} {one.counted}",
        _show_error(site, one.misclosure_m),
        _show_error(site, one.limit_m),
        one.rule,
        one.verdict,
    )


def _show_error(site: Site, value_m: float | None) -> str:
    return _UNKNOWN if value_m is None else show_small(site, value_m)


def _list_scan_parts(scan: ScanRecord, site: Site) -> Iterator[Part]:
    rows = (
        ("unit and height", f"{scan.unit}, {scan.up} is up"),
        ("points read", str(scan.points_read)),
        ("in the area", str(scan.points_in_area)),
        ("taken for ground", str(scan.points_ground)),
        ("stand there", str(scan.points_things)),
        ("too low to be true", str(scan.points_ghosts)),
        ("cannot be told", str(scan.points_unknown)),
        ("placed in plan, left out one by one", _show_error(site, scan.left_out_plan_m)),
        ("placed in height, left out one by one", _show_error(site, scan.left_out_height_m)),
        ("error of the placing", show_small(site, scan.placing_error_m)),
        ("error of a height, usual", show_small(site, scan.usual_error_m)),
        ("error of a height, greatest", show_small(site, scan.greatest_error_m)),
        (
            "ground thinned to",
            f"{scan.vertices} points, off by {show_small(site, scan.largest_left_m)} at most",
        ),
    )
    yield Rows(f"Scan {scan.file}", ("", ""), rows, (2, 4))
    control = tuple(
        (
            one.name,
            one.role,
            _show_error(site, one.plan_m),
            _show_error(site, one.height_m),
            _show_error(site, one.left_out_plan_m),
            _show_error(site, one.left_out_height_m),
        )
        for one in scan.control
    )
    head = ("point", "role", "plan", "height", "plan, left out", "height, left out")
    yield Rows("Points the scan is placed by", head, control, (4, 3, 3, 3, 3, 3), right=(2, 3, 4, 5))
    told = (*(one.reason for one in scan.freed), *scan.limits)
    yield Words("", told, "dash")
