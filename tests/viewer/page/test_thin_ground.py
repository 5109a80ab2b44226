"""A ground of very many triangles made light: heights kept, walls kept, near better than far."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from optimizer.terrain.ground import Ground
from tests.viewer.page.made_job import made_plan, made_site
from viewer.page.client_page import PageWish, build_page
from viewer.page.thin_ground import MOST_TRIANGLES, NEAR_M, thin_ground

#: A wall along y = 9.5: the ground beyond lies this much lower.
WALL_M = 0.8


def _height(xy: NDArray[np.float64]) -> NDArray[np.float64]:
    return -0.03 * xy[..., 1] - 0.01 * xy[..., 0] + 0.02 * np.sin(xy[..., 0]) - WALL_M * (xy[..., 1] > 9.5)


def build_fine_ground(cells: int) -> Ground:
    """``2 cells^2`` triangles over 18 x 12 m; the wall lies between two rows of them, as a true step."""
    x, y = np.linspace(-9.0, 9.0, cells + 1), np.linspace(0.0, 12.0, cells + 1)
    y[np.abs(y - 9.5).argmin()] = 9.5
    low = np.stack(np.meshgrid(x[:-1], y[:-1], indexing="ij"), axis=-1).reshape(-1, 2)
    high = np.stack(np.meshgrid(x[1:], y[1:], indexing="ij"), axis=-1).reshape(-1, 2)
    b, d = np.column_stack([high[:, 0], low[:, 1]]), np.column_stack([low[:, 0], high[:, 1]])
    xy = np.concatenate([np.stack([low, b, high], axis=1), np.stack([low, high, d], axis=1)])
    # Every triangle keeps to its own side of the wall.
    middle_y = xy[:, :, 1].mean(axis=1)
    z = _height(xy) + WALL_M * (xy[:, :, 1] > 9.5) - WALL_M * (middle_y > 9.5)[:, None]
    ground = made_site().ground
    return replace(ground, triangles_xy=xy, triangles_z=z)


@pytest.fixture(scope="module")
def fine() -> Ground:
    return build_fine_ground(400)


@pytest.fixture(scope="module")
def thinned(fine: Ground) -> Ground:
    return thin_ground(fine, made_plan().candidates)


def test_a_ground_that_is_light_stays_as_it_is() -> None:
    ground = made_site().ground
    assert thin_ground(ground, made_plan().candidates) is ground
    assert thin_ground(build_fine_ground(70), made_plan().candidates).triangles_xy.shape[0] == 2 * 70**2
    assert thin_ground(build_fine_ground(71), made_plan().candidates).triangles_xy.shape[0] < 2 * 71**2


def test_many_triangles_become_few(fine: Ground, thinned: Ground) -> None:
    assert len(fine.triangles_xy) == 320_000
    assert 2_000 < len(thinned.triangles_xy) <= MOST_TRIANGLES


@pytest.mark.slow
def test_two_million_triangles_become_few() -> None:
    thinned = thin_ground(build_fine_ground(1000), made_plan().candidates)
    assert 2_000 < len(thinned.triangles_xy) <= MOST_TRIANGLES


def test_heights_stay_and_near_the_ramp_more_than_away(fine: Ground, thinned: Ground) -> None:
    random = np.random.default_rng(4)
    places = np.column_stack([random.uniform(-8.5, 8.5, 4000), random.uniform(0.4, 11.6, 4000)])
    places = places[np.abs(places[:, 1] - 9.5) > 0.5]
    off = np.abs(thinned.elevation(places) - fine.elevation(places))
    assert np.isfinite(off).all()
    corners = np.array([piece.corners_m for c in made_plan().candidates for piece in c.pieces])[:, :, :2]
    near = np.zeros(len(places), dtype=bool)
    for ring in corners:
        near |= ((places > ring.min(axis=0) - NEAR_M) & (places < ring.max(axis=0) + NEAR_M)).all(axis=1)
    assert 200 < near.sum() < len(places) - 200
    assert off[near].max() < 0.01
    assert off.max() < 0.03


def test_a_wall_stays_a_wall(thinned: Ground) -> None:
    x = np.linspace(-8.0, 8.0, 50)
    above = thinned.elevation(np.column_stack([x, np.full(50, 9.1)]))
    below = thinned.elevation(np.column_stack([x, np.full(50, 9.9)]))
    assert np.abs(above - below - WALL_M - 0.03 * 0.8).max() < 0.05


def test_the_page_says_that_it_is_drawn_coarser(fine: Ground) -> None:
    page = build_page(made_plan(), replace(made_site(), ground=fine), PageWish(("en",)), ())
    assert "drawn coarser than it was measured" in page.text.partition('id="facts"')[0]
    (note,) = page.notes
    assert note.startswith("the ground has 320,000 triangles; ")
    assert len(page.text.encode()) < 2_000_000


def test_a_ground_that_was_not_thinned_is_not_said_to_be() -> None:
    page = build_page(made_plan(), made_site(), PageWish(("en",)), ())
    assert "drawn coarser" not in page.text.partition('id="facts"')[0]
    assert page.notes == ()
