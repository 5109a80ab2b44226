"""The scanned scene with another cloud of points in place of its own, seen by the same phone."""

from __future__ import annotations

import shutil
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from tests.scenes.phone_scan_yard import (
    MARKS,
    ground_level,
    scan_points,
    to_scan,
    to_survey,
    write_laz,
)

Cloud = NDArray[np.float64]

SCENE = Path(__file__).parents[2] / "scenes" / "phone-scan"
TABLES = "# What the scan shows"


def write_scene(folder: Path, survey_m: Cloud, said: str = "") -> Path:
    """The scene with points (n, 3) of the survey's frame, and ``said`` for its tables of things."""
    scene = folder / "scene"
    shutil.copytree(SCENE, scene)
    (scene / "yard.glb").unlink()
    write_laz(scene / "yard.laz", to_scan(np.vstack((survey_m, _see_marks()))))
    site = scene / "site.toml"
    text = site.read_text(encoding="utf-8")
    first, last = text.index(TABLES), text.index("[ground]")
    site.write_text(text[:first] + said + "\n" + text[last:], encoding="utf-8")
    return scene


def read_own_scan() -> Cloud:
    """The scene's own points in the survey's frame, before the phone's noise and drift were read back."""
    seen = scan_points()
    zero = to_scan(np.zeros((1, 3)))
    axes = to_scan(np.eye(3)) - zero
    return (seen - zero) @ np.linalg.inv(axes)


def move(cloud: Cloud, along_m: float, out_m: float, up_m: float) -> Cloud:
    """A cloud about its own origin set down at a place of the yard, on its ground."""
    at = to_survey(np.array([along_m]), np.array([out_m]))[0]
    level = float(ground_level(np.array([along_m]), np.array([out_m]))[0])
    return cloud + np.array([at[0], at[1], level + up_m])


def _see_marks() -> Cloud:
    """A few points on every mark, so that the picks lie on the scan whatever it shows."""
    along, out = (np.array([mark[i] for mark in MARKS]) for i in (1, 2))
    spots = np.column_stack((to_survey(along, out), ground_level(along, out)))
    near = np.array([[0.0, 0.0, 0.0], [0.02, 0.0, 0.0], [0.0, 0.02, 0.0]])
    return np.repeat(spots, 3, axis=0) + np.tile(near, (len(spots), 1))
