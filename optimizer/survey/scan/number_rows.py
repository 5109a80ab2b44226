"""Rows of numbers as text, block by block, for every format that writes its points that way."""

from __future__ import annotations

import io
import warnings
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO, Final

import numpy as np
from numpy.typing import NDArray

from optimizer.errors import FAULTS_SHOWN, Fault, InputError

#: Bytes of text turned into numbers at once.
BLOCK_BYTES: Final = 32_000_000


@dataclass(frozen=True, slots=True)
class Block:
    """Whole lines of a text file; ``first_row`` is the number of the first, from 1."""

    text: bytes
    first_row: int


def read_blocks(handle: BinaryIO, first_row: int) -> Iterator[Block]:
    """The rest of an open file in blocks that end with a line; any of the three line endings."""
    rest = b""
    while piece := handle.read(BLOCK_BYTES):
        if piece.endswith(b"\r"):  # its line feed may come next
            piece += handle.read(1)
        piece = rest + piece.replace(b"\r\n", b"\n").replace(b"\r", b"\n")
        cut = piece.rfind(b"\n") + 1
        rest = piece[cut:]
        if cut:
            yield Block(piece[:cut], first_row)
            first_row += piece.count(b"\n", 0, cut)
    if rest:
        yield Block(rest, first_row)


def parse_block(
    path: Path, block: Block, columns: Sequence[int], delimiter: str | None, remedy: str
) -> NDArray[np.float64]:
    """Three columns of a block as (n, 3) float64; blank lines and what follows ``#`` are passed over.

    ``delimiter`` ``None`` stands for blanks and tabs.  Raises ``InputError`` naming the rows that
    hold no numbers.
    """
    if not block.text.strip():
        return np.empty((0, 3))
    try:
        text = io.StringIO(block.text.decode("utf-8"))
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", UserWarning)  # a block of remarks alone
            rows = np.loadtxt(text, delimiter=delimiter, usecols=tuple(columns), ndmin=2, comments="#")
        return rows.reshape(-1, 3)
    except (ValueError, IndexError) as error:
        faults = find_bad_rows(path, block, lambda row: _judge(row, columns, delimiter), remedy)
        if not faults:
            where = f"{path.name}:{block.first_row}"
            faults = (Fault(where, f"no numbers in this row or one after it ({error}).", remedy),)
        raise InputError(*faults) from error


def find_bad_rows(
    path: Path, block: Block, judge: Callable[[str], str | None], remedy: str
) -> tuple[Fault, ...]:
    """The first faults of a block that is known to hold one; ``judge`` says what is wrong with a row."""
    faults: list[Fault] = []
    for number, raw in enumerate(block.text.split(b"\n"), start=block.first_row):
        what = judge(raw.decode("utf-8", errors="replace").partition("#")[0].strip())
        if what is not None:
            faults.append(Fault(f"{path.name}:{number}", what, remedy))
            if len(faults) == FAULTS_SHOWN:
                break
    return tuple(faults)


def _judge(row: str, columns: Sequence[int], delimiter: str | None) -> str | None:
    if not row:
        return None
    cells = [cell.strip() for cell in row.split(delimiter)]
    if len(cells) <= max(columns):
        return f'"{shorten(row)}" has {len(cells)} values, where {max(columns) + 1} are needed.'
    for column in columns:
        if not is_number(cells[column]):
            return f'"{shorten(cells[column])}" is not a number.'
    return None


def is_number(text: str) -> bool:
    """Whether a cell is a number, ``nan`` and ``inf`` among them."""
    try:
        float(text)
    except ValueError:
        return False
    return "_" not in text


def shorten(text: str) -> str:
    """At most sixty characters of a row, printable, for a message."""
    shown = "".join(letter if letter.isprintable() else "?" for letter in text)
    return shown if len(shown) <= 60 else f"{shown[:57]}..."
