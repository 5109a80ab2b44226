"""The command that writes what people receive; heavy rooms are imported inside it, as in ``cli``."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated, Literal

import typer

from optimizer.errors import Fault, InputError


class PaperName(StrEnum):
    """Papers as they are asked for."""

    A4 = "A4"
    LETTER = "letter"


def documents(
    file: Annotated[Path, typer.Argument(help="plan.json")],
    candidate: Annotated[int, typer.Option(help="candidate of the plan, counted from 1")] = 1,
    out: Annotated[Path, typer.Option(help="folder for the documents")] = Path("out"),
    paper: Annotated[
        PaperName, typer.Option(help="paper of the sheets", case_sensitive=False)
    ] = PaperName.A4,
    only: Annotated[
        list[str] | None,
        typer.Option(help="one document, such as field-sheet; may be repeated; left out: all"),
    ] = None,
    spares: Annotated[
        float | None,
        typer.Option(help="load spare legs so that every leg can be set on this share of days, such as 0.95"),
    ] = None,
    site: Annotated[
        Path | None, typer.Option(help="folder of the plan's site, when it has moved since the plan was made")
    ] = None,
) -> None:
    """What people receive: field sheet, leg schedule, pick list, drawings, DXF and GeoJSON."""
    if spares is not None and not 0.0 < spares < 1.0:
        remedy = "Give more than 0 and less than 1, as 0.95."
        raise InputError(Fault("--spares", f"{spares:g} is no chance.", remedy))
    from optimizer.documents.write_documents import DocumentOrder, write_documents

    sheet: Literal["a4", "us-letter"] = "a4" if paper is PaperName.A4 else "us-letter"
    order = DocumentOrder(file, site, candidate, sheet, tuple(only or ()), spares)
    for path in write_documents(order, out):
        typer.echo(f"written: {path}", err=True)
