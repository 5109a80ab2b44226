"""Straight lines of a PDF page as a second library finds them: its content stream read, matrices applied."""

from __future__ import annotations

import io
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray
from pypdf import PdfReader
from pypdf.generic import ContentStream

Line = tuple[NDArray[np.float64], NDArray[np.float64]]


def read_page_size(pdf: bytes, page: int) -> tuple[float, float]:
    """Width and height in points."""
    box = PdfReader(io.BytesIO(pdf)).pages[page].mediabox
    return float(box.width), float(box.height)


def read_lines(pdf: bytes, page: int) -> Iterator[Line]:
    """Both ends, in points of the page, of every straight piece of path."""
    reader = PdfReader(io.BytesIO(pdf))
    contents = reader.pages[page].get_contents()
    assert contents is not None
    matrix, stack = np.eye(3), []
    here = np.zeros(2)
    for operands, operator in ContentStream(contents, reader).operations:
        if operator == b"q":
            stack.append(matrix)
        elif operator == b"Q":
            matrix = stack.pop()
        elif operator == b"cm":
            a, b, c, d, e, f = (float(one) for one in operands)
            matrix = np.array([[a, b, 0.0], [c, d, 0.0], [e, f, 1.0]]) @ matrix
        elif operator in (b"m", b"l"):
            there = (np.array([*(float(one) for one in operands), 1.0]) @ matrix)[:2]
            if operator == b"l":
                yield here, there
            here = there


def read_lengths(pdf: bytes, page: int) -> NDArray[np.float64]:
    """Lengths in points."""
    return np.array([float(np.hypot(*(end - start))) for start, end in read_lines(pdf, page)])


def read_text(pdf: bytes, page: int) -> str:
    return PdfReader(io.BytesIO(pdf)).pages[page].extract_text()


def list_page_texts(pdf: bytes) -> list[str]:
    return [page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages]


def read_all_text(pdf: bytes) -> str:
    return "\n".join(list_page_texts(pdf))
