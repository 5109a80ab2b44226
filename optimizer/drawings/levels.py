"""Levels and slopes in words; every drawing counts its levels from the sill, down is minus."""

from __future__ import annotations

from typing import Final

from optimizer.brief.site import Site
from optimizer.schedule_tables import show_length
from optimizer.units import Slope

_MINUS: Final = "\u2212"


def show_level(site: Site, above_m: float) -> str:
    """A level against the sill with its sign, such as ``−412 mm``."""
    shown = show_length(site, abs(above_m))
    if shown == show_length(site, 0.0):
        return f"±{shown}"
    return f"{'+' if above_m > 0.0 else _MINUS}{shown}"


def show_slope(ratio: float) -> str:
    """``1:12``, without what is said in brackets."""
    return str(Slope.from_ratio(ratio)).split(" ", maxsplit=1)[0]
