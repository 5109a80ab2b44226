"""The header of a PLY file: elements, their properties, and how they are written.

Format: G. Turk, 'The PLY Polygon File Format' (1994), as widely copied.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Final, Literal

from optimizer.errors import Fault, InputError

PlyFormat = Literal["ascii", "binary_little_endian", "binary_big_endian"]

_TYPES: Final = (
    ("char", "i1"), ("int8", "i1"), ("uchar", "u1"), ("uint8", "u1"),
    ("short", "i2"), ("int16", "i2"), ("ushort", "u2"), ("uint16", "u2"),
    ("int", "i4"), ("int32", "i4"), ("uint", "u4"), ("uint32", "u4"),
    ("float", "f4"), ("float32", "f4"), ("double", "f8"), ("float64", "f8"),
)  # fmt: skip
_FORMATS: Final[tuple[PlyFormat, ...]] = ("ascii", "binary_little_endian", "binary_big_endian")
_MOST_HEADER_BYTES: Final = 1_000_000
_REMEDY: Final = "Export it again."


@dataclass(frozen=True, slots=True)
class PlyProperty:
    """``type`` and ``count_type`` are numpy codes without byte order; a list has a ``count_type``."""

    name: str
    type: str
    count_type: str | None


@dataclass(frozen=True, slots=True)
class PlyElement:
    """So many rows of the same properties."""

    name: str
    count: int
    properties: tuple[PlyProperty, ...]

    @property
    def has_lists(self) -> bool:
        """Whether rows may differ in length."""
        return any(one.count_type is not None for one in self.properties)


@dataclass(frozen=True, slots=True)
class PlyHeader:
    """``data_at`` is the byte where the rows begin, ``rows`` the number of header lines."""

    format: PlyFormat
    elements: tuple[PlyElement, ...]
    data_at: int
    rows: int

    @property
    def byte_order(self) -> str:
        """As numpy writes it."""
        return ">" if self.format == "binary_big_endian" else "<"


def read_ply_header(path: Path) -> PlyHeader:
    """Read the header; raises ``InputError`` with the line of the fault."""
    with path.open("rb") as handle:
        lines: list[str] = []
        data_at = 0
        while data_at == 0:
            raw = handle.readline(_MOST_HEADER_BYTES)
            if not raw or handle.tell() > _MOST_HEADER_BYTES:
                raise InputError(Fault(path.name, 'the header has no line "end_header".', _REMEDY))
            lines.append(raw.decode("ascii", errors="replace").strip())
            if lines[-1] == "end_header":
                data_at = handle.tell()
    return _parse_lines(path, lines, data_at)


def _parse_lines(path: Path, lines: list[str], data_at: int) -> PlyHeader:
    ply_format: PlyFormat | None = None
    names: list[str] = []
    counts: list[int] = []
    properties: list[list[PlyProperty]] = []
    for number, line in enumerate(lines[1:-1], start=2):
        where = f"{path.name}:{number}"
        words = line.split()
        if not words or words[0] in ("comment", "obj_info"):
            continue
        if words[0] == "format" and len(words) == 3:
            ply_format = next((known for known in _FORMATS if known == words[1]), None)
        elif words[0] == "element" and len(words) == 3 and words[2].isdecimal():
            names.append(words[1])
            counts.append(int(words[2]))
            properties.append([])
        elif words[0] == "property" and properties and (one := _parse_property(words)) is not None:
            properties[-1].append(one)
        else:
            raise InputError(Fault(where, f'"{line[:60]}" is no line of a PLY header.', _REMEDY))
    if ply_format is None:
        what = f"the header names none of the formats {', '.join(_FORMATS)}."
        raise InputError(Fault(path.name, what, _REMEDY))
    elements = tuple(
        PlyElement(name, count, tuple(own))
        for name, count, own in zip(names, counts, properties, strict=True)
    )
    _check_elements(path, elements)
    return PlyHeader(ply_format, elements, data_at, len(lines))


def _parse_property(words: list[str]) -> PlyProperty | None:
    types = dict(_TYPES)
    if len(words) == 3 and words[1] in types:
        return PlyProperty(words[2], types[words[1]], None)
    if len(words) == 5 and words[1] == "list" and words[2] in types and words[3] in types:
        count_type = types[words[2]]
        return None if count_type.startswith("f") else PlyProperty(words[4], types[words[3]], count_type)
    return None


def _check_elements(path: Path, elements: tuple[PlyElement, ...]) -> None:
    vertex = next((one for one in elements if one.name == "vertex"), None)
    if vertex is None:
        raise InputError(
            Fault(path.name, 'the header has no element "vertex".', "Export it with its points.")
        )
    for element in elements:
        names = [one.name for one in element.properties]
        if len(set(names)) < len(names):
            what = f'the element "{element.name}" has a property twice.'
            raise InputError(Fault(path.name, what, _REMEDY))
    scalars = {one.name for one in vertex.properties if one.count_type is None}
    missing = [axis for axis in "xyz" if axis not in scalars]
    if missing:
        what = f"its vertices have no {' and no '.join(missing)}."
        raise InputError(Fault(path.name, what, "Export it with x, y and z."))
    if vertex.count == 0:
        raise InputError(Fault(path.name, "the header promises no vertex.", "Export it with its points."))
