"""The DXF file as others read it: ezdxf's own audit, and OGR (pyogrio), a second reader.

Sizes are compared to a micrometre: the file holds metres as float64.
"""

from __future__ import annotations

import io
from functools import cache
from pathlib import Path

import ezdxf
import numpy as np
import pyogrio
import pytest
from ezdxf.document import Drawing as DxfDocument

from optimizer.drawings.dxf_file import build_dxf
from optimizer.drawings.layers import LAYERS
from optimizer.terrain.frames import build_door_frame
from tests.drawings.drawn_ramps import RAMPS, UNITS, draw_ramp

TOLERANCE_M = 1e-6
METRES = 6
both = pytest.mark.parametrize("units", UNITS)
every = pytest.mark.parametrize("name", RAMPS)


@cache
def made(name: str, units: str) -> bytes:
    return build_dxf(draw_ramp(name, units).drawings)


@cache
def read(name: str, units: str) -> DxfDocument:
    return ezdxf.read(io.StringIO(made(name, units).decode()))


@every
@both
def test_its_audit_finds_nothing(name: str, units: str) -> None:
    audit = read(name, units).audit()
    assert (audit.errors, audit.fixes) == ([], [])


@every
@both
def test_units_layers_and_layouts_are_set(name: str, units: str) -> None:
    document, drawings = read(name, units), draw_ramp(name, units).drawings
    assert document.header["$INSUNITS"] == METRES
    named = {layer.dxf.name for layer in document.layers}
    assert {one.name for one in LAYERS} <= named
    used = {entity.dxf.layer for entity in document.modelspace()}
    assert used <= {one.name for one in LAYERS}
    assert len(document.layout_names()) == 1 + len(drawings.sheets)
    assert len(document.modelspace().query("DIMENSION")) == sum(
        len(frame.drawing.dimensions) for sheet in drawings.sheets for frame in sheet.frames
    )


@every
@both
def test_every_window_of_a_sheet_has_the_scale_that_stands_on_it(name: str, units: str) -> None:
    document, drawings = read(name, units), draw_ramp(name, units).drawings
    for layout, sheet in zip(document.layout_names_in_taborder()[1:], drawings.sheets, strict=True):
        windows = [one for one in document.layout(layout).query("VIEWPORT") if one.dxf.id != 1]
        assert len(windows) == len(sheet.frames)
        for window, frame in zip(windows, sheet.frames, strict=True):
            ratio = window.dxf.view_height * 1000.0 / window.dxf.height
            assert ratio == pytest.approx(frame.drawing.scale.ratio, rel=1e-9)


def test_nothing_is_drawn_twice() -> None:
    lines = [
        (one.dxf.layer, one.closed, tuple(np.round(np.array(one.get_points("xy")).ravel(), 6)))
        for one in read("quarter turn right", "mm").modelspace().query("LWPOLYLINE")
    ]
    assert len(lines) == len(set(lines))


@every
def test_a_second_reader_finds_the_deck_where_the_plan_has_it(name: str, tmp_path: Path) -> None:
    drawn = draw_ramp(name, "mm")
    path = tmp_path / "drawings.dxf"
    path.write_bytes(made(name, "mm"))
    _, _, geometry, fields = pyogrio.raw.read(path, columns=["Layer"])
    layers = fields[0]
    (start,) = (one for one in drawn.site.yard.starts if one.name == drawn.candidate.start)
    frame = build_door_frame(start)
    pieces = [one for one in drawn.candidate.pieces if one.kind in ("section", "landing")]
    # Of the plans: those of section and details lie below everything.
    walked = np.concatenate([frame.to_door(np.array(one.corners_m)[:, :2]) for one in pieces])
    import shapely

    decks = shapely.from_wkb(geometry[layers == "deck"])
    bounds = shapely.bounds(decks)
    plans = bounds[bounds[:, 1] >= walked[:, 1].min() - TOLERANCE_M]
    assert len(plans) == len(pieces)
    assert np.abs(plans[:, :2].min(axis=0) - walked.min(axis=0)).max() < TOLERANCE_M
    assert np.abs(plans[:, 2:].max(axis=0) - walked.max(axis=0)).max() < TOLERANCE_M
    legs = [one for one in drawn.candidate.legs if one.id]
    assert (layers == "leg").sum() == len(legs)


def test_words_of_drawings_are_words_of_the_file() -> None:
    drawn = draw_ramp("quarter turn right", "mm")
    words = {one.dxf.text for one in read("quarter turn right", "mm").modelspace().query("TEXT")}
    assert {one.id for one in drawn.candidate.legs} <= words


def test_the_file_is_the_same_again() -> None:
    assert build_dxf(draw_ramp("five runs", "mm").drawings) == made("five runs", "mm")
