"""The report of ``evenfall ground`` as text for a terminal."""

from __future__ import annotations

import io
import textwrap
from collections.abc import Iterator
from typing import Final

from rich.console import Console
from rich.table import Table

from optimizer.brief.site import Site
from optimizer.ground_records import ClosureRecord, ControlRecord, FileRecord, GroundReport, ScanRecord
from optimizer.ground_report import find_largest_met, measure_met
from optimizer.ground_things_table import list_seen_parts
from optimizer.schedule_tables import build_console, build_table, choose_gap

_KINDS: Final = {
    "spots": "spot levels",
    "level_book": "level book",
    "straightboard": "straightboard walk",
}
#: So many thin places are listed; the picture and ground.json have all.
_SHOWN: Final = 5
#: A check point missed by more than so many times what the control points foretell belies them (our choice).
_MUCH_WORSE: Final = 3.0


def draw_ground(report: GroundReport, site: Site, width: int) -> str:
    """The whole report; ``width`` in characters."""
    buffer = io.StringIO()
    console = build_console(buffer, width)
    made = f"{report.levelled_points} levelled points"
    if report.scan is not None:
        made += f" and {report.scan_points} of the scan"
    console.print(f"{report.site}: ground from {made}, {report.triangles} triangles")
    error = "not known" if report.rough_error_m is None else show_small(site, report.rough_error_m)
    console.print(f"Rough error of a height: {error} ({report.basis.removeprefix('rough: ')}).")
    if report.warning:
        console.print(f"{report.warning[:1].upper()}{report.warning[1:]}.")
    for doubt in report.doubts:
        _print_wrapped(console, f"Look again: {doubt.where}: {doubt.what} {doubt.remedy}", width)
    for file in report.files:
        _print_file(console, file, site, width)
    if report.scan is not None:
        _print_scan(console, report, report.scan, site, width)
    for line in _list_thin(report, site):
        console.print(line)
    return "\n".join(line.rstrip() for line in buffer.getvalue().splitlines())


def show_small(site: Site, value_m: float) -> str:
    """An error: tenths of a millimetre, or hundredths of an inch where the site shows inches."""
    if site.display.system in ("ft-in", "in"):
        return f"{value_m / 0.0254:.2f} in"
    return f"{value_m * 1000.0:.1f} mm"


def _show_signed(site: Site, value_m: float | None) -> str:
    if value_m is None:
        return "-"
    return f"{'+' if value_m >= 0.0 else '-'}{show_small(site, abs(value_m))}"


def _show_maybe(site: Site, value_m: float | None) -> str:
    return "-" if value_m is None else show_small(site, value_m)


def _show_elevation(site: Site, value_m: float) -> str:
    """Elevations as surveyed: feet with hundredths, or metres with millimetres."""
    if site.display.system in ("ft-in", "in"):
        return f"{value_m / 0.3048:.3f} ft"
    return f"{value_m:.3f} m"


