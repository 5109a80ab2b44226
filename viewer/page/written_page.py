"""The page and the models beside it as files, each written whole or not at all."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from optimizer.brief.site import Site
from optimizer.plan import Plan
from optimizer.written_files import prepare_folder, write_whole, write_whole_bytes
from viewer.glb import build_glb
from viewer.meshes import draw_scene
from viewer.page.client_page import PageWish, build_page
from viewer.page.pictures import Picture
from viewer.page.thin_ground import thin_ground

PAGE_NAME: Final = "ramp.html"


@dataclass(frozen=True, slots=True)
class WrittenPage:
    """The files, the page first, and sentences on what was left out or made coarser."""

    files: tuple[Path, ...]
    notes: tuple[str, ...]


def write_page(
    plan: Plan, site: Site, wish: PageWish, pictures: tuple[Picture, ...], path: Path
) -> WrittenPage:
    """Write ``path`` and beside it one model in metres a candidate: ``ramp-1.glb`` of ``ramp.html``.

    The models name no site, so they are for looking only; ``evenfall check --as-drawn`` wants the plan's own.
    Raises DrawingError when the plan has no candidate, OutputError when a file cannot be written.
    """
    page = build_page(plan, site, wish, pictures)
    prepare_folder(path.parent)
    write_whole(path, page.text)
    shown = replace(site, ground=thin_ground(site.ground, plan.candidates))
    files = [path]
    for number, candidate in enumerate(plan.candidates, start=1):
        files.append(path.with_name(f"{path.stem}-{number}.glb"))
        write_whole_bytes(files[-1], build_glb(draw_scene(shown, candidate)))
    return WrittenPage(tuple(files), page.notes)
