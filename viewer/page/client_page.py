"""The client's page put together: one file that opens anywhere and asks nobody for anything."""

from __future__ import annotations

import base64
import hashlib
from dataclasses import dataclass, replace
from html import escape
from pathlib import Path
from typing import Final

import numpy as np

from optimizer.brief.site import Site
from optimizer.errors import DrawingError, InternalError
from optimizer.plan import Plan
from viewer.cameras import choose_light
from viewer.meshes import draw_scene
from viewer.page.eyes import build_subject
from viewer.page.key_figures import list_key_figures
from viewer.page.markup import Sheet, draw_body, draw_language_style
from viewer.page.pictures import PAGE_VIEWS, PLANNING, Picture
from viewer.page.scene_facts import format_facts
from viewer.page.shapes import pack_shapes
from viewer.page.thin_ground import thin_ground
from viewer.page.words import Language, read_words
from viewer.shadows import draw_shadows
from viewer.solids import NamedMesh

#: What a mail program or a telephone still takes without asking.
MOST_BYTES: Final = 4_000_000
SCRIPT: Final = Path(__file__).with_name("built") / "page.js"
STYLE: Final = Path(__file__).with_name("page.css")


@dataclass(frozen=True, slots=True)
class PageWish:
    """What the page is to say beside the plan.

    ``languages``: the first one is shown first.  ``title``: empty for 'Your ramp'; no other name goes into
    the page.  ``north_deg``: where north is, clockwise from the survey's y; ``None`` draws no arrow.
    """

    languages: tuple[Language, ...]
    title: str = ""
    north_deg: float | None = None


@dataclass(frozen=True, slots=True)
class ClientPage:
    """The file's text, and sentences on what was left out of it or made coarser."""

    text: str
    notes: tuple[str, ...]


def build_page(plan: Plan, site: Site, wish: PageWish, pictures: tuple[Picture, ...]) -> ClientPage:
    """The page of every candidate.  The same plan, site, wish and pictures give the same text.

    Raises DrawingError when the plan has no candidate.
    """
    refuse_empty(plan)
    shown = replace(site, ground=thin_ground(site.ground, plan.candidates))
    notes = []
    is_coarse = shown.ground is not site.ground
    if is_coarse:
        before, after = len(site.ground.triangles_xy), len(shown.ground.triangles_xy)
        notes.append(f"the ground has {before:,} triangles; {after:,} are drawn, coarser away from the ramp")
    words = tuple(read_words(language) for language in wish.languages)
    figures = list_key_figures(plan, shown)
    scenes = tuple(_draw_for_client(shown, number, plan) for number in range(len(plan.candidates)))
    shapes = pack_shapes(scenes)
    ways = tuple(
        (shown, candidate, scene, one)
        for candidate, scene, one in zip(plan.candidates, scenes, figures, strict=True)
    )
    facts = format_facts(words, shapes, ways, wish.north_deg)
    packed = base64.b64encode(shapes.content).decode("ascii")
    # Pictures may be left out when the file grows too large: the model and the figures may not.
    kept = pictures
    for left_out in ((), ("door",), ("door", "street"), PAGE_VIEWS):
        kept = tuple(one for one in pictures if one.view not in left_out)
        sheet = Sheet(plan, shown, words, wish.title, figures, kept, wish.north_deg is not None, is_coarse)
        text = _put_together(sheet, facts, packed)
        if len(text.encode("utf-8")) <= MOST_BYTES:
            break
    else:
        raise DrawingError(
            f"The page would be larger than {MOST_BYTES:,} bytes. Make a plan with fewer candidates."
        )
    if len(kept) < len(pictures):
        notes.append(f"pictures left out to keep the file small: {len(pictures) - len(kept)}")
    return ClientPage(text, tuple(notes))


def refuse_empty(plan: Plan) -> None:
    """Raises DrawingError when the plan has no candidate."""
    if not plan.candidates:
        raise DrawingError(
            "The plan has no candidate, so there is nothing to show a client. "
            "Change what the plan names as standing in the way, and make it again."
        )


def _draw_for_client(site: Site, number: int, plan: Plan) -> tuple[NamedMesh, ...]:
    """One candidate's scene without the planner's own marks, with the ramp's shadow."""
    candidate = plan.candidates[number]
    drawn = draw_scene(site, candidate)
    meshes = tuple(_drop_underside(mesh) for mesh in drawn if mesh.group not in PLANNING)
    shadow = draw_shadows(site, candidate, choose_light(build_subject(site, candidate, meshes)).key)
    return (*meshes, shadow) if len(shadow.faces) else meshes


def _drop_underside(mesh: NamedMesh) -> NamedMesh:
    """The block of ground without its lower face, which nobody sees and which is as large as the upper."""
    if mesh.group != "earth":
        return mesh
    corners = mesh.vertices[mesh.faces]
    is_low = (corners[:, :, 2] == mesh.vertices[:, 2].min()).all(axis=1)
    return replace(
        mesh,
        faces=np.arange(3 * int((~is_low).sum())).reshape(-1, 3),
        vertices=corners[~is_low].reshape(-1, 3),
    )


def _put_together(sheet: Sheet, facts: str, shapes: str) -> str:
    script = SCRIPT.read_text(encoding="ascii")
    if "</script" in script.lower():
        raise InternalError(f"{SCRIPT.name} would close its own element; build it again")
    style = STYLE.read_text(encoding="utf-8") + draw_language_style(sheet.words)
    title = escape(sheet.title or sheet.words[0].say("title"))
    # The browser runs this one script and fetches nothing, whatever a name in the plan may hold.
    digest = base64.b64encode(hashlib.sha256(script.encode("ascii")).digest()).decode("ascii")
    policy = f"default-src 'none'; img-src data:; style-src 'unsafe-inline'; script-src 'sha256-{digest}'"
    return (
        f'<!DOCTYPE html>\n<html lang="{sheet.words[0].language}">\n<head>\n<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{policy}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        '<meta name="robots" content="noindex">\n<link rel="icon" href="data:,">\n'
        f"<title>{title}</title>\n<style>\n{style}\n</style>\n</head>\n<body>\n{draw_body(sheet)}\n"
        f'<script type="application/json" id="facts">{facts}</script>\n'
        f'<script type="text/plain" id="shapes">{shapes}</script>\n'
        f"<script>{script}</script>\n</body>\n</html>\n"
    )
