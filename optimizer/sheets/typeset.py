"""Set pages with typst: the same bytes for the same template and the same text."""

from __future__ import annotations

import importlib.util
from pathlib import Path
from typing import Final, Literal

from optimizer.errors import DrawingError

#: Dots an inch of a page that is looked at.
_PPI: Final = 80.0


def set_template(template: Path, sheet_json: str, form: Literal["pdf", "png"]) -> tuple[bytes, ...]:
    """One PDF, or one PNG a page.

    ``sheet_json``: what the template reads as ``sys.inputs.sheet``; its texts are text on the page,
    whatever they hold.  Raises ``DrawingError`` when the fonts are missing.
    """
    import typst

    # A list of pages for more than one picture, which its types do not say.
    made: bytes | list[bytes] = typst.compile(
        str(template),
        format=form,
        ppi=_PPI,
        font_paths=[str(find_fonts())],
        ignore_system_fonts=True,
        sys_inputs={"sheet": sheet_json},
    )
    return (made,) if isinstance(made, bytes) else tuple(made)


def find_fonts() -> Path:
    """Fonts that come with the pictures' own needs, so that every machine sets the same page."""
    found = importlib.util.find_spec("matplotlib")
    if found is None or not found.submodule_search_locations:
        raise DrawingError(
            "matplotlib, whose fonts the sheets use, is not installed. Install from requirements.lock."
        )
    return Path(found.submodule_search_locations[0]) / "mpl-data" / "fonts" / "ttf"


def keep_together(words: str) -> str:
    """A number is not parted from its unit at the end of a line."""
    return words.replace(" ", "\u00a0")
