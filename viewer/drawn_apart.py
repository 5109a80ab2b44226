"""Draw in a process of its own: without OpenGL the first drawing kills Python."""

from __future__ import annotations

import subprocess
import sys
from typing import Final

from optimizer.errors import DrawingError
from viewer.probe import build_drawing_environment, describe_end

#: Exit code of a child that has said in a sentence what is wrong.
REPORTED: Final = 7


def draw_apart(module: str, arguments: tuple[str, ...], timeout_s: float, what: str) -> str:
    """Run ``python -m module`` on the arguments and give what it printed.

    ``what`` names the pictures in a message.  Raises DrawingError, which says what would mend it.
    """
    try:
        ended = subprocess.run(  # noqa: S603 - our own interpreter and module
            (sys.executable, "-m", module, *arguments),
            capture_output=True,
            text=True,
            check=False,
            timeout=timeout_s,
            env=build_drawing_environment(),
        )
    except subprocess.TimeoutExpired as error:
        raise DrawingError(f"{what} not finished within {timeout_s:g} s.") from error
    if ended.returncode == REPORTED:
        raise DrawingError(ended.stderr.strip())
    if ended.returncode != 0:
        raise DrawingError(describe_end(ended.returncode, ended.stderr))
    return ended.stdout
