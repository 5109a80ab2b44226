"""What is set, ordered and ticked off: the leg schedule and the parts of one candidate."""

from __future__ import annotations

import io
import re
from collections.abc import Sequence
from typing import Final

from rich.console import Console
from rich.table import Table

from optimizer.brief.site import Site
from optimizer.catalogue.parts import (
    BottomPad,
    Brace,
    Foot,
    Leg,
    LowSupport,
    Part,
    RailEnd,
    RailPanel,
    RailPost,
    StepFlight,
)
from optimizer.fit_words import find_doubt_m, show_chance, show_height, show_plus_minus
from optimizer.plan import SETBACK_RELIEF, Candidate, FitRecord, Plan, PriceLine, SupportLeg
from optimizer.units import TOLERANCE_M, format_length, format_money

#: What is ticked with a pencil when the parts are laid out.
TICK: Final = "[ ]"
#: Marks of a leg that wants a second look.
OUT_OF_RANGE, IN_RESERVE, SHOOT_AGAIN = "out of range", "in its reserve", "shoot again"
#: Columns whose text may run over several lines.
BROKEN: Final = frozenset({"shape", "part", "used by", "clause", "thing", "building\ntolerance"})
#: Below this width of the page, characters, columns stand closer.
NARROW: Final = 112
#: Parts that are counted together, in the order of the list; what is in no other group is deck.
DECK, SUPPORTS, RAILS, STEPS, GROUND = "deck and plates", "legs and feet", "rails", "steps", "ground work"
RELIEF = "permission"


def build_console(buffer: io.StringIO, width: int) -> Console:
    """A console that prints plain text as it is given, whatever the terminal can do."""
    return Console(file=buffer, width=width, highlight=False, color_system=None, markup=False, emoji=False)


def choose_gap(width: int) -> int:
    """Characters between two columns of a page of ``width`` characters."""
    return 1 if width < NARROW else 2


def build_table(columns: Sequence[str], right: Sequence[str], gap: int) -> Table:
    """A table without lines; columns named in ``right`` are set to the right; only words are broken."""
    table = Table(box=None, pad_edge=False, padding=(0, gap, 0, 0))
    for name in columns:
        table.add_column(
            name,
            justify="right" if name in right else "left",
            overflow="fold",
            no_wrap=name not in BROKEN,
        )
    return table


def format_doubt(site: Site, doubt_m: float) -> str:
    """A small length, never as nothing at all."""
    if doubt_m < site.display.step_m / 2.0:
        return f"under {show_length(site, site.display.step_m)}"
    return show_length(site, doubt_m)


def describe_doubt(plan: Plan, site: Site) -> str:
    """``± 8 mm``, for the head of a column of heights."""
    doubt_m = find_doubt_m(plan)
    return "± not known" if doubt_m is None else f"± {show_plus_minus(site, doubt_m)}"


def show_length(site: Site, value_m: float) -> str:
    """A length in the site's display units."""
    return format_length(value_m, site.display.system, site.display.step_m)


def draw_legs(plan: Plan, candidate: Candidate, site: Site, gap: int) -> Table:
    """Leg schedule of one candidate, with a mark where the survey cannot carry the choice of the leg.

    With the height's own plus-minus and the chance of fitting where they are told, else with the
    ground's rough one and the spare in the range.
    """
    told = plan.fit is not None
    numbers = ("height", "+/-", "fits\n%") if told else (f"height\n{describe_doubt(plan, site)}",)
    spare = () if told else ("least spare\nin range",)
    columns = (TICK, "no", "under", "where", "type", *numbers, "setting", *spare, "brace", "mark")
    table = build_table(columns, (*numbers, *spare), gap)
    doubt_m = find_doubt_m(plan)
    for leg in candidate.legs:
        table.add_row(
            TICK,
            leg.id,
            leg.piece,
            leg.station,
            leg.leg_type,
            *(_show_told(site, leg) if told else (show_length(site, leg.height_m),)),
            show_setting(site, leg),
            *(() if told else (show_spare(site, leg),)),
            "yes" if leg.brace else "",
            mark_leg(leg, doubt_m),
        )
    return table


def _show_told(site: Site, leg: SupportLeg) -> tuple[str, str, str]:
    """Height, plus-minus and chance."""
    height, plus_minus = show_height(site, leg)
    return height, plus_minus, show_chance(leg.fit_chance)


def list_leg_notes(plan: Plan, candidate: Candidate, site: Site) -> list[str]:
    """What the heights of the schedule rest on, and what its marks say."""
    warning = [f"Do not order by these: {site.heights.warning}."] if site.heights.warning else []
    if plan.fit is not None:
        return [*warning, *_list_told_notes(plan, plan.fit, candidate, site)]
    doubt_m = find_doubt_m(plan)
    if doubt_m is None:
        return [*warning, "How far the heights are to be trusted is not known: the levels are too few."]
    shown = describe_doubt(plan, site)
    notes = [
        *warning,
        f"{shown} is twice the rough error of the ground; shoot every foot again before ordering.",
    ]
    if any(mark_leg(leg, doubt_m) == SHOOT_AGAIN for leg in candidate.legs):
        notes.append(f'"{SHOOT_AGAIN}": nearer to the end of its usable range than {shown}.')
    return notes


