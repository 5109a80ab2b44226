"""Solids are closed, face outward and have the volume of their closed form."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from viewer.solids import (
    Solid,
    build_beam,
    build_box,
    build_extrusion,
    build_joined,
    build_prism,
    build_ribbon,
    build_square_post,
    build_triangulation,
    build_tube,
    measure_ring_area,
)


def measure_volume(solid: Solid) -> float:
    """Signed volume by the divergence theorem: positive when the faces look outward."""
    a, b, c = (solid.vertices[solid.faces[:, k]] for k in range(3))
    return float(np.einsum("ij,ij->", a, np.cross(b, c)) / 6.0)


def has_closed_surface(solid: Solid) -> bool:
    """Every directed edge has exactly one twin that runs the other way."""
    edges = [(f[k], f[(k + 1) % 3]) for f in solid.faces.tolist() for k in range(3)]
    return len(set(edges)) == len(edges) and {(b, a) for a, b in edges} == set(edges)


U_SHAPE = np.array([[0, 0], [4, 0], [4, 3], [3, 3], [3, 1], [1, 1], [1, 3], [0, 3]], dtype=np.float64)


@pytest.mark.parametrize(
    ("solid", "volume"),
    [
        (build_box(np.array([1.0, 2, 3]), np.array([2.0, 4, 6])), 6.0),
        (build_prism(np.array([[0, 0, 1.0], [0, 2, 1], [3, 2, 0.5], [3, 0, 0.5]]), 0.2), 1.2),
        (build_beam(np.array([0, 0, 0.0]), np.array([0, 0, 2.0]), 0.1, 0.3), 0.06),
        (build_beam(np.array([1, 1, 0.0]), np.array([4, 5, 0.0]), 0.1, 0.3), 0.15),
        (build_tube(np.array([0, 0, 0.0]), np.array([1, 2, 2.0]), 1.0, 12), 3 * 3 * 0.25),
        (build_square_post(np.array([0, 0, 0.0]), 2.0, 0.1, np.array([0.6, 0.8])), 0.02),
        (build_extrusion(U_SHAPE, -1.0, 1.0), 16.0),
        (build_extrusion(U_SHAPE[::-1], -1.0, 1.0), 16.0),
    ],
)
def test_a_solid_is_closed_and_has_the_volume_of_its_closed_form(solid: Solid, volume: float) -> None:
    assert has_closed_surface(solid)
    assert measure_volume(solid) == pytest.approx(volume, rel=1e-9)


def test_joined_solids_stay_closed_and_add_their_volumes() -> None:
    one = build_box(np.zeros(3), np.ones(3))
    joined = build_joined([one, one])
    assert has_closed_surface(joined)
    assert measure_volume(joined) == pytest.approx(2.0)


def test_a_beam_is_as_wide_and_high_as_it_is_asked_to_be() -> None:
    beam = build_beam(np.array([0, 0, 1.0]), np.array([2, 0, 1.0]), 0.4, 0.1)
    assert np.ptp(beam.vertices, axis=0) == pytest.approx([2.0, 0.4, 0.1])


@given(st.lists(st.floats(0.2, 3.0), min_size=4, max_size=14), st.floats(0, 6.28))
def test_any_star_shaped_outline_is_cut_into_triangles_of_the_same_area(
    radii: list[float], turn: float
) -> None:
    angles = turn + 2 * math.pi * np.arange(len(radii)) / len(radii)
    ring: NDArray[np.float64] = np.column_stack([np.cos(angles), np.sin(angles)]) * np.array(radii)[:, None]
    faces = build_triangulation(ring)
    areas = [measure_ring_area(ring[face]) for face in faces]
    assert len(faces) == len(ring) - 2
    assert min(areas) > -1e-9
    assert sum(areas) == pytest.approx(measure_ring_area(ring))


def test_a_ribbon_faces_its_normal_and_leaves_out_segments_of_no_length() -> None:
    starts = np.array([[0, 0, 0.0], [1, 1, 1]])
    ends = np.array([[2, 0, 0.0], [1, 1, 1]])
    ribbon = build_ribbon(starts, ends, np.tile([0.0, 0, 1], (2, 1)), 0.5)
    a, b, c = (ribbon.vertices[ribbon.faces[:, k]] for k in range(3))
    normals = np.cross(b - a, c - a)
    assert len(ribbon.faces) == 2
    assert normals[:, 2].min() > 0
    assert np.linalg.norm(normals, axis=1).sum() / 2 == pytest.approx(1.0)
