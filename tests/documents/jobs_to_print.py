"""Jobs on paper for the tests: ramps of several shapes, shown in millimetres or in feet and inches."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from functools import cache
from typing import Literal

from pypdf import PdfReader

from optimizer.documents.job import DocumentJob
from tests.assembly.ramps_to_build import build_ramp
from tests.planned_scene import planned

System = Literal["mm", "ft-in"]
SHAPES = ("straight", "quarter turn left", "half turn right", "five runs", "porch edge", "with steps")
SYSTEMS: tuple[System, ...] = ("mm", "ft-in")
_INCH_M = 0.0254


@cache
def build_job(shape: str, system: System) -> DocumentJob:
    ramp = build_ramp(shape)
    step_m = 0.001 if system == "mm" else _INCH_M / 8
    site = replace(ramp.site, display=replace(ramp.site.display, system=system, step_m=step_m))
    return DocumentJob(planned(), site, ramp.candidate, 1, "a4" if system == "mm" else "us-letter")


def read_pages(pdf: bytes) -> list[str]:
    """Text of each page as a second library reads it, with plain blanks."""
    return [
        re.sub(r"\s+", " ", page.extract_text().replace("\u00a0", " "))
        for page in PdfReader(io.BytesIO(pdf)).pages
    ]


def say_height(system: System, value_m: float) -> str:
    """Written again for the tests: whole millimetres, or feet and eighths of an inch, half away from zero."""
    sign = "\u2212" if value_m < 0 else ""
    if system == "mm":
        whole = int(abs(value_m) * 1000 + 0.5)
        return f"{sign if whole else ''}{whole} mm"
    eighths = int(abs(value_m) / _INCH_M * 8 + 0.5)
    sign = sign if eighths else ""
    feet, rest = divmod(eighths, 96)
    inches, part = divmod(rest, 8)
    fraction = {0: "", 1: "1/8", 2: "1/4", 3: "3/8", 4: "1/2", 5: "5/8", 6: "3/4", 7: "7/8"}[part]
    told = f"{inches} {fraction}" if inches and fraction else fraction or str(inches)
    return f"{sign}{feet}' {told}\"" if feet else f'{sign}{told}"'
