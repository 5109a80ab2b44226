"""The command that makes the client's page; heavy rooms are imported inside it, as in ``cli``."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from optimizer.cli_words import Pictures
from optimizer.errors import DrawingError, Fault, InputError


class PageLanguage(StrEnum):
    """Languages of ``viewer/page/words.toml``."""

    EN = "en"
    ES = "es"


def page(
    file: Annotated[Path, typer.Argument(help="plan.json")],
    site: Annotated[
        Path | None, typer.Option(help="folder of the plan's site, when it has moved since the plan was made")
    ] = None,
    out: Annotated[
        Path | None, typer.Option(metavar="FILE.html", help="the file; left out: ramp.html beside the plan")
    ] = None,
    language: Annotated[
        list[PageLanguage] | None,
        typer.Option(help="language of the page; may be repeated, the first is shown first; left out: all"),
    ] = None,
    title: Annotated[
        str, typer.Option(help="heading of the page; no name or address goes into it unasked")
    ] = "",
    north: Annotated[
        float | None, typer.Option(help="where north is, degrees clockwise from the survey's y axis")
    ] = None,
    pictures: Annotated[Pictures, typer.Option(help="put pictures into the page, or none")] = Pictures.ALL,
) -> None:
    """One file for the client's telephone: what it looks like, how steep, how long, how much."""
    if out is not None and out.suffix.lower() not in (".html", ".htm"):
        raise InputError(Fault("--out", f"{out} is not named as a page.", "Name a file that ends in .html."))
    if north is not None and not -360.0 <= north <= 360.0:
        raise InputError(Fault("--north", f"{north:g} is no bearing.", "Give degrees from -360 to 360."))
    from optimizer.check_again import read_plan_site
    from optimizer.plan_file import read_plan
    from optimizer.run_record import find_recorded_site
    from optimizer.written_files import prepare_folder
    from viewer.page.client_page import PageWish, refuse_empty
    from viewer.page.pictures import Picture, draw_pictures
    from viewer.page.words import LANGUAGES
    from viewer.page.written_page import PAGE_NAME, write_page

    made = read_plan(file)
    found_site = read_plan_site(made, file, site)
    refuse_empty(made)
    path = file.parent / PAGE_NAME if out is None else out
    # Before the pictures, which take seconds: a place that cannot be written is told at once.
    prepare_folder(path.parent)
    drawn: tuple[Picture, ...] = ()
    if pictures is Pictures.ALL:
        try:
            drawn = draw_pictures(file, find_recorded_site(file) if site is None else site)
        except DrawingError as error:
            typer.echo(f"no pictures in the page: {error}", err=True)
    asked = [one.value for one in language or PageLanguage]
    languages = tuple(sorted((one for one in LANGUAGES if one in asked), key=asked.index))
    wish = PageWish(languages, title.strip(), north)
    written = write_page(made, found_site, wish, drawn, path)
    for note in written.notes:
        typer.echo(note, err=True)
    for one in written.files:
        typer.echo(f"written: {one}", err=True)
