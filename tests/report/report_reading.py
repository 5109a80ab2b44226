"""The report of the demo plan as text, and figures written by hand to compare it with."""

from __future__ import annotations

import io
import re
from functools import cache

from pypdf import PdfReader

from optimizer.brief.read_site import read_surveyed_site
from optimizer.documents.job import DocumentJob
from optimizer.ground_records import GroundReport
from optimizer.ground_report import build_ground_report
from optimizer.plan import Candidate, Plan
from optimizer.report.build_report import build_plan_report
from optimizer.report.parts import Report, Still, set_report
from tests.planned_scene import NAME, SCENES, planned, planned_site

SITE = SCENES / NAME
NOTHING_DRAWN = "None were asked for."
#: An amount of money with its cents, not part of a longer number.
MONEY = re.compile(r"(?<![\d.,])\d{1,3}(?:,\d{3})*\.\d\d(?![\d.])")


@cache
def surveyed() -> GroundReport:
    return build_ground_report(read_surveyed_site(SITE))


def job_of(number: int = 1, plan: Plan | None = None) -> DocumentJob:
    made = planned() if plan is None else plan
    return DocumentJob(made, planned_site(), made.candidates[number - 1], number, "a4")


def build(job: DocumentJob, stills: tuple[Still, ...] = ()) -> Report:
    return build_plan_report(job, surveyed(), stills, NOTHING_DRAWN, ())


def read_pages(content: bytes) -> list[str]:
    pages = PdfReader(io.BytesIO(content)).pages
    return [" ".join(page.extract_text().replace("\u00a0", " ").split()) for page in pages]


def read(report: Report) -> str:
    return " ".join(read_pages(set_report(report)[0]))


def cut(text: str, start: str, end: str) -> str:
    return text[text.rindex(start) : text.rindex(end)]


def show(cents: int) -> str:
    return f"{cents // 100:,}.{cents % 100:02d}"


def metres_as_mm(value_m: float) -> str:
    return f"{int(value_m * 1000.0 + 0.5)} mm"


def metres_as_feet(value_m: float) -> str:
    """By eighths of an inch, by hand."""
    eighths = int(value_m / 0.0254 * 8.0 + 0.5)
    feet, left = divmod(eighths, 96)
    inches, part = divmod(left, 8)
    shown = {0: "", 1: "1/8", 2: "1/4", 3: "3/8", 4: "1/2", 5: "5/8", 6: "3/4", 7: "7/8"}[part]
    said = " ".join(word for word in (str(inches) if inches or not shown else "", shown) if word)
    return f"{feet}' {said}\"" if feet else f'{said}"'


def change_candidate(plan: Plan, candidate: Candidate) -> Plan:
    return plan.model_copy(update={"candidates": (candidate, *plan.candidates[1:])})
