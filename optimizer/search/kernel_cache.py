"""Where compiled kernels are kept between runs: a folder named for their source.

numba notices a change in the file of a cached function, but not in a file that the function
calls into; a kernel compiled against an older neighbour would go on giving older answers.
Every kernel imports ``compiled``, which imports this, before anything is compiled.
"""

from __future__ import annotations

import hashlib
from pathlib import Path

import numba

#: Files whose text decides what the compiled kernels do.
SOURCES = ("*_kernel.py", "kernel_tables.py", "compiled.py")


def name_kernel_folder(room: Path) -> Path:
    """The folder for kernels of exactly this source."""
    digest = hashlib.sha256()
    for path in sorted(file for pattern in SOURCES for file in room.glob(pattern)):
        digest.update(path.name.encode())
        digest.update(path.read_bytes())
    return room / "__pycache__" / f"kernels-{digest.hexdigest()[:16]}"


def keep_kernels_by_source() -> None:
    """Point numba's cache at that folder, unless the user has chosen one or it cannot be made."""
    if numba.config.CACHE_DIR:  # type: ignore[attr-defined]  # numba fills its settings in at run time
        return
    folder = name_kernel_folder(Path(__file__).parent)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError:
        return  # numba then keeps to its own folder, or compiles every time
    numba.config.CACHE_DIR = str(folder)  # type: ignore[attr-defined]  # as above


keep_kernels_by_source()
