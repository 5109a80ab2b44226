"""How much room words take on paper, reckoned on the wide side, since no font is loaded to place them."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

#: Advance widths in parts of the type size, none below those of the sheets' typeface.
_THIN: Final = frozenset("ijlI.,:;'| ")
_NARROW: Final = frozenset("ftr()[]/!-")
_WIDE: Final = frozenset("MWmw@%—→")
_WIDTHS: Final = (0.34, 0.42, 1.0, 0.79, 0.65)
#: Height of a capital in parts of the type size.
CAP_SHARE: Final = 0.729
#: From line to line, in heights of a capital.
LINE_SHARE: Final = 1.7
#: What is kept free around words.
_PAD_MM: Final = 0.5

Box = NDArray[np.float64]  # x low, y low, x high, y high


def measure_words(text: str, height_mm: float) -> tuple[float, float]:
    """Width and height on paper of words, lines parted by line feeds, with capitals ``height_mm`` high."""
    lines = text.split("\n")
    share = max(_share(one) for one in lines)
    return share * height_mm / CAP_SHARE, height_mm * (1.35 + LINE_SHARE * (len(lines) - 1))


def _share(line: str) -> float:
    thin, narrow, wide, capital, other = _WIDTHS
    widths = (
        thin
        if one in _THIN
        else narrow
        if one in _NARROW
        else wide
        if one in _WIDE
        else capital
        if one.isupper() or ord(one) > 0x24F
        else other
        for one in line
    )
    return sum(widths)


def box_words(
    text: str, height_mm: float, centres_mm: NDArray[np.float64], turn_deg: float
) -> NDArray[np.float64]:
    """Boxes (n, 4) along the axes around words centred on ``centres_mm`` (n, 2)."""
    width, height = measure_words(text, height_mm)
    turn = np.radians(turn_deg)
    across = abs(np.cos(turn)) * width + abs(np.sin(turn)) * height
    up = abs(np.sin(turn)) * width + abs(np.cos(turn)) * height
    half = np.array([across, up]) / 2.0 + _PAD_MM
    return np.hstack((centres_mm - half, centres_mm + half))
