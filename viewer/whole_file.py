"""Write binary results whole or not at all."""

from __future__ import annotations

from pathlib import Path

from optimizer.errors import OutputError


def write_whole_bytes(path: Path, content: bytes) -> None:
    """Write under a temporary name beside ``path``, then rename; raises OutputError."""
    temporary = path.with_name(f".{path.name}.part")
    try:
        temporary.write_bytes(content)
        temporary.replace(path)
    except OSError as error:
        temporary.unlink(missing_ok=True)
        raise OutputError(
            f"{path}: cannot be written ({error.strerror or error}). "
            "Choose another folder with --out or free some space."
        ) from error
