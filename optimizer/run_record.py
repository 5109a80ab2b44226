"""What belongs to one run and not to the plan: clock, machine, versions."""

from __future__ import annotations

import datetime
import json
import os
import platform
from pathlib import Path

from optimizer.written_files import write_whole


def write_run_record(path: Path, seconds: float) -> None:
    """Write ``run.json``."""
    record = {
        "finished": datetime.datetime.now(tz=datetime.UTC).isoformat(timespec="seconds"),
        "seconds": round(seconds, 2),
        "python": platform.python_version(),
        "system": platform.platform(),
        "processors": os.cpu_count(),
    }
    write_whole(path, json.dumps(record, indent=1) + "\n")
