"""The one set of numbers by which a yard is sorted."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal


@dataclass(frozen=True, slots=True)
class Settings:
    """Lengths in metres; slopes are rise over run.

    ``cell_m``: edge of the grid.
    ``layer_m``: how thick a surface looks; a layer needs ``least_share`` of the points of its cell.
    ``pit_m``, ``pit_wide_m``: how deep and how wide what is mirrored below the ground may be.
    ``widest_m``: widest thing taken for an object; wider is a terrace.
    ``base_m``, ``slope``: a cell is an object when it stands more than ``base_m`` plus ``slope`` times the
    width of the opening above the opened surface.
    ``fall``: what of the fall to the opened surface counts, the ``whole`` (a flight of steps falls a little
    at every width) or what falls ``at once`` at one width (hills that are as steep as houses).
    ``reach_m``: a ground point lies within this of the ground, and ``sideways_m`` times its slope more:
    what is misplaced sideways on a slope is misplaced in height.
    ``agree``, ``agree_far``: levels of cells agree within ``agree`` reaches, ``agree_far`` more a cell apart.
    ``grow``: a cell is taken back within this many reaches of its neighbour's plane.
    ``passes``: the second time the ground found first is taken off beforehand.
    """

    cell_m: float
    layer_m: float
    least_share: float
    pit_m: float
    pit_wide_m: float
    widest_m: float
    base_m: float
    slope: float
    fall: Literal["whole", "at once"]
    reach_m: float
    sideways_m: float
    agree: float
    agree_far: float
    grow: float
    passes: int


#: A yard scanned by hand or from a tripod, 500 points a square metre or more.
YARD: Final = Settings(
    cell_m=0.10,
    layer_m=0.06,
    least_share=0.03,
    pit_m=0.06,
    pit_wide_m=0.9,
    widest_m=2.6,
    base_m=0.03,
    slope=0.06,
    fall="whole",
    reach_m=0.045,
    sideways_m=0.02,
    agree=0.66,
    agree_far=0.45,
    grow=0.66,
    passes=2,
)
