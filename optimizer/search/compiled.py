"""How the kernels are compiled: one place for the settings and the reasons."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from numba import njit

from optimizer.search import kernel_cache  # noqa: F401 - must run before anything is compiled

Kernel = Callable[..., Any]

# The kernels neither allocate nor keep arrays: the caller holds them all.  Without reference counts a
# small function that takes the tables costs nanoseconds instead of a hundred times as much, because
# numba otherwise counts every array of every table at every call.  numba has no public name for this.
_SETTINGS = {"cache": True, "nogil": True, "error_model": "numpy", "_nrt": False}


def compiled(function: Kernel) -> Kernel:
    """Compile a kernel."""
    return njit(**_SETTINGS)(function)  # type: ignore[no-any-return,call-overload]  # numba's stubs lack _nrt


def inlined(function: Kernel) -> Kernel:
    """Compile a small function into whoever calls it."""
    return njit(**_SETTINGS, forceinline=True)(function)  # type: ignore[no-any-return,call-overload]  # as above
