from __future__ import annotations

import pytest

from optimizer.doctor import (
    OPENGL_LINE,
    MachineReport,
    build_machine_report,
    draw_machine_report,
    list_versions,
)


def test_every_package_needed_to_run_has_a_version() -> None:
    versions = dict(list_versions())
    assert {"evenfall", "numpy", "ortools", "pyvista"} <= versions.keys()
    assert "missing" not in versions.values()
    assert "pytest" not in versions


def test_a_machine_that_draws_and_has_a_screen_has_no_fault() -> None:
    report = build_machine_report(None, {"DISPLAY": ":0"})
    assert (report.drawing_fault, report.window_fault) == (None, None)
    text = draw_machine_report(report)
    assert "a trial picture was drawn" in text
    assert OPENGL_LINE not in text


def test_missing_opengl_names_the_packages_that_mend_it_once() -> None:
    text = draw_machine_report(build_machine_report("the trial ended with signal 11.", {}))
    assert "signal 11" in text
    assert text.count(OPENGL_LINE) == 1
    told = draw_machine_report(build_machine_report(f"Install it: {OPENGL_LINE}", {}))
    assert told.count(OPENGL_LINE) == 1


@pytest.mark.parametrize("environment", [{}, {"DISPLAY": ""}])
def test_a_machine_without_a_screen_is_told_so(environment: dict[str, str]) -> None:
    assert "no screen" in draw_machine_report(build_machine_report(None, environment))


def test_a_missing_package_is_named_with_its_remedy() -> None:
    report = MachineReport((("numpy", "2.4.6"), ("trimesh", "missing")), None, None)
    assert "Not installed: trimesh. Install from requirements.lock" in draw_machine_report(report)
