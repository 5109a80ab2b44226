"""The whole drawing set of one candidate."""

from __future__ import annotations

from typing import Final

from optimizer.brief.site import Site
from optimizer.drawings.compose_sheets import compose_sheets
from optimizer.drawings.scales import PaperKind, list_papers
from optimizer.drawings.set_sheets import DrawingSet
from optimizer.drawings.tables import list_tables
from optimizer.errors import Fault, InputError
from optimizer.plan import Candidate, Plan
from optimizer.terrain.yard import Start

_CAUTIONS: Final = (
    "Not an approval. Local codes, the authority having jurisdiction and licensed professionals decide.",
    "Levels count from the sill, ±0; down is minus. Shoot every foot again before legs are ordered.",
    "Have buried lines located before anything is dug. The maker's instructions and local rules come first.",
    "Gloves and eye protection; lift in a team; nobody under a section that is not supported.",
    "Figures count; where there is none, measure on site and not on the sheet.",
)


def build_set(site: Site, plan: Plan, number: int, paper: PaperKind) -> DrawingSet:
    """The set of candidate ``number``, from 1, of a plan of this site.

    Raises ``InputError`` for a number or a door that is not there, ``DrawingError`` for a drawing that no
    sheet holds.
    """
    if not 1 <= number <= len(plan.candidates):
        remedy = f"The plan has 1 to {len(plan.candidates)}." if plan.candidates else "It has no layout."
        raise InputError(Fault("--candidate", f"{number} is not a candidate.", remedy))
    candidate = plan.candidates[number - 1]
    start = find_start(site, candidate)
    cautions: tuple[str, ...] = _CAUTIONS
    if site.heights.warning:
        cautions = (*cautions, f"Do not order legs by these heights: {site.heights.warning}.")
    return DrawingSet(
        name=plan.site.name,
        below=f"Candidate {number}: {candidate.name}, from {candidate.start}",
        dated=f"Survey of {plan.site.dated}; rules: {', '.join(one.id for one in plan.rules)}",
        cautions=cautions,
        system=site.display.system,
        sheets=compose_sheets(site, start, candidate, list_papers(paper)),
        tables=list_tables(site, start, candidate),
    )


def find_start(site: Site, candidate: Candidate) -> Start:
    """The door the candidate leaves from; raises ``InputError``."""
    for start in site.yard.starts:
        if start.name == candidate.start:
            return start
    what = f'the plan starts at "{candidate.start}", which this site does not have.'
    raise InputError(Fault("--site", what, "Name the site that the plan was made from."))
