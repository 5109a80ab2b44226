"""A level that stands out from its neighbours is named, a lawn's own bumps are not."""

from __future__ import annotations

import numpy as np
import pytest

from optimizer.terrain.ground import Ground
from optimizer.terrain.ground_quality import ODD_M, find_odd_levels
from optimizer.terrain.triangulate import build_ground


def lawn(wrong_m: float, seed: int = 3, noise_m: float = 0.006) -> Ground:
    rng = np.random.default_rng(seed)
    x, y = (part.ravel() for part in np.meshgrid(np.arange(6) * 2.0, np.arange(5) * 2.0))
    z = 0.04 * x - 0.02 * y + noise_m * rng.standard_normal(len(x))
    z[14] += wrong_m
    points = np.column_stack((x + 0.1 * rng.random(len(x)), y + 0.1 * rng.random(len(x)), z))
    return build_ground(points, tuple(f"P{n}" for n in range(len(x))), (), None, None, "test")


@pytest.mark.parametrize("wrong_m", [0.30, -0.30, 0.12])
def test_a_misread_staff_is_named_with_its_sign(wrong_m: float) -> None:
    (odd,) = find_odd_levels(lawn(wrong_m))
    assert odd.name == "P14"
    assert odd.off_m == pytest.approx(wrong_m, abs=0.04)


@pytest.mark.parametrize("seed", range(20))
def test_a_sound_lawn_has_no_odd_level(seed: int) -> None:
    assert find_odd_levels(lawn(0.0, seed)) == ()


def test_what_is_small_is_not_odd_however_smooth_the_rest() -> None:
    assert find_odd_levels(lawn(0.8 * ODD_M, noise_m=0.0005)) == ()
