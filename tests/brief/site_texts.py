"""A small yard before a door that looks to 30 degrees, as the tables of a site file."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from optimizer.brief.read_site import read_site
from optimizer.brief.site import Site
from optimizer.errors import InputError

TOP = """\
name = "yard"
dated = 2026-01-15
unit = "m"
survey = ["levels.csv"]
catalogue = "demo-inch"
rates = "demo-rates-usd"
"""
START = """
[[start]]
name = "door"
kind = "landing"
midpoint = [10, 5]
outward_deg = 30
threshold = 100.55
clear_width = 0.9
swing = "in"
hinge_side = "left"
"""
HOUSE = """
[house]
outline = [[9.95, 4.9], [2.95, 17.02], [-5, 5], [13.45, -1.16]]
"""
LOT = """
[lot]
outline = [[-20, -20], [40, -20], [40, 40], [-20, 40]]
"""
RULES = """
[rules]
set = "ada-2010"
[facts]
works = "new"
closer = "no"
"""
#: Along the wall, out from it, elevation above 100 m: a yard before a door that looks to 30 degrees.
SPOTS = [
    ("A1", -6, 0, 0.06), ("A2", 0, 0, 0.02), ("A3", 6, 0, -0.05), ("B1", -6, 5, -0.12), ("B2", 1, 5, -0.19),
    ("B3", 6, 5, -0.23), ("C1", -6, 10, -0.30), ("C2", 0, 10, -0.38), ("C3", 6, 10, -0.42),
]  # fmt: skip
FOOT_M = 0.3048


def to_plan(along: float, out: float, origin: tuple[float, float] = (10, 5)) -> tuple[float, float]:
    """Plan coordinates of a position by tape before the door at ``origin`` that looks to 30 degrees."""
    cos, sin = math.cos(math.radians(30)), math.sin(math.radians(30))
    return origin[0] + along * sin + out * cos, origin[1] - along * cos + out * sin


def levels(origin: tuple[float, float] = (10, 5), datum_m: float = 100.0) -> str:
    rows = [
        f"{name},{x!r},{y!r},{datum_m + level:.2f}"
        for name, along, out, level in SPOTS
        for x, y in [to_plan(along, out, origin)]
    ]
    return "\n".join(["name,x_m,y_m,elevation_m", *rows]) + "\n"


TAPE_LEVELS = "name,along_wall_m,out_from_wall_m,elevation_m\n" + "".join(
    f"{name},{along},{out},{100 + level:.2f}\n" for name, along, out, level in SPOTS
)


def read(folder: Path, site: str, spots: str | None = None) -> Site:
    (folder / "site.toml").write_text(site, encoding="utf-8")
    (folder / "levels.csv").write_text(levels() if spots is None else spots, encoding="utf-8")
    return read_site(folder)


def refusal(folder: Path, site: str, spots: str | None = None) -> str:
    with pytest.raises(InputError) as caught:
        read(folder, site, spots)
    return str(caught.value).replace(f"{folder}/", "")
