"""How the kernels of this room are compiled.

A kernel calls only functions of its own file: numba compiles a cached kernel again when its own
file changes, not when a file it calls into does.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from numba import njit

Kernel = Callable[..., Any]


def compiled(function: Kernel) -> Kernel:
    """Compile a kernel; kept between runs."""
    return njit(cache=True, nogil=True, error_model="numpy")(function)
