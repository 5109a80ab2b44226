"""Check something that is already on paper: a saved plan, or a layout typed by hand."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from optimizer.brief.read_site import read_site
from optimizer.brief.site import Site
from optimizer.errors import Fault, InputError
from optimizer.layout.layout_file import read_layout
from optimizer.pipeline import build_checked, check_again
from optimizer.plan import Candidate, Plan
from optimizer.plan_file import read_plan
from optimizer.record_rules import describe_rules, record_rules
from optimizer.run_record import find_recorded_site
from optimizer.units import TOLERANCE_M


@dataclass(frozen=True, slots=True)
class Checked:
    """Candidates with fresh findings, and the site they stand on."""

    site: Site
    candidates: tuple[Candidate, ...]


def check_plan_file(path: Path, site_path: Path | None, number: int | None) -> Checked:
    """Check every candidate of a plan (or one, counted from 1) against its site's files."""
    made = read_plan(path)
    site = read_plan_site(made, path, site_path)
    chosen = made.candidates
    if number is not None:
        if not 1 <= number <= len(chosen):
            raise InputError(
                Fault("--candidate", f"{number} is not a candidate.", say_candidates(len(chosen)))
            )
        chosen = chosen[number - 1 : number]
    return Checked(site, tuple(c.model_copy(update={"findings": check_again(c, site)}) for c in chosen))


def say_candidates(count: int) -> str:
    """Which numbers a plan of so many candidates has."""
    return f"The plan has 1 to {count}." if count else "The plan has no layout."


def read_plan_site(made: Plan, path: Path, site_path: Path | None) -> Site:
    """Read the site a plan was made from: the one named, else the one its run has recorded.

    Raises InputError when that is another site, or the same with another origin.
    """
    place = find_recorded_site(path) if site_path is None else site_path
    site = read_site(place)
    made_under, under = describe_rules(made.rules), describe_rules(record_rules(site.rulings.sets))
    if made_under != under or made.site.name != site.name:
        raise InputError(
            Fault(
                str(path),
                f"was made for {made.site.name!r} under {made_under}; "
                f"{place} is {site.name!r} under {under}.",
                "Name the site the plan was made from with --site, or make the plan again.",
            )
        )
    moved_m = max(
        abs(a - float(b)) for a, b in zip(made.site.origin_shift_m, site.origin_shift_m, strict=True)
    )
    if moved_m > TOLERANCE_M:
        raise InputError(
            Fault(
                str(path),
                f"its coordinates are shifted otherwise than those of {place}, by up to {moved_m:.3f} m.",
                "Make the plan again: the site's door or levels have changed.",
            )
        )
    return site


def check_layout_file(path: Path) -> Checked:
    """Lay out a typed layout on its site and check it."""
    spec, site = read_layout(path)
    return Checked(site, (build_checked(site, spec, path.stem, "typed by hand", None, "as typed"),))
