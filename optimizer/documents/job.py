"""What every document is made from: one candidate of a plan on its site, and the paper it goes on."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from optimizer.brief.site import Site
from optimizer.check_again import read_plan_site, say_candidates
from optimizer.errors import Fault, InputError
from optimizer.plan import Candidate, Plan
from optimizer.plan_file import read_plan
from optimizer.sheets.lengths import SheetLengths, choose_lengths
from optimizer.terrain.yard import Start
from optimizer.visit.shots import find_start

Paper = Literal["a4", "us-letter"]


@dataclass(frozen=True, slots=True)
class SpareLegs:
    """``count`` of one leg type to load beyond the plan."""

    type_id: str
    count: int


@dataclass(frozen=True, slots=True)
class DocumentJob:
    """``number`` counts candidates from 1; ``spares`` is ``None`` where none were asked for."""

    plan: Plan
    site: Site
    candidate: Candidate
    number: int
    paper: Paper
    spares: tuple[SpareLegs, ...] | None = None

    @property
    def start(self) -> Start:
        """The door that the candidate leaves from."""
        return find_start(self.site, self.candidate)

    @property
    def lengths(self) -> SheetLengths:
        """The site's units, in steps that are read on site."""
        return choose_lengths(self.site.display.system)


def read_job(plan_path: Path, site_path: Path | None, number: int, paper: Paper) -> DocumentJob:
    """Read a plan with its site and take one candidate, counted from 1.

    Raises ``InputError``: a file at fault, another site, no such candidate.
    """
    made = read_plan(plan_path)
    site = read_plan_site(made, plan_path, site_path)
    if not 1 <= number <= len(made.candidates):
        remedy = say_candidates(len(made.candidates))
        raise InputError(Fault("--candidate", f"{number} is not a candidate.", remedy))
    return DocumentJob(made, site, made.candidates[number - 1], number, paper)
