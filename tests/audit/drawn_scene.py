"""A demo scene's layout typed by hand, checked and exported once: no search is needed for it."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np

from optimizer.brief.site import Site
from optimizer.check_again import check_layout_file
from optimizer.plan import Candidate, Plan
from tests.audit.glb_edit import GlbEdit
from tests.viewer import sample
from viewer.glb import DrawnFrom, build_glb
from viewer.meshes import draw_scene

LAYOUT = Path(__file__).parents[2] / "scenes" / "fall-to-street" / "layout.toml"


@cache
def drawn() -> tuple[Site, Candidate]:
    checked = check_layout_file(LAYOUT)
    return checked.site, checked.candidates[0]


@cache
def drawn_plan() -> Plan:
    """A plan with this one candidate; what else a plan says is taken from another."""
    site, candidate = drawn()
    base = sample.build_plan(sample.build_site())
    record = base.site.model_copy(update={"name": site.name})
    return base.model_copy(update={"site": record, "candidates": (candidate,)})


@cache
def drawn_bytes() -> bytes:
    site, candidate = drawn()
    return build_glb(draw_scene(site, candidate), DrawnFrom(site.name, candidate.name, site.yard.lot_m))


def edit() -> GlbEdit:
    """The export, to be damaged."""
    return GlbEdit(drawn_bytes())


def corner_of(name: str, corner: int) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """A corner (3,) of a piece, as the plan has it."""
    (piece,) = [piece for piece in drawn()[1].pieces if piece.id == name]
    return np.array(piece.corners_m[corner])
