"""A page for the client or the crew as data: headings, sentences, boxes to tick, tables."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Final, Literal

from optimizer.documents.job import Paper
from optimizer.sheets.typeset import set_template

_TEMPLATE: Final = Path(__file__).with_name("page.typ")


@dataclass(frozen=True, slots=True)
class Words:
    """Sentences under a heading; ``mark``: each on a line of its own, with a box to tick, or in a frame."""

    heading: str
    lines: tuple[str, ...]
    mark: Literal["none", "box", "frame"] = "none"
    kind: Literal["words"] = "words"


@dataclass(frozen=True, slots=True)
class Rows:
    """A table: ``widths`` are shares of the page's width, ``right`` the columns set to the right."""

    heading: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    widths: tuple[int, ...]
    right: tuple[int, ...] = ()
    strong: tuple[int, ...] = ()
    kind: Literal["rows"] = "rows"


@dataclass(frozen=True, slots=True)
class Lines:
    """Lines to write on, with what goes there before each; ``across`` of them side by side."""

    heading: str
    labels: tuple[str, ...]
    across: int
    kind: Literal["lines"] = "lines"


@dataclass(frozen=True, slots=True)
class Page:
    """One document.  ``picture``: PNG, empty for none.  ``foot``: stands on every page."""

    title: str
    below: str
    parts: tuple[Words | Rows | Lines, ...]
    foot: str
    paper: Paper
    picture: bytes = b""


def set_page(page: Page, form: Literal["pdf", "png"] = "pdf") -> tuple[bytes, ...]:
    """One PDF, or one PNG a page; raises ``DrawingError`` when the fonts are missing."""
    described = {**asdict(page), "picture": list(page.picture)}
    return set_template(_TEMPLATE, json.dumps(described, ensure_ascii=False), form)
