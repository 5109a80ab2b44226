"""The probe answers in a sentence when its child dies, hangs, fails or is silent."""

from __future__ import annotations

import sys

import pytest

from viewer.probe import PACKAGE_LINE, build_drawing_environment, describe_end, find_drawing_fault


def run_python(code: str) -> tuple[str, ...]:
    return (sys.executable, "-c", code)


def test_a_child_killed_by_a_segmentation_fault_names_the_package_line() -> None:
    fault = find_drawing_fault(run_python("import os, signal; os.kill(os.getpid(), signal.SIGSEGV)"))
    assert fault is not None
    assert "SIGSEGV" in fault
    assert fault.endswith(PACKAGE_LINE)
    assert PACKAGE_LINE == "apt-get install -y --no-install-recommends libegl1 libgl1"


def test_a_child_that_fails_is_quoted() -> None:
    fault = find_drawing_fault(run_python("raise SystemExit('the trial picture is blank')"))
    assert fault is not None
    assert "the trial picture is blank" in fault
    assert PACKAGE_LINE in fault


def test_a_child_that_hangs_is_given_up() -> None:
    fault = find_drawing_fault(run_python("import time; time.sleep(60)"), timeout_s=0.5)
    assert fault is not None
    assert "0.5 s" in fault


def test_a_child_that_ends_well_without_drawing_is_a_fault() -> None:
    assert find_drawing_fault(run_python("pass")) is not None


def test_an_interpreter_that_is_not_there_is_a_fault() -> None:
    fault = find_drawing_fault(("/nowhere/python", "-c", "pass"))
    assert fault is not None
    assert "cannot be started" in fault


def test_a_child_that_has_drawn_is_no_fault() -> None:
    assert find_drawing_fault(run_python("print('drawn')")) is None


def test_an_unknown_signal_is_told_by_number() -> None:
    assert "signal 250" in describe_end(-250, "")


@pytest.mark.parametrize(("display", "window"), [("", "vtkEGLRenderWindow"), (":7", None)])
def test_egl_is_asked_for_only_without_a_screen(
    monkeypatch: pytest.MonkeyPatch, display: str, window: str | None
) -> None:
    monkeypatch.setattr(sys, "platform", "linux")
    monkeypatch.setenv("DISPLAY", display)
    monkeypatch.delenv("VTK_DEFAULT_OPENGL_WINDOW", raising=False)
    assert build_drawing_environment().get("VTK_DEFAULT_OPENGL_WINDOW") == window


@pytest.mark.needs_gl
def test_the_trial_picture_is_drawn_where_opengl_works() -> None:
    assert find_drawing_fault() is None
