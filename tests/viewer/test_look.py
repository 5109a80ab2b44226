"""Colours stay apart for every eye, cameras show what they should.

Simulated colour vision: G. M. Machado, M. M. Oliveira, L. A. F. Fernandes, "A Physiologically-based
Model for Simulation of Color Vision Deficiency", IEEE Transactions on Visualization and Computer
Graphics 15(6), 2009, pages 1291-1298; matrices for severity 1.0, applied to linear light.
Differences are CIE 1976 L*a*b* (D65, 2 degrees); 10 is about four times the just noticeable 2.3.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray

from viewer.cameras import (
    Frame,
    Subject,
    choose_clearest,
    fit_distance,
    fit_opening,
    list_overviews,
    list_street_spots,
    list_street_views,
    measure_hidden,
    project_points,
)
from viewer.look import FINISHES, NEIGHBOURS, measure_linear, mix_colours, parse_colour

EYES = {
    "all cones": np.eye(3),
    "no long cones": np.array(
        [
            [0.152286, 1.052583, -0.204868],
            [0.114503, 0.786281, 0.099216],
            [-0.003882, -0.048116, 1.051998],
        ]
    ),
    "no middle cones": np.array(
        [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]]
    ),
    "no short cones": np.array(
        [
            [1.255528, -0.076749, -0.178779],
            [-0.078411, 0.930809, 0.147602],
            [0.004733, 0.691367, 0.303900],
        ]
    ),
}
SRGB_TO_XYZ = np.array(
    [[0.4124564, 0.3575761, 0.1804375], [0.2126729, 0.7151522, 0.0721750], [0.0193339, 0.1191920, 0.9503041]]
)
LEAST_DIFFERENCE = 10.0


def measure_lab(colour: str, eye: NDArray[np.float64]) -> NDArray[np.float64]:
    """L*a*b* of a colour as an eye with this matrix sees it."""
    linear = np.clip(eye @ np.array(measure_linear(colour)), 0.0, 1.0)
    ratio = SRGB_TO_XYZ @ linear / (SRGB_TO_XYZ @ np.ones(3))
    f = np.where(ratio > (6 / 29) ** 3, np.cbrt(ratio), ratio / (3 * (6 / 29) ** 2) + 4 / 29)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


@pytest.mark.parametrize("eye", EYES)
def test_colours_that_meet_differ_for_every_kind_of_eye(eye: str) -> None:
    for first, second in NEIGHBOURS:
        a, b = (measure_lab(FINISHES[group].colour, EYES[eye]) for group in (first, second))
        assert np.linalg.norm(a - b) > LEAST_DIFFERENCE, (first, second)


def test_sections_and_landings_differ_in_lightness_alone_too() -> None:
    deck, landing, plate = (
        measure_lab(FINISHES[g].colour, np.eye(3))[0] for g in ("deck", "landing", "plate")
    )
    assert landing - deck > 10.0
    assert deck - plate > 10.0


def test_the_measure_of_difference_would_find_red_against_green() -> None:
    red, green = "#c1503c", "#6f7f2a"
    apart = [
        float(np.linalg.norm(measure_lab(red, eye) - measure_lab(green, eye)))
        for eye in (EYES["all cones"], EYES["no middle cones"])
    ]
    assert apart[0] > 40.0
    assert apart[1] < 0.5 * apart[0]


@pytest.mark.parametrize(("colour", "linear"), [("#000000", 0.0), ("#ffffff", 1.0), ("#bcbcbc", 0.5029)])
def test_linear_light_is_that_of_the_srgb_curve(colour: str, linear: float) -> None:
    # IEC 61966-2-1: 0xbc = 188 / 255 is 0.503 of the light of white.
    assert measure_linear(colour) == pytest.approx((linear,) * 3, abs=1e-4)


def test_mixing_by_half_is_halfway() -> None:
    assert mix_colours("#000000", "#fe8040", 0.5) == "#7f4020"
    assert parse_colour("#ff0000") == (1.0, 0.0, 0.0)


POINTS = np.array([[x, y, z] for x in (-4.0, 6.0) for y in (0.0, 9.0) for z in (-1.0, 1.5)])
FRAME = Frame(0.1, 0.8, 0.2, 0.9)
SUBJECT = Subject(POINTS, np.array([0.0, 1.0]), np.array([0, 0, 0.0]), np.array([4.0, 8.0, -1.0]))


def measure_frame(pixels: NDArray[np.float64], size: tuple[int, int]) -> tuple[float, float, float, float]:
    x, y = pixels[:, 0] / size[0], 1.0 - pixels[:, 1] / size[1]
    return float(x.min()), float(x.max()), float(y.min()), float(y.max())


@pytest.mark.parametrize("direction", [(0.5, -1.0, -0.6), (-1.0, -0.2, -0.1), (0.0, 1.0, -0.9)])
def test_the_overview_fills_its_frame_and_no_more(direction: tuple[float, float, float]) -> None:
    camera = fit_distance(POINTS, np.array(direction), 24.0, 1.6, FRAME)
    left, right, low, high = measure_frame(project_points(POINTS, camera, (1600, 1000)), (1600, 1000))
    assert min(left - 0.1, 0.8 - right, low - 0.2, 0.9 - high) > -0.003
    fill = max((right - left) / 0.7, (high - low) / 0.7)
    assert fill == pytest.approx(1.0, abs=0.005)


def test_the_street_view_fills_its_frame_from_where_it_stands() -> None:
    eye = np.array([2.0, 20.0, 0.6])
    camera = fit_opening(POINTS, eye, 1.6, FRAME)
    left, right, low, high = measure_frame(project_points(POINTS, camera, (1600, 1000)), (1600, 1000))
    assert np.array_equal(camera.eye_m, eye)
    assert min(left - 0.1, 0.8 - right, low - 0.2, 0.9 - high) > -0.003
    assert max((right - left) / 0.7, (high - low) / 0.7) == pytest.approx(1.0, abs=0.005)


def test_the_person_in_the_street_stands_beyond_the_ramp_at_eye_height() -> None:
    spots = list_street_spots(SUBJECT)
    cameras = list_street_views(SUBJECT, np.full(len(spots), -1.2), 1.6, FRAME)
    assert spots[0][1] > 9.0 + 3.0
    assert all(camera.eye_m[2] == pytest.approx(-1.2 + 1.6) for camera in cameras)


def test_the_overview_looks_from_the_side_of_the_tip_and_mirrors_with_it() -> None:
    first = list_overviews(SUBJECT, 1.6, FRAME)[0]
    mirror = np.array([-1.0, 1.0, 1.0])
    other = Subject(POINTS * mirror, SUBJECT.outward, SUBJECT.door_m, SUBJECT.tip_m * mirror)
    mirrored = list_overviews(other, 1.6, Frame(0.2, 0.9, 0.2, 0.9))[0]
    assert first.eye_m[0] > POINTS[:, 0].mean()
    assert mirrored.eye_m == pytest.approx(first.eye_m * mirror, abs=1e-6)


TRIANGLE = np.array([[[0.0, 0, 0], [1, 0, 0], [0, 1, 0]]])


@pytest.mark.parametrize(
    ("point", "is_hidden"),
    [((0.2, 0.2, -1.0), True), ((0.2, 0.2, 0.5), False), ((2.0, 2.0, -1.0), False), ((0.2, 0.2, 0.0), False)],
)
def test_a_point_is_hidden_only_behind_a_triangle(
    point: tuple[float, float, float], *, is_hidden: bool
) -> None:
    assert measure_hidden(np.array([0.2, 0.2, 1.0]), np.array([point]), TRIANGLE) == float(is_hidden)


def test_the_view_with_the_wall_in_the_way_is_passed_over() -> None:
    cameras = list_overviews(SUBJECT, 1.6, FRAME)
    toward = cameras[0].eye_m - POINTS.mean(axis=0)
    middle = POINTS.mean(axis=0) + 0.6 * toward
    side = np.cross(toward, [0.0, 0.0, 1.0])
    wall = np.array([[middle - 9 * side, middle + 9 * side, middle + np.array([0.0, 0.0, 60.0])]])
    wall[0, :2, 2] -= 40.0
    chosen = choose_clearest(cameras, POINTS, wall)
    assert choose_clearest(cameras, POINTS, np.zeros((0, 3, 3))) is cameras[0]
    assert chosen is not cameras[0]
    assert math.isclose(measure_hidden(chosen.eye_m, POINTS, wall), 0.0)