def _list_told_notes(plan: Plan, fit: FitRecord, candidate: Candidate, site: Site) -> list[str]:
    spreads = ", ".join(
        f"{what} {format_doubt(site, error_m)}"
        for what, error_m in (
            ("reading", fit.reading_m),
            ("bedding", fit.bedding_m),
            ("setting", fit.frame_m),
        )
    )
    notes = [
        "+/-: two standard errors of a height, by survey and ground between the levels, with those of "
        f"{spreads}; shoot every foot again before ordering.",
    ]
    if any(mark_leg(leg, find_doubt_m(plan)) == SHOOT_AGAIN for leg in candidate.legs):
        notes.append(f'"{SHOOT_AGAIN}": within two standard errors of the end of its usable range.')
    return notes


def measure_spare(leg: SupportLeg) -> tuple[float, float]:
    """Metres a leg can still be made shorter and longer, its reserve kept."""
    low_m, high_m = leg.range_m
    return leg.height_m - low_m - leg.reserve_m, high_m - leg.reserve_m - leg.height_m


def show_spare(site: Site, leg: SupportLeg) -> str:
    """The lesser spare and its direction, such as ``37 mm up``."""
    down_m, up_m = measure_spare(leg)
    return f"{show_length(site, down_m)} down" if down_m < up_m else f"{show_length(site, up_m)} up"


def mark_leg(leg: SupportLeg, doubt_m: float | None) -> str:
    """What to watch: a height nearer to the usable end of the range than the survey can tell.

    By the leg's own error where it is told, else by ``doubt_m``.
    """
    spare_m = min(measure_spare(leg))
    if spare_m + leg.reserve_m < -TOLERANCE_M:
        return OUT_OF_RANGE
    if spare_m < -TOLERANCE_M:
        return IN_RESERVE
    if leg.height_error_m is not None:
        return SHOOT_AGAIN if leg.is_near_end else ""
    return SHOOT_AGAIN if doubt_m is not None and spare_m < doubt_m else ""


def show_setting(site: Site, leg: SupportLeg) -> str:
    """The setting in display units: holes stay holes, whole millimetres become the site's own."""
    part = site.catalogue.part(leg.leg_type)
    hole = re.match(r"hole (\d+)", leg.setting)
    if not isinstance(part, Leg):
        return f"height {show_length(site, leg.height_m)}"
    if hole is None:
        return f"screw {show_length(site, leg.height_m - part.min_m)}"
    screw_m = max(0.0, leg.height_m - part.min_m - int(hole[1]) * part.pin_pitch_m)
    return f"hole {hole[1]}, screw {show_length(site, screw_m)}"


def draw_parts(plan: Plan, candidate: Candidate, site: Site, gap: int) -> Table:
    """Every price line with what it counts, by kind with sub-totals, then what is added to them."""
    table = build_table((TICK, "count", "part", "each", "sum", "used by"), ("count", "each", "sum"), gap)
    direct = [line for line in candidate.price_lines if line.group == "direct"]
    for kind in (DECK, SUPPORTS, RAILS, STEPS, GROUND, RELIEF):
        lines = [line for line in direct if find_group(line, site) == kind]
        for line in lines:
            table.add_row(
                TICK,
                str(line.count),
                line.name,
                show_cents(line.unit_cents),
                show_cents(line.total_cents),
                shorten_items(line.items),
            )
        if lines:
            table.add_row(
                "",
                str(sum(line.count for line in lines)),
                kind,
                "",
                show_cents(sum_cents(lines)),
                "",
                end_section=True,
            )
            table.add_row()
    table.add_row(
        "", str(sum(line.count for line in direct)), "direct cost", "", show_cents(sum_cents(direct)), ""
    )
    for line in candidate.price_lines:
        if line.group == "added":
            table.add_row("", "", line.name, "", show_cents(line.total_cents), "")
    table.add_row("", "", f"price, {plan.currency}", "", show_cents(candidate.price_cents), "")
    return table


def find_group(line: PriceLine, site: Site) -> str:
    """Which group of the parts list a direct line belongs to."""
    if line.part == SETBACK_RELIEF:
        return RELIEF
    return find_kind(site.catalogue.part(line.part))


def find_kind(part: Part) -> str:
    """Which group of the parts list a part belongs to."""
    match part:
        case Leg() | LowSupport() | Foot() | Brace():
            return SUPPORTS
        case RailPanel() | RailPost() | RailEnd():
            return RAILS
        case StepFlight():
            return STEPS
        case BottomPad():
            return GROUND
        case _:
            return DECK


def sum_cents(lines: Sequence[PriceLine]) -> int:
    """The sum of some price lines."""
    return sum(line.total_cents for line in lines)


def show_cents(cents: int) -> str:
    """An amount without its currency, which the head of the page names."""
    return format_money(cents, "").rstrip()


def shorten_items(items: tuple[str, ...]) -> str:
    """Ids of what a line counts, runs of numbers as a range."""
    runs: list[list[str]] = []
    for item in dict.fromkeys(items):
        if runs and find_number(item) == find_number(runs[-1][-1]) + 1:
            runs[-1].append(item)
        else:
            runs.append([item])
    return " ".join(run[0] if len(run) == 1 else f"{run[0]}-{run[-1]}" for run in runs)


def find_number(item: str) -> int:
    """The number in an id such as ``L07``; far from any other where there is none."""
    digits = "".join(c for c in item if c.isdigit())
    return int(digits) if digits else -2
