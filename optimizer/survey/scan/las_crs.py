"""Which unit the coordinate system of a LAS file has, from its GeoTIFF keys or its WKT text.

Key and unit codes: OGC 19-008r4 (GeoTIFF 1.1), section 7; WKT: OGC 12-063r5 and its older form
OGC 01-009.  Only units are read; no coordinate is transformed.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from optimizer.errors import Fault, InputError
from optimizer.survey.scan.file_frame import ScanUnit, ToldFrame, unit_of_factor

_MODEL_TYPE, _PROJECTED_CRS, _PROJECTED_UNIT, _VERTICAL_UNIT = 1024, 3072, 3076, 4099
_GEOGRAPHIC: Final = 2
_UNITS: Final[tuple[tuple[int, ScanUnit], ...]] = ((9001, "m"), (9002, "ft"), (9003, "us-ft"))
#: Codes of UTM zones on WGS 84, ETRS89 and NAD83: metres (EPSG registry, from memory).
_UTM_CODES: Final = (range(32601, 32661), range(32701, 32761), range(25828, 25839), range(26901, 26924))

_UNIT_RE: Final = re.compile(r'(?:LENGTH)?UNIT\["[^"]*",\s*([0-9]+\.?[0-9]*(?:[eE][+-]?[0-9]+)?)')
_GEOGRAPHIC_BLOCKS: Final = ("GEOGCS", "GEOGCRS", "BASEGEOGCRS", "BASEGEODCRS", "CONVERSION", "GEODCRS")
_VERTICAL_BLOCKS: Final = ("VERT_CS", "VERTCS", "VERTCRS", "VERTICALCRS")
_PROJECTED_BLOCKS: Final = ("PROJCS", "PROJCRS", "PROJECTEDCRS")


# The library states no types: a record is anything with user_id and record_id.
def tell_las_frame(path: Path, records: Sequence[Any], scales: NDArray[np.float64]) -> ToldFrame:
    """Unit of the records; up is z, as LAS means by it.

    Raises ``InputError`` when the coordinates are degrees, or plan and heights differ in unit.
    """
    steps = f"The file keeps coordinates in steps of {max(float(step) for step in scales):g} of its unit."
    plan: ScanUnit | None = None
    heights: ScanUnit | None = None
    source = ""
    for record in records:
        if record.user_id.strip("\0 ") != "LASF_Projection":
            continue
        if record.record_id == 2112:
            source = "its WKT coordinate system"
            plan, heights = read_wkt_units(path, str(record.string))
            break
        if record.record_id == 34735:
            source = "its GeoTIFF keys"
            plan, heights = _read_geo_keys(path, record.geo_keys)
    if plan is not None and heights is not None and plan != heights:
        what = f"plan coordinates are in {plan}, heights in {heights}, says {source}."
        raise InputError(Fault(path.name, what, "Convert it to one unit, or mend its coordinate system."))
    unit = plan if plan is not None else heights
    if unit is not None:
        told = f"The unit is {unit}, says {source}."
    elif source:
        told = f"The unit does not follow from {source}."
    else:
        told = "The file has no coordinate system, so it states no unit."
    return ToldFrame(unit, "z", (told, "In LAS files z is the height.", steps))


def _read_geo_keys(path: Path, keys: Sequence[Any]) -> tuple[ScanUnit | None, ScanUnit | None]:
    units = dict(_UNITS)
    plan: ScanUnit | None = None
    heights: ScanUnit | None = None
    for key in keys:
        if key.tiff_tag_location != 0:
            continue  # the value stands elsewhere: none of ours does
        value = key.value_offset
        if key.id == _MODEL_TYPE and value == _GEOGRAPHIC:
            raise _degrees(path)
        if key.id == _PROJECTED_UNIT:
            plan = units.get(value)
        elif key.id == _VERTICAL_UNIT:
            heights = units.get(value)
        elif key.id == _PROJECTED_CRS and plan is None and any(value in zones for zones in _UTM_CODES):
            plan = "m"
    return plan, heights


def read_wkt_units(path: Path, text: str) -> tuple[ScanUnit | None, ScanUnit | None]:
    """Units of plan and heights that a WKT text states; raises ``InputError`` for degrees."""
    projected = _cut_block(text, _PROJECTED_BLOCKS)
    if projected is None and _cut_block(text, ("GEOGCS", "GEOGCRS", "GEODCRS")) is not None:
        raise _degrees(path)
    plan = None
    if projected is not None:
        while (inner := _cut_block(projected, _GEOGRAPHIC_BLOCKS)) is not None:
            projected = projected.replace(inner, "")
        plan = _last_unit(projected)
    vertical = _cut_block(text, _VERTICAL_BLOCKS)
    return plan, None if vertical is None else _last_unit(vertical)


def _last_unit(block: str) -> ScanUnit | None:
    found = _UNIT_RE.findall(block)
    return unit_of_factor(float(found[-1])) if found else None


def _cut_block(text: str, names: tuple[str, ...]) -> str | None:
    """The first ``NAME[...]`` of one of the names, with all its brackets."""
    match = re.search(rf"\b(?:{'|'.join(names)})\[", text)
    if match is None:
        return None
    depth = 0
    for i in range(match.end() - 1, len(text)):
        depth += {"[": 1, "]": -1}.get(text[i], 0)
        if depth == 0:
            return text[match.start() : i + 1]
    return text[match.start() :]


def _degrees(path: Path) -> InputError:
    what = "the coordinates are degrees of longitude and latitude."
    return InputError(Fault(path.name, what, "Export it in a projected grid, such as UTM."))
