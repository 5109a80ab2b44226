"""Things and steps that a scan shows, as tables, and as text ready for the site file."""

from __future__ import annotations

from collections.abc import Iterator

from rich.table import Table

from optimizer.brief.site import Site
from optimizer.ground_records import ScanRecord
from optimizer.schedule_tables import build_table, show_length


def list_seen_parts(scan: ScanRecord, site: Site, gap: int) -> Iterator[str | Table]:
    """What is printed of them; nothing where nothing was seen."""
    if scan.things:
        yield "\nThings seen in the scan; what nobody has confirmed counts as an obstacle\n"
        yield _draw_things(scan, site, gap)
        open_ones = [one for one in scan.things if one.said == "unconfirmed"]
        if open_ones:
            yield "\nTo confirm, copy into the site file (obstacle: it stays; gone: it will be away)\n"
            yield format_things(scan)
    if scan.steps:
        yield "\nSteps found in the scan (kerb, wall, terrace)\n"
        yield _draw_steps(scan, site, gap)


def format_things(scan: ScanRecord) -> str:
    """``[[scan.thing]]`` tables of the things nobody has confirmed."""
    return "\n".join(
        f'[[scan.thing]]  # {one.number}: {one.above_m:.2f} m high\nnear = {one.place}\nwhat = "obstacle"\n'
        for one in scan.things
        if one.said == "unconfirmed"
    ).rstrip()


def _draw_things(scan: ScanRecord, site: Site, gap: int) -> Table:
    right = ("no", "length", "width", "top above\nground")
    table = build_table(("no", "place", *right[1:], "how", "site file says"), right, gap)
    for one in scan.things:
        sizes = (show_length(site, value) for value in (one.length_m, one.width_m, one.above_m))
        table.add_row(str(one.number), one.place, *sizes, one.how, one.said)
    return table


def _draw_steps(scan: ScanRecord, site: Site, gap: int) -> Table:
    right = ("length", "least\nheight", "greatest\nheight")
    table = build_table(("step", *right, "in the ground"), right, gap)
    for one in scan.steps:
        sizes = (show_length(site, value) for value in (one.length_m, one.least_m, one.greatest_m))
        table.add_row(one.name, *sizes, "yes" if one.is_woven else "no: draw it as a break line")
    return table
