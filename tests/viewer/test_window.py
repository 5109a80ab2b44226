"""The window under a virtual screen: candidates change, parts are named, groups hide."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from optimizer.errors import DrawingError
from optimizer.plan import Plan
from viewer import window
from viewer.look import FINISHES, parse_colour

SCRIPT = """
import json, sys
from pathlib import Path
import numpy as np
from tests.viewer import sample
from viewer.window import PlanWindow

folder = Path(sys.argv[1])
site = sample.build_site()
plan = sample.build_plan(site)
first = plan.candidates[0]
second = first.model_copy(update={"name": "B", "rails": ()})
shown = PlanWindow(plan.model_copy(update={"candidates": (first, second)}), site, 0)
shown.plotter.show(auto_close=False, interactive_update=True)
pointer = shown.plotter.iren.interactor
said = {}

def press_key(name):
    pointer.SetKeyEventInformation(0, 0, chr(0), 0, name)
    pointer.InvokeEvent("KeyPressEvent")

def find_pixel(point):
    renderer = shown.plotter.renderer
    renderer.SetWorldPoint(*point, 1.0)
    renderer.WorldToDisplay()
    return [int(value) for value in renderer.GetDisplayPoint()[:2]]

def click(point, drag=0):
    x, y = find_pixel(point)
    pointer.SetEventInformation(x, y)
    pointer.InvokeEvent("LeftButtonPressEvent")
    pointer.SetEventInformation(x + drag, y)
    pointer.InvokeEvent("LeftButtonReleaseEvent")
    return shown.picked.name if shown.picked else None

shown.plotter.screenshot(folder / "first.png")
press_key("Right")
said["second"] = plan.candidates[0].name != shown.plan.candidates[shown.number].name
landing = first.pieces[1]
said["landing"] = click(np.mean(np.array(landing.corners_m), axis=0) + [0.0, 0.0, 0.01])
shown.plotter.screenshot(folder / "picked.png")
leg = first.legs[3]
said["leg"] = click([leg.x_m, leg.y_m, leg.frame_elevation_m - 0.4 * leg.height_m])
said["drag"] = click(np.mean(np.array(landing.corners_m), axis=0), drag=60)
pointer.SetEventInformation(3, 700)
pointer.InvokeEvent("LeftButtonPressEvent")
pointer.InvokeEvent("LeftButtonReleaseEvent")
said["sky"] = shown.picked.name if shown.picked else None
press_key("g")
shown.plotter.screenshot(folder / "no-ground.png")
press_key("Right")
said["round"] = shown.number
said["ground stays off"] = "ground" in shown.hidden
shown.plotter.close()
print(json.dumps(said))
"""


@pytest.fixture(scope="module")
def shown(tmp_path_factory: pytest.TempPathFactory) -> tuple[dict[str, object], Path]:
    screen = shutil.which("xvfb-run")
    if screen is None:
        pytest.skip("no virtual screen (xvfb-run) is installed")
    folder = tmp_path_factory.mktemp("window")
    ended = subprocess.run(
        (screen, "-a", "-s", "-screen 0 1600x1000x24", sys.executable, "-c", SCRIPT, str(folder)),
        check=False,
        capture_output=True,
        text=True,
        cwd=Path(__file__).parents[2],
        timeout=180,
    )
    assert ended.returncode == 0, ended.stderr
    return json.loads(ended.stdout.splitlines()[-1]), folder


@pytest.mark.needs_gl
@pytest.mark.slow
def test_keys_and_clicks_do_what_the_legend_says(shown: tuple[dict[str, object], Path]) -> None:
    said, _ = shown
    assert said == {
        "second": True,
        "landing": "landing P1",
        "leg": "leg L04 (leg-tall)",
        "drag": "leg L04 (leg-tall)",
        "sky": None,
        "round": 0,
        "ground stays off": True,
    }


def count_sage(path: Path) -> int:
    """Pixels that have the ground's colour apart from its brightness."""
    pixels = np.asarray(Image.open(path).convert("RGB"), dtype=np.float64)
    shade = pixels / np.maximum(pixels.sum(axis=2, keepdims=True), 1.0)
    wanted = np.array(parse_colour(FINISHES["ground"].colour))
    return int((np.abs(shade - wanted / wanted.sum()).max(axis=2) < 0.01).sum())


@pytest.mark.needs_gl
@pytest.mark.slow
def test_the_ground_is_gone_when_it_is_hidden(shown: tuple[dict[str, object], Path]) -> None:
    _, folder = shown
    sage = [count_sage(folder / name) for name in ("first.png", "no-ground.png")]
    assert sage[0] > 100_000
    assert sage[1] < 1000


def test_every_key_of_the_legend_is_named_once() -> None:
    keys = [key for key, _ in window.KEYS]
    assert len(set(keys)) == len(keys)
    assert {key for key, _ in window._TOGGLES} <= set(keys)


def test_a_machine_without_a_screen_is_told_so(plan: Plan, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "platform", "linux")
    monkeypatch.delenv("DISPLAY", raising=False)
    monkeypatch.delenv("WAYLAND_DISPLAY", raising=False)
    from tests.viewer import sample

    with pytest.raises(DrawingError, match="no screen"):
        window.show_window(plan, sample.build_site(), 0)


def test_a_machine_with_a_screen_has_no_screen_fault() -> None:
    assert window.find_screen_fault("linux", {"DISPLAY": ":0"}) is None
    assert window.find_screen_fault("win32", {}) is None
