"""Which reader reads which file: by the ending of its name, checked against how it begins."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Final

from optimizer.errors import Fault, InputError
from optimizer.survey.scan.chunks import ScanChunk, ScanSource
from optimizer.survey.scan.e57 import open_e57
from optimizer.survey.scan.glb import open_glb
from optimizer.survey.scan.las import open_las
from optimizer.survey.scan.obj import open_obj
from optimizer.survey.scan.ply import open_ply
from optimizer.survey.scan.text_points import open_text_points

_READERS: Final[tuple[tuple[tuple[str, ...], bytes, Callable[[Path], ScanSource]], ...]] = (
    ((".las", ".laz"), b"LASF", open_las),
    ((".e57",), b"ASTM-E57", open_e57),
    ((".ply",), b"ply", open_ply),
    ((".glb",), b"glTF", open_glb),
    ((".obj",), b"", open_obj),
    ((".xyz", ".csv", ".txt", ".asc", ".pts"), b"", open_text_points),
)
#: Every ending that is read.
ENDINGS: Final = tuple(ending for endings, _, _ in _READERS for ending in endings)


def open_scan(path: Path) -> ScanSource:
    """Open a scan file.

    Nothing but ``path`` itself is ever read: what a file names (materials, textures, other
    buffers) stays unopened.  Raises ``InputError`` when it cannot be read, when its ending is
    unknown, or when it begins like a file of another kind.
    """
    ending = path.suffix.lower()
    if ending == ".gltf":
        what = "a .gltf file keeps its points in other files, which are not followed."
        raise InputError(Fault(path.name, what, "Export one .glb file."))
    if ending not in ENDINGS:
        what = f'the ending "{path.suffix}" is not known.'
        raise InputError(Fault(path.name, what, f"Give a file of one of {', '.join(ENDINGS)}."))
    try:
        with path.open("rb") as handle:
            head = handle.read(16)
    except OSError as error:
        what = f"the file cannot be read: {error.strerror}."
        raise InputError(Fault(str(path), what, "Check the path.")) from error
    if not head:
        raise InputError(Fault(path.name, "the file is empty.", "Export the scan again."))
    for endings, magic, reader in _READERS:
        if ending in endings:
            _check_beginning(path, head, endings, magic)
            return reader(path)
    raise AssertionError(ending)  # every ending of ENDINGS has its reader


def read_chunks(path: Path) -> Iterator[ScanChunk]:
    """The points of a scan file in its own units and axes, at most a million or so at a time."""
    return open_scan(path).chunks


def _check_beginning(path: Path, head: bytes, endings: tuple[str, ...], magic: bytes) -> None:
    for other_endings, other_magic, _ in _READERS:
        if other_magic and head.startswith(other_magic) and other_endings != endings:
            what = f"the file begins like a {other_endings[0]} file."
            raise InputError(Fault(path.name, what, f"Rename it to end in {' or '.join(other_endings)}."))
    if not head.startswith(magic):
        what = f'a {endings[0]} file begins with "{magic.decode()}", this one with {head[:8]!r}.'
        raise InputError(Fault(path.name, what, "Export it again, or give it the ending of what it is."))
