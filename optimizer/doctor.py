"""What this machine can do: versions, pictures, windows, and what would mend what is missing."""

from __future__ import annotations

import os
import platform
import re
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from importlib import metadata

DISTRIBUTION = "evenfall"
#: Debian packages that drawing without a screen needs.
OPENGL_LINE = "apt-get install -y --no-install-recommends libegl1 libgl1"
_NAME_RE = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]*")


@dataclass(frozen=True, slots=True)
class MachineReport:
    """``versions``: Python, then Evenfall and each package it needs ('missing' when not
    installed).  ``drawing_fault``/``window_fault``: why no picture or no window, else ``None``.
    """

    versions: tuple[tuple[str, str], ...]
    drawing_fault: str | None
    window_fault: str | None


def list_versions() -> tuple[tuple[str, str], ...]:
    """Name and installed version of Evenfall and of what it needs to run, by name."""
    try:
        own = metadata.version(DISTRIBUTION)
        needed = metadata.requires(DISTRIBUTION) or []
    except metadata.PackageNotFoundError:
        return ((DISTRIBUTION, "not installed"),)
    names = [
        match.group()
        for line in needed
        if "extra ==" not in line and (match := _NAME_RE.match(line)) is not None
    ]
    return ((DISTRIBUTION, own), *((name, _find_version(name)) for name in sorted(names)))


def _find_version(name: str) -> str:
    try:
        return metadata.version(name)
    except metadata.PackageNotFoundError:
        return "missing"


def build_machine_report(
    drawing_fault: str | None, environment: Mapping[str, str] = os.environ
) -> MachineReport:
    """``drawing_fault``: what a trial picture in a process of its own reported, ``None`` if it was drawn."""
    window_fault = None
    if drawing_fault is not None:
        window_fault = "no picture can be drawn, so no window either."
    elif not (environment.get("DISPLAY") or environment.get("WAYLAND_DISPLAY")):
        window_fault = "no screen: neither DISPLAY nor WAYLAND_DISPLAY is set. Run it on a desktop."
    return MachineReport(
        (("Python", f"{platform.python_version()}, {sys.platform}"), *list_versions()),
        drawing_fault,
        window_fault,
    )


def draw_doctor(drawing_fault: str | None) -> str:
    """Everything ``evenfall doctor`` prints; ``drawing_fault`` as in ``build_machine_report``."""
    return draw_machine_report(build_machine_report(drawing_fault))


def draw_machine_report(report: MachineReport) -> str:
    """The report as text; a fault of the pictures ends with the package line that mends it."""
    width = max(len(name) for name, _ in report.versions)
    lines = [f"{name.ljust(width)}  {version}" for name, version in report.versions]
    missing = [name for name, version in report.versions if version in ("missing", "not installed")]
    if missing:
        lines.append(
            f"Not installed: {', '.join(missing)}. Install from requirements.lock as the README says."
        )
    lines.append("")
    if report.drawing_fault is None:
        lines.append("Pictures: a trial picture was drawn.")
    else:
        lines.append(f"Pictures: none can be drawn here. {report.drawing_fault}")
        if OPENGL_LINE not in report.drawing_fault:
            lines.append(f"On Debian: {OPENGL_LINE}")
    window = "a screen is there." if report.window_fault is None else report.window_fault
    lines.append(f"Window (evenfall view): {window}")
    return "\n".join(lines)
