"""What client and crew get beside the drawings; heavy rooms are imported inside, as in ``cli``."""

from __future__ import annotations

import datetime
from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from optimizer.errors import Fault, InputError


class OfferPaper(StrEnum):
    """Paper of the pages."""

    A4 = "a4"
    LETTER = "us-letter"


def offer(
    file: Annotated[Path, typer.Argument(help="plan.json")],
    candidate: Annotated[int, typer.Option(help="candidate of the plan, counted from 1")] = 1,
    dated: Annotated[str, typer.Option(help="date of the quotation, as 2026-03-14; today if left out")] = "",
    valid_days: Annotated[int, typer.Option(help="how many days the quotation holds")] = 30,
    paper: Annotated[OfferPaper, typer.Option(help="paper of the pages")] = OfferPaper.A4,
    site: Annotated[
        Path | None, typer.Option(help="folder of the plan's site, when it has moved since the plan was made")
    ] = None,
    out: Annotated[Path, typer.Option(help="folder for the three PDF files")] = Path("out"),
) -> None:
    """Quotation to sign, handover and care card, removal sheet: one PDF each."""
    first = _read_date(dated)
    if valid_days < 1:
        raise InputError(Fault("--valid-days", f"{valid_days} is no time to answer in.", "Give 1 or more."))
    from optimizer.documents.job import read_job
    from optimizer.offer.handover_card import build_handover_card
    from optimizer.offer.page import set_page
    from optimizer.offer.quotation import OfferTerms, build_quotation
    from optimizer.offer.removal_sheet import build_removal_sheet
    from optimizer.written_files import prepare_folder, write_whole_bytes

    job = read_job(file, site, candidate, paper.value)
    terms = OfferTerms(first.isoformat(), (first + datetime.timedelta(days=valid_days)).isoformat())
    picture = file.parent / f"candidate-{candidate}-overview.png"
    pages = {
        "quotation.pdf": build_quotation(job, terms, picture.read_bytes() if picture.is_file() else b""),
        "handover-card.pdf": build_handover_card(job),
        "removal-sheet.pdf": build_removal_sheet(job),
    }
    made = {name: set_page(page)[0] for name, page in pages.items()}
    prepare_folder(out)
    for name, content in made.items():
        write_whole_bytes(out / name, content)
        typer.echo(f"written: {out / name}", err=True)


def _read_date(text: str) -> datetime.date:
    if not text:
        return datetime.datetime.now(tz=datetime.UTC).date()
    try:
        return datetime.date.fromisoformat(text)
    except ValueError as error:
        what = f'"{text}" is no date.'
        raise InputError(Fault("--dated", what, "Write it as 2026-03-14.")) from error
