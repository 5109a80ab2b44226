"""Write the drawing set of a candidate: PDF, DXF and GeoJSON, all of them or none."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from optimizer.brief.site import Site
from optimizer.drawings.build_set import build_set, find_start
from optimizer.drawings.dxf_file import build_dxf
from optimizer.drawings.geojson_file import build_geojson
from optimizer.drawings.scales import PaperKind
from optimizer.drawings.set_sheets import set_drawings
from optimizer.plan import Plan
from optimizer.written_files import prepare_folder, write_whole_bytes

SUFFIXES: Final = (".pdf", ".dxf", ".geojson")


def write_drawings(site: Site, plan: Plan, number: int, paper: PaperKind, folder: Path) -> tuple[Path, ...]:
    """The paths written.  ``number``: candidate of the plan, from 1.

    Everything is made before anything is written.  Raises ``InputError`` for a candidate that is not there,
    ``DrawingError`` for a drawing that fits no sheet, ``OutputError`` for a folder that takes no files.
    """
    drawings = build_set(site, plan, number, paper)
    candidate = plan.candidates[number - 1]
    made = (
        set_drawings(drawings, "pdf")[0],
        build_dxf(drawings),
        build_geojson(site, find_start(site, candidate), candidate),
    )
    prepare_folder(folder)
    paths = tuple(folder / name_file(number, suffix) for suffix in SUFFIXES)
    for path, content in zip(paths, made, strict=True):
        write_whole_bytes(path, content)
    return paths


def name_file(number: int, suffix: str) -> str:
    """Such as ``candidate-1-drawings.pdf``."""
    return f"candidate-{number}-drawings{suffix}"
