"""Write results whole or not at all: a temporary name beside the target, then a rename."""

from __future__ import annotations

import tempfile
from pathlib import Path

from optimizer.errors import OutputError


def prepare_folder(folder: Path) -> None:
    """Make a folder for results and see that it can be written; raises OutputError."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.NamedTemporaryFile(dir=folder):
            pass
    except OSError as error:
        raise OutputError(
            f"{folder}: results cannot be written there ({error.strerror or error}). "
            "Choose another folder with --out or mend its permissions."
        ) from error


def remove_earlier(folder: Path, patterns: tuple[str, ...]) -> None:
    """Remove results of an earlier run by their file names; raises OutputError."""
    for path in sorted(path for pattern in patterns for path in folder.glob(pattern)):
        try:
            path.unlink()
        except OSError as error:
            raise OutputError(
                f"{path}: an earlier result cannot be removed ({error.strerror or error}). "
                "Remove it, or choose another folder with --out."
            ) from error


def write_whole(path: Path, text: str) -> None:
    """Write a text file as UTF-8, as ``write_whole_bytes`` does."""
    write_whole_bytes(path, text.encode("utf-8"))


def write_whole_bytes(path: Path, content: bytes) -> None:
    """Write a file under a temporary name and rename it; raises OutputError."""
    if not path.name or path.is_dir():
        raise OutputError(f"{path}: cannot be written (it is a folder). Choose another place: name a file.")
    temporary = path.with_name(f".{path.name}.part")
    try:
        temporary.write_bytes(content)
        temporary.replace(path)
    except OSError as error:
        temporary.unlink(missing_ok=True)
        raise OutputError(
            f"{path}: cannot be written ({error.strerror or error}). Choose another place or free some space."
        ) from error