def _print_file(console: Console, file: FileRecord, site: Site, width: int) -> None:
    console.print(f"\n{file.file}: {_KINDS[file.kind]}, {file.used} ground points")
    if file.not_ground:
        _print_wrapped(
            console, f"Not ground (marks, overhead, or no position): {', '.join(file.not_ground)}.", width
        )
    if file.rows:
        console.print()
        console.print(_draw_rows(file, site, choose_gap(width)))
    for one in file.sums:
        word = "agree" if one.agrees else "DO NOT AGREE: somebody added wrongly"
        sights, levels, changes = (
            f"{'+' if value >= 0.0 else ''}{_show_elevation(site, value)}"
            for value in (
                one.backsights_m - one.foresights_m + 0.0,
                one.level_change_m + 0.0,
                one.rises_m - one.falls_m + 0.0,
            )
        )
        _print_wrapped(
            console,
            f"Sums of the {one.title} ({one.source}): backsights less foresights "
            f"{sights}, last less first level {levels}, rises less falls {changes}: they {word}.",
            width,
        )
    for closure in file.closures:
        line = f'Line from "{closure.start}" to "{closure.end}", {_count(closure)}: '
        if closure.misclosure_m is None:
            line += "open, nothing checks it."
        else:
            limit = "" if closure.limit_m is None else f", allowed {show_small(site, closure.limit_m)}"
            line += f"misses by {_show_signed(site, closure.misclosure_m)}{limit} ({closure.rule}); spread."
        _print_wrapped(console, line, width)
    for average in file.averages:
        error = _show_maybe(site, average.standard_error_m)
        flag = " SHOOT IT AGAIN" if average.is_flagged else ""
        console.print(
            f"{average.name}: mean of {average.count} shots, {show_small(site, average.range_m)} apart, "
            f"standard error {error}.{flag}"
        )
    if file.shot_once:
        _print_wrapped(
            console,
            f"Shot once, where no sum checks it: {', '.join(file.shot_once)}. A misread staff there "
            "would not be noticed. Shoot again, from another set-up, those that legs will stand near.",
            width,
        )
    if file.setup_error_m is not None:
        console.print(f"Standard error of one set-up: {show_small(site, file.setup_error_m)}.")
    for doubt in file.doubts:
        _print_wrapped(console, f"Look again: {doubt.where}: {doubt.what} {doubt.remedy}", width)


def _count(closure: ClosureRecord) -> str:
    """``1 set-up``, ``4 boards``."""
    return f"{closure.setups} {closure.counted.removesuffix('s') if closure.setups == 1 else closure.counted}"


def _draw_rows(file: FileRecord, site: Site, gap: int) -> Table:
    right = ("line", "height of\ninstrument", "rise", "level", "correction", "adjusted")
    table = build_table(("line", "point", *right[1:]), right, gap)
    for row in file.rows:
        table.add_row(
            str(row.line),
            row.name,
            "" if row.height_of_instrument_m is None else _show_elevation(site, row.height_of_instrument_m),
            "" if row.rise_m is None else f"{_show_elevation(site, row.rise_m)}",
            _show_elevation(site, row.elevation_m),
            _show_signed(site, row.correction_m),
            _show_elevation(site, row.adjusted_m),
        )
    return table


def _print_scan(console: Console, report: GroundReport, scan: ScanRecord, site: Site, width: int) -> None:
    console.print(f'\n{scan.file}: scan, confirmed unit = "{scan.unit}", up = "{scan.up}"')
    _print_wrapped(
        console,
        f"{scan.points_read:,} points read; {scan.points_unusable:,} were no numbers, "
        f"{scan.points_too_far:,} too far away; {scan.points_kept:,} kept, one a centimetre cube.",
        width,
    )
    _print_wrapped(console, f"What the file shows: {' '.join(scan.frame_evidence)}", width)
    console.print("\nControl points, placed less measured\n")
    console.print(_draw_control(scan, site, choose_gap(width)))
    console.print()
    _print_wrapped(console, " ".join(_tell_headline(scan, site)), width)
    for freed in scan.freed:
        _print_wrapped(console, freed.reason, width)
    for doubt in scan.doubts:
        _print_wrapped(console, f"Look again: {doubt.where}: {doubt.what} {doubt.remedy}", width)
    console.print("\nGround of the scan\n")
    bound = "kept" if scan.is_bounded else f"NOT kept, {show_small(site, scan.largest_left_m)} left"
    for line in (
        f"{scan.points_in_area:,} points near the door: {scan.points_ground:,} ground, "
        f"{scan.points_things:,} of things that stand or hang there, {scan.points_ghosts:,} too low "
        f"(ghosts), {scan.points_unknown:,} that could not be told.",
        f"{scan.cells:,} cells of {scan.cell_m:g} m show ground; {scan.cells_poor:,} had too few points.",
        f"{scan.vertices:,} points carry the rest within {show_small(site, scan.bound_m)} ({bound}); "
        f"{scan.vertices_near_levels} of them gave way to levelled points.",
        f"Standard errors of a height: {show_small(site, scan.cell_error_m)} a cell by its scatter, up to "
        f"{show_small(site, scan.placing_error_m)} by the placing; with drift, rims of things and holes "
        f"{show_small(site, scan.usual_error_m)} usually, {show_small(site, scan.greatest_error_m)} at most.",
        *_list_holes(scan),
        *_list_met(report, site),
        *(f"Limit of the sorting: {limit}" for limit in scan.limits),
        "Door sills are not taken from the scan: level or tape them.",
    ):
        _print_wrapped(console, line, width)
    for part in list_seen_parts(scan, site, choose_gap(width)):
        console.print(part)


