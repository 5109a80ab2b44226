"""The colours of everything, and why.  No pyvista here, so that it can be tested alone.

Why these colours.  About one man in twelve confuses red with green, so no two things that
touch differ by red against green alone.  Everything that belongs to the ramp lies on the
blue to ochre axis, which red-green deficiency leaves alone, and steps in lightness
as well, so that the picture survives a grey printer: dark slate legs, mid blue
sections, ochre landings, near-white rails.  The yard stays pale and dull (stone, plaster,
sage), so that the ramp is what one sees.  Zones differ by line (unbroken, dashed, dotted),
not by colour only.  A test holds neighbouring colours apart under simulated deficiency.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from viewer.solids import MeshGroup


@dataclass(frozen=True, slots=True)
class Finish:
    """Colour (sRGB, ``#rrggbb``), shine from 0 to 1, and whether edges are inked."""

    colour: str
    shine: float
    has_ink: bool


BACKGROUND_TOP: Final = "#dfe7ea"
BACKGROUND_BOTTOM: Final = "#f7f4ee"
INK: Final = "#2b3138"
PICKED: Final = "#ffd23f"

FINISHES: Final[dict[MeshGroup, Finish]] = {
    "ground": Finish("#c1c7ab", 0.0, has_ink=False),
    "step": Finish("#8f8a80", 0.0, has_ink=True),
    "earth": Finish("#b8a48c", 0.0, has_ink=False),
    "contour": Finish("#939b82", 0.0, has_ink=False),
    "contour_index": Finish("#687059", 0.0, has_ink=False),
    "house": Finish("#ebe0d2", 0.0, has_ink=True),
    "house_cut": Finish("#7b7570", 0.0, has_ink=True),
    "door": Finish("#173f4f", 0.15, has_ink=True),
    "trim": Finish("#ffffff", 0.0, has_ink=True),
    "obstacle": Finish("#a89c94", 0.0, has_ink=True),
    "zone": Finish("#8d3f66", 0.0, has_ink=False),
    "arrival": Finish("#2f6f8f", 0.0, has_ink=False),
    "lot": Finish("#55504a", 0.0, has_ink=False),
    "deck": Finish("#6e9cc0", 0.2, has_ink=True),
    "landing": Finish("#e2b04a", 0.2, has_ink=True),
    "plate": Finish("#2f5f8c", 0.3, has_ink=True),
    "leg": Finish("#333c48", 0.3, has_ink=True),
    "foot": Finish("#191e25", 0.1, has_ink=True),
    "rail": Finish("#fafaf6", 0.3, has_ink=True),
    "pad": Finish("#f3ead8", 0.0, has_ink=True),
    "walking_line": Finish("#1d2733", 0.0, has_ink=False),
    "shadow": Finish("#9aa089", 0.0, has_ink=False),
    "figure": Finish("#5b6068", 0.0, has_ink=False),
}

#: Groups that meet in the picture and must stay apart for every eye.
NEIGHBOURS: Final[tuple[tuple[MeshGroup, MeshGroup], ...]] = (
    ("deck", "landing"),
    ("deck", "plate"),
    ("deck", "ground"),
    ("deck", "rail"),
    ("deck", "leg"),
    ("deck", "house"),
    ("deck", "walking_line"),
    ("landing", "walking_line"),
    ("landing", "ground"),
    ("landing", "house"),
    ("landing", "rail"),
    ("landing", "leg"),
    ("landing", "pad"),
    ("plate", "pad"),
    ("plate", "ground"),
    ("leg", "ground"),
    ("leg", "foot"),
    ("foot", "ground"),
    ("pad", "ground"),
    ("house", "door"),
    ("house", "ground"),
    ("house", "rail"),
    ("obstacle", "ground"),
    ("obstacle", "house"),
    ("obstacle", "landing"),
    ("obstacle", "deck"),
    ("zone", "ground"),
    ("zone", "arrival"),
    ("lot", "ground"),
    ("contour_index", "ground"),
    ("step", "ground"),
    ("figure", "ground"),
)


def parse_colour(colour: str) -> tuple[float, float, float]:
    """SRGB parts from 0 to 1 of ``#rrggbb``."""
    red, green, blue = (int(colour[k : k + 2], 16) / 255.0 for k in (1, 3, 5))
    return red, green, blue


def mix_colours(first: str, second: str, share: float) -> str:
    """``first`` with a share from 0 to 1 of ``second`` mixed in, as ``#rrggbb``."""
    pairs = zip(parse_colour(first), parse_colour(second), strict=True)
    return "#" + "".join(f"{round(255.0 * (a + share * (b - a))):02x}" for a, b in pairs)


def measure_linear(colour: str) -> tuple[float, float, float]:
    """Linear light from 0 to 1 of an sRGB colour (IEC 61966-2-1), which is what glTF asks for."""
    red, green, blue = (_undo_gamma(part) for part in parse_colour(colour))
    return red, green, blue


def _undo_gamma(part: float) -> float:
    return part / 12.92 if part <= 0.04045 else float(((part + 0.055) / 1.055) ** 2.4)
