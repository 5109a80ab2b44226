"""The documents of a plan: each has a name, a file and what builds it.  A new one is a line here."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from optimizer.documents.field_sheet import set_field_sheet
from optimizer.documents.job import DocumentJob
from optimizer.documents.leg_schedule import set_leg_schedule
from optimizer.documents.pick_list import set_pick_list
from optimizer.drawings.build_set import build_set
from optimizer.drawings.dxf_file import build_dxf
from optimizer.drawings.geojson_file import build_geojson
from optimizer.drawings.set_sheets import DrawingSet, set_drawings
from optimizer.errors import Fault, InputError


@dataclass(frozen=True, slots=True)
class Document:
    """``name`` is what is asked for, ``suffix`` how its file ends; ``build`` gives the file's bytes."""

    name: str
    suffix: str
    build: Callable[[DocumentJob], bytes]


def _draw(job: DocumentJob) -> DrawingSet:
    return build_set(job.site, job.plan, job.number, "us" if job.paper == "us-letter" else "iso")


DOCUMENTS: Final = (
    Document("field-sheet", ".pdf", lambda job: set_field_sheet(job, "pdf")[0]),
    Document("leg-schedule", ".pdf", lambda job: set_leg_schedule(job, "pdf")[0]),
    Document("pick-list", ".pdf", lambda job: set_pick_list(job, "pdf")[0]),
    Document("drawings", ".pdf", lambda job: set_drawings(_draw(job), "pdf")[0]),
    Document("cad", ".dxf", lambda job: build_dxf(_draw(job))),
    Document("map", ".geojson", lambda job: build_geojson(job.site, job.start, job.candidate)),
)


def choose_documents(names: tuple[str, ...]) -> tuple[Document, ...]:
    """Those named, in their own order; all where none is named.

    Raises ``InputError`` with every name that is no document.
    """
    known = ", ".join(dict.fromkeys(one.name for one in DOCUMENTS))
    faults = [
        Fault("--only", f'"{name}" is no document.', f"Name one of {known}.")
        for name in names
        if name not in {one.name for one in DOCUMENTS}
    ]
    if faults:
        raise InputError(*faults)
    return tuple(one for one in DOCUMENTS if not names or one.name in names)