def _list_holes(scan: ScanRecord) -> Iterator[str]:
    if not scan.holes:
        return
    area_m2 = sum(hole.area_m2 for hole in scan.holes)
    largest = max(scan.holes, key=lambda hole: hole.area_m2)
    yield (
        f"{len(scan.holes)} holes without ground, {area_m2:.1f} m2 in all, the largest "
        f"{largest.area_m2:.1f} m2 ({largest.why}): filled with an error that grows with their "
        "width, left open beyond 3 m."
    )


def _tell_headline(scan: ScanRecord, site: Site) -> Iterator[str]:
    """What the placing is worth, beside what the check points say of it."""
    yield (
        "Each control point as the others foretell it (root mean square, what to expect elsewhere): plan "
        f"{_show_maybe(site, scan.left_out_plan_m)}, height {_show_maybe(site, scan.left_out_height_m)}."
    )
    checks = [point for point in scan.control if point.role == "check"]
    if not checks:
        yield "No check point tries it."
    for check in checks:
        yield (
            f"Check point {check.name}, which no fit used, is missed by {_show_maybe(site, check.plan_m)} in "
            f"plan, {_show_signed(site, check.height_m)} in height."
        )
        much = _compare(check, scan)
        if much is not None and much > _MUCH_WORSE:
            yield f"THAT IS {much:.0f} TIMES AS MUCH: do not rely on the smaller number."


def _compare(check: ControlRecord, scan: ScanRecord) -> float | None:
    """How many times what the control points foretell a check point misses by, in plan or height."""
    ratios = [
        abs(missed) / foretold
        for missed, foretold in (
            (check.plan_m, scan.left_out_plan_m),
            (check.height_m, scan.left_out_height_m),
        )
        if missed is not None and foretold
    ]
    return max(ratios, default=None)


def _draw_control(scan: ScanRecord, site: Site, gap: int) -> Table:
    right = ("plan", "height", "plan, left out", "height, left out", "standard\nerrors")
    table = build_table(("point", "role", *right), right, gap)
    for point in scan.control:
        table.add_row(
            point.name,
            point.role,
            _show_maybe(site, point.plan_m),
            _show_signed(site, point.height_m),
            _show_maybe(site, point.left_out_plan_m),
            _show_signed(site, point.left_out_height_m),
            "-" if point.standard_errors is None else f"{point.standard_errors:.1f}",
        )
    return table


def _list_met(report: GroundReport, site: Site) -> Iterator[str]:
    worst, usual_m = find_largest_met(report), measure_met(report)
    if worst is not None and usual_m is not None and report.scan is not None:
        yield (
            f"Held against {len(report.scan.met)} levelled ground points that did not make it: off by "
            f"{show_small(site, usual_m)} (root mean square), most at {worst.name}: "
            f"{_show_signed(site, worst.off_m)}."
        )


def _list_thin(report: GroundReport, site: Site) -> Iterator[str]:
    if not report.thin_places_m:
        return
    places = "; ".join(
        f"({_show_place(site, x)}, {_show_place(site, y)})" for x, y, _ in report.thin_places_m[:_SHOWN]
    )
    count = len(report.thin_places_m)
    more = f" and {count - _SHOWN} more" if count > _SHOWN else ""
    yield f"\nThin ground, levels far apart, shoot there first if the ramp comes near: {places}{more}."


def _show_place(site: Site, value_m: float) -> str:
    return f"{value_m / 0.3048:.1f} ft" if site.display.system in ("ft-in", "in") else f"{value_m:.2f} m"


def _print_wrapped(console: Console, text: str, width: int) -> None:
    console.print(textwrap.fill(text, width, break_on_hyphens=False))
