"""Build a visit sheet: blank, for a site, or for a site with its plan."""

from __future__ import annotations

from typing import Literal

from optimizer.brief.site import Site
from optimizer.plan import Candidate
from optimizer.visit.questions import PHOTOS, PLACES, list_groups
from optimizer.visit.sheet import VisitSheet
from optimizer.visit.shots import draw_pieces, list_shots


def build_first_sheet(site: Site | None, unit: Literal["m", "ft"]) -> VisitSheet:
    """For the first visit; with a site, what is known is filled in."""
    return VisitSheet(
        title="Visit sheet" if site is None else site.name,
        below="First visit: ask, level, photograph, sketch",
        warning="" if site is None else site.heights.warning,
        unit=unit,
        groups=list_groups(site),
        places=PLACES,
        photos=PHOTOS,
        shots=(),
        pieces=(),
    )


def build_shot_sheet(site: Site, candidate: Candidate) -> VisitSheet:
    """For the visit before anything is ordered; raises ``InputError`` for a plan of another site."""
    return VisitSheet(
        title=site.name,
        below=f"{candidate.name}: level again before ordering or unpacking",
        warning=site.heights.warning,
        unit=choose_unit(site),
        groups=(),
        places=(),
        photos=(),
        shots=list_shots(site, candidate),
        pieces=draw_pieces(site, candidate),
        order=(
            "In the order in which a wrong level would stop the build: sill, tip, tightest feet. "
            "(evenfall measure-here ranks by what a shot tells of the chance that all legs fit.)"
        ),
    )


def choose_unit(site: Site | None) -> Literal["m", "ft"]:
    """Feet where the site shows feet or inches."""
    return "ft" if site is not None and site.display.system in ("ft-in", "in") else "m"
