"""What a report is made of, as data: sentences, tables that run over pages, pictures."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Final, Literal

from optimizer.documents.job import Paper
from optimizer.sheets.typeset import set_template

_TEMPLATE: Final = Path(__file__).with_name("report.typ")


@dataclass(frozen=True, slots=True)
class Chapter:
    """A heading of the first order."""

    heading: str
    kind: Literal["chapter"] = "chapter"


@dataclass(frozen=True, slots=True)
class Words:
    """Sentences under a heading (empty for none); ``mark``: plain, each behind a dash, framed, or to type."""

    heading: str
    lines: tuple[str, ...]
    mark: Literal["plain", "dash", "frame", "typed"] = "plain"
    kind: Literal["words"] = "words"


@dataclass(frozen=True, slots=True)
class Rows:
    """A table whose head stands again on every page.

    ``widths``: shares of the page's width; ``right``: columns set to the right; ``strong``: rows in bold;
    ``typed``: columns in letters of one width.
    """

    heading: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    widths: tuple[int, ...]
    right: tuple[int, ...] = ()
    strong: tuple[int, ...] = ()
    typed: tuple[int, ...] = ()
    kind: Literal["rows"] = "rows"


@dataclass(frozen=True, slots=True)
class Still:
    """A picture with the words below it; ``png``: the file's bytes."""

    caption: str
    png: bytes


@dataclass(frozen=True, slots=True)
class Stills:
    """Pictures, each as wide as the page."""

    stills: tuple[Still, ...]
    kind: Literal["stills"] = "stills"


Part = Chapter | Words | Rows | Stills


@dataclass(frozen=True, slots=True)
class Report:
    """A whole report.  ``warning``: framed below the title, empty for none; ``foot``: on every page."""

    title: str
    below: str
    warning: str
    parts: tuple[Part, ...]
    foot: str
    paper: Paper


def set_report(report: Report, form: Literal["pdf", "png"] = "pdf") -> tuple[bytes, ...]:
    """One PDF, or one PNG a page; raises ``DrawingError`` when the fonts are missing."""
    return set_template(_TEMPLATE, json.dumps(asdict(report), ensure_ascii=False, default=list), form)
