"""The layers of the drawings: our names, pens and dashes; all black, so that a copier loses nothing."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

LayerName = Literal[
    "lot-line",
    "setback",
    "house",
    "door",
    "obstacle",
    "zone",
    "contour",
    "contour-index",
    "surveyed-edge",
    "break-line",
    "level",
    "deck",
    "plate",
    "pad",
    "steps",
    "rail",
    "leg",
    "walking-line",
    "turning-space",
    "bottom-space",
    "ground",
    "support",
    "band",
    "detail",
    "dimension",
    "dimension-site",
    "text-site",
    "text-layout",
    "text-section",
    "text-detail",
]


@dataclass(frozen=True, slots=True)
class Layer:
    """``pen_mm``: width of the line on paper; ``dash_mm``: strokes and gaps in turn, none for a full line."""

    name: LayerName
    pen_mm: float
    dash_mm: tuple[float, ...]
    holds: str


#: In the order they are drawn.
LAYERS: Final[tuple[Layer, ...]] = (
    Layer("contour", 0.13, (), "contour lines"),
    Layer("contour-index", 0.25, (), "stronger contour lines"),
    Layer("surveyed-edge", 0.13, (0.6, 1.2), "edge of the surveyed ground"),
    Layer("break-line", 0.25, (3.0, 0.8, 0.8, 0.8), "step of the ground: wall, kerb"),
    Layer("level", 0.18, (), "spot levels"),
    Layer("lot-line", 0.5, (8.0, 1.5, 1.5, 1.5, 1.5, 1.5), "lot line"),
    Layer("setback", 0.25, (4.0, 1.5), "inner edge of the setback"),
    Layer("house", 0.7, (), "house"),
    Layer("door", 0.5, (), "door and its leaf"),
    Layer("obstacle", 0.25, (), "things in the yard"),
    Layer("zone", 0.18, (2.0, 1.0), "zones with a rule"),
    Layer("pad", 0.25, (2.5, 1.0), "bottom pad"),
    Layer("bottom-space", 0.18, (1.2, 0.8), "level place at the bottom"),
    Layer("deck", 0.5, (), "sections and landings"),
    Layer("plate", 0.35, (), "threshold and transition plates"),
    Layer("steps", 0.35, (), "steps beside the ramp"),
    Layer("rail", 0.25, (), "handrails and guards"),
    Layer("leg", 0.35, (), "legs and low supports"),
    Layer("walking-line", 0.18, (3.0, 1.0, 0.6, 1.0), "middle of the way down"),
    Layer("turning-space", 0.18, (1.2, 0.8), "clear circle where the way turns"),
    Layer("ground", 0.5, (), "ground in the section"),
    Layer("support", 0.35, (), "legs in the section"),
    Layer("band", 0.13, (), "lines of the levels below the section"),
    Layer("detail", 0.35, (), "details"),
    Layer("dimension", 0.18, (), "dimensions"),
    Layer("dimension-site", 0.18, (), "distances from the ramp to the lot lines"),
    Layer("text-site", 0.18, (), "words of the site plan"),
    Layer("text-layout", 0.18, (), "words of the layout plan"),
    Layer("text-section", 0.18, (), "words of the section"),
    Layer("text-detail", 0.18, (), "words of the details"),
)

#: What stands there before the ramp comes.
YARD_LAYERS: Final[frozenset[LayerName]] = frozenset(
    {"lot-line", "setback", "house", "door", "obstacle", "zone", "surveyed-edge", "break-line"}
)
#: Lines that a reader cannot name by what they look like: a key tells them.
KEYED_LAYERS: Final[tuple[LayerName, ...]] = (
    "lot-line",
    "setback",
    "zone",
    "contour",
    "surveyed-edge",
    "break-line",
    "walking-line",
    "turning-space",
    "bottom-space",
    "pad",
    "rail",
)
_BY_NAME: Final = {layer.name: layer for layer in LAYERS}


def find_layer(name: LayerName) -> Layer:
    """The layer of that name."""
    return _BY_NAME[name]
