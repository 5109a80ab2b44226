"""What holds for every test: one thread for linear algebra, repeatable examples, pictures where possible."""

from __future__ import annotations

import functools
import os
import shutil
from collections import Counter

# Before numpy is loaded: with its own threads it is slower on our small matrices, and CI has two cores.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import hypothesis
import pytest

hypothesis.settings.register_profile("evenfall", deadline=None, derandomize=True)
hypothesis.settings.load_profile("evenfall")


@functools.cache
def _drawing_fault() -> str | None:
    """Why no picture can be drawn here; asked in a process of its own, which may die."""
    from viewer.probe import find_drawing_fault

    return find_drawing_fault()


def pytest_runtest_setup(item: pytest.Item) -> None:
    if item.get_closest_marker("needs_gl") is not None:
        fault = _drawing_fault()
        if fault is not None:
            pytest.skip(fault)
    if item.get_closest_marker("needs_browser") is not None and shutil.which("chromium") is None:
        pytest.skip("Chromium is not installed (apt-get install -y --no-install-recommends chromium).")


@pytest.hookimpl(trylast=True)
def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """One line on what was not run, and why."""
    reasons: Counter[str] = Counter()
    for report in terminalreporter.stats.get("skipped", []):
        reason = report.longrepr[2] if isinstance(report.longrepr, tuple) else str(report.longrepr)
        reasons[reason.removeprefix("Skipped: ").splitlines()[0]] += 1
    for reason, count in sorted(reasons.items()):
        terminalreporter.write_line(f"not run here: {count}, because {reason}")
