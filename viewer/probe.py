"""Can this machine draw?  Asked of a child process, because without OpenGL drawing kills Python."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from typing import Final

#: What a Debian or Ubuntu machine needs for drawing without a screen.
PACKAGE_LINE: Final = "apt-get install -y --no-install-recommends libegl1 libgl1"
PROBE_TIMEOUT_S: Final = 90.0
_DRAWN: Final = "drawn"

_TRIAL: Final = """
import pyvista
plotter = pyvista.Plotter(off_screen=True, window_size=(64, 64), lighting='light kit')
plotter.set_background('white')
plotter.add_mesh(pyvista.Sphere(), color='black')
picture = plotter.screenshot(None, return_img=True)
plotter.close()
if int(picture.max()) - int(picture.min()) < 100:
    raise SystemExit('the trial picture is blank')
print('drawn')
"""


def list_probe_command() -> tuple[str, ...]:
    """The command that draws a 64 x 64 picture and says so."""
    return (sys.executable, "-c", _TRIAL)


def build_drawing_environment() -> dict[str, str]:
    """Environment of a child that draws without a window.

    Without a screen VTK is told to use EGL, else it first looks for an X server and
    complains.  One thread for linear algebra: the arrays are small.
    """
    environment = dict(os.environ)
    environment.setdefault("OPENBLAS_NUM_THREADS", "1")
    if sys.platform.startswith("linux") and not environment.get("DISPLAY"):
        environment.setdefault("VTK_DEFAULT_OPENGL_WINDOW", "vtkEGLRenderWindow")
    return environment


def find_drawing_fault(
    command: tuple[str, ...] | None = None, timeout_s: float = PROBE_TIMEOUT_S
) -> str | None:
    """``None`` when a trial picture was drawn, else a sentence with what went wrong and what mends it.

    ``command``: what to run instead of the trial picture; it must print ``drawn``.
    """
    try:
        ended = subprocess.run(  # noqa: S603 - our own interpreter, or what the caller chose
            command or list_probe_command(),
            capture_output=True,
            text=True,
            check=False,
            timeout=timeout_s,
            env=build_drawing_environment(),
        )
    except subprocess.TimeoutExpired:
        return f"A trial picture was not finished within {timeout_s:g} s. {_mend()}"
    except OSError as error:
        return f"The process for a trial picture cannot be started ({error.strerror or error})."
    if ended.returncode == 0 and _DRAWN in ended.stdout.split():
        return None
    return describe_end(ended.returncode, ended.stderr)


def describe_end(return_code: int, errors: str) -> str:
    """Why a drawing child ended badly, and what mends it.

    A negative ``return_code`` is the number of the signal that killed it: what happens
    when the OpenGL libraries are missing.
    """
    if return_code < 0:
        killer = _name_signal(-return_code)
        return f"Drawing was killed by {killer}: OpenGL is missing or does not work. {_mend()}"
    lines = [line.strip() for line in errors.splitlines() if line.strip()]
    said = lines[-1] if lines else "it said nothing"
    return f"Drawing failed (exit code {return_code}: {said}). {_mend()}"


def _name_signal(number: int) -> str:
    try:
        return signal.Signals(number).name
    except ValueError:
        return f"signal {number}"


def _mend() -> str:
    return f"On Debian or Ubuntu run as root: {PACKAGE_LINE}"
