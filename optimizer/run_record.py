"""What belongs to one run and not to the plan: clock, machine, versions, where the site lay.

``run.json`` lies beside ``plan.json``, whose bytes depend on no machine and no path.
"""

from __future__ import annotations

import datetime
import json
import os
import platform
from pathlib import Path

from optimizer.errors import Fault, InputError
from optimizer.written_files import write_whole

RUN_NAME = "run.json"


def write_run_record(folder: Path, seconds: float, site: Path) -> None:
    """Write ``run.json`` into ``folder``; ``site`` as the user gave it."""
    record = {
        "site": str(site),
        "working_folder": str(Path.cwd()),
        "finished": datetime.datetime.now(tz=datetime.UTC).isoformat(timespec="seconds"),
        "seconds": round(seconds, 2),
        "python": platform.python_version(),
        "system": platform.platform(),
        "processors": os.cpu_count(),
    }
    write_whole(folder / RUN_NAME, json.dumps(record, indent=1) + "\n")


def find_recorded_site(plan: Path) -> Path:
    """The site that ``run.json`` beside a plan names: from where it was typed, else from here.

    Raises InputError, which asks for ``--site``, when it names none that is there.
    """
    path = plan.parent / RUN_NAME
    typed, folder = _read_site_words(path)
    if typed is None:
        raise _ask_for_site(plan, f"{path} does not say")
    for place in (Path(typed) if folder is None else Path(folder) / typed, Path(typed)):
        if place.exists():
            return place
    raise _ask_for_site(plan, f"{typed}, which {path} names, is not there")


def _read_site_words(path: Path) -> tuple[str | None, str | None]:
    """The site and the working folder of a run; nothing where the file is missing or says nothing."""
    try:
        values = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, json.JSONDecodeError):
        return None, None
    if not isinstance(values, dict):
        return None, None
    site, folder = values.get("site"), values.get("working_folder")
    return site if isinstance(site, str) else None, folder if isinstance(folder, str) else None


def _ask_for_site(plan: Path, why: str) -> InputError:
    return InputError(
        Fault(str(plan), f"the site it was made from is not known: {why}.", "Name its folder with --site.")
    )
