"""A flight of steps as it is drawn: where its treads lie, closed, and seen as a piece like the others."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from optimizer.brief.site import Site
from optimizer.catalogue.parts import RailPanel, StepFlight
from optimizer.plan import Candidate, Piece
from tests.viewer.test_solids import has_closed_surface, measure_volume
from viewer.deck_meshes import draw_pieces
from viewer.facts import build_words
from viewer.meshes import draw_ramp
from viewer.piece_frame import find_free_stretches
from viewer.shadows import list_casters
from viewer.solids import Solid
from viewer.step_meshes import build_flight
from viewer.walking_line import build_walking_points

FLIGHT = StepFlight(
    "flight", "flight of four", 33.0, 41000, 44.0, 4, 0.28, 1.0, 0.4, 0.9, 0.06, 0.05, "steps-rail", 210.0
)
RISER_M = 0.17
UP = np.array([0.0, 0.0, 1.0])


def hang_steps(candidate: Candidate) -> Piece:
    """The flight on the left edge of the landing at the door, flush with the wall's end."""
    landing = next(piece for piece in candidate.pieces if piece.use == "door")
    start, start_right, _, end = (np.array(corner) for corner in landing.corners_m)
    along = (end - start) / np.linalg.norm(end - start)
    out = (start - start_right) / np.linalg.norm(start - start_right)
    foot = 3 * 0.28 * out - 3 * RISER_M * UP
    corners = (start, start + along, start + along + foot, start + foot)
    return Piece(
        id="F1",
        catalogue_id="flight",
        kind="steps",
        use=None,
        run=None,
        corners_m=tuple((float(x), float(y), float(z)) for x, y, z in corners),
        slope=RISER_M / 0.28,
    )


@pytest.fixture(name="stepped", scope="module")
def fixture_stepped(site: Site, candidate: Candidate) -> tuple[Site, Candidate]:
    panel = RailPanel("steps-rail", "rail", 3.0, 5000, 6.0, 0.9, 0.9, 0.04, 0.1)
    parts = replace(site.catalogue, step_flights=(FLIGHT,), rail_panels=(*site.catalogue.rail_panels, panel))
    with_flight = candidate.model_copy(update={"pieces": (*candidate.pieces, hang_steps(candidate))})
    return replace(site, catalogue=parts), with_flight


def flight_of(stepped: tuple[Site, Candidate]) -> Piece:
    return stepped[1].pieces[-1]


def level_faces(solid: Solid) -> list[tuple[float, float]]:
    """Elevation and area of every level upward face, those at one elevation together."""
    areas: dict[float, float] = {}
    for face in solid.faces:
        a, b, c = solid.vertices[face]
        normal = np.cross(b - a, c - a)
        if normal[2] > 0.999 * np.linalg.norm(normal):
            level = round(float(a[2]), 6)
            areas[level] = areas.get(level, 0.0) + float(normal[2]) / 2.0
    return sorted(areas.items(), reverse=True)


def test_treads_lie_one_riser_apart_and_are_as_deep_and_wide_as_the_part(
    stepped: tuple[Site, Candidate],
) -> None:
    piece = flight_of(stepped)
    deck = piece.corners_m[0][2]
    found = level_faces(build_flight(piece, FLIGHT))
    treads = [(level, area) for level, area in found if area > 0.2]
    assert [level for level, _ in treads] == pytest.approx([deck - k * RISER_M for k in (1, 2, 3)], abs=1e-5)
    assert [area for _, area in treads] == pytest.approx([0.28] * 3, abs=1e-9)


def test_the_flight_stays_inside_its_outline_and_reaches_the_ground(stepped: tuple[Site, Candidate]) -> None:
    piece = flight_of(stepped)
    solid = build_flight(piece, FLIGHT)
    corners = np.array(piece.corners_m)
    along, across = corners[3] - corners[0], corners[1] - corners[0]
    for vertex in solid.vertices - corners[0]:
        for axis in (along, across):
            share = float(vertex[:2] @ axis[:2]) / float(axis[:2] @ axis[:2])
            assert -1e-9 <= share <= 1.0 + 1e-9
    assert solid.vertices[:, 2].min() == pytest.approx(corners[0, 2] - 4 * RISER_M, abs=1e-9)
    assert solid.vertices[:, 2].max() < corners[0, 2]


def test_the_flight_is_closed_and_faces_outward(stepped: tuple[Site, Candidate]) -> None:
    solid = build_flight(flight_of(stepped), FLIGHT)
    assert has_closed_surface(solid)
    treads, feet = 3 * 0.28 * 1.0 * 0.03, 2 * 0.12 * 0.12 * 0.02
    stringers = 2 * 3 * 0.28 * (RISER_M - 0.015) * 0.03
    assert measure_volume(solid) == pytest.approx(treads + stringers + feet, rel=1e-6)


def test_two_feet_stand_on_the_ground(stepped: tuple[Site, Candidate]) -> None:
    piece = flight_of(stepped)
    faces = dict(level_faces(build_flight(piece, FLIGHT)))
    level = round(piece.corners_m[0][2] - 4 * RISER_M + 0.02, 6)
    assert faces[level] == pytest.approx(2 * 0.12 * 0.12)


def test_steps_are_drawn_once_with_risers_and_treads_told(stepped: tuple[Site, Candidate]) -> None:
    site, candidate = stepped
    (mesh,) = (mesh for mesh in draw_ramp(site, candidate) if mesh.name == "steps F1")
    assert mesh.group == "deck"
    facts = dict(mesh.facts)
    words = build_words(site, candidate)
    assert facts["risers"] == f"4 of {words.length(RISER_M)}"
    assert facts["treads"] == f"3 of {words.length(0.28)}"


def test_a_part_that_is_no_flight_is_refused(stepped: tuple[Site, Candidate]) -> None:
    site, candidate = stepped
    wrong = flight_of(stepped).model_copy(update={"catalogue_id": "landing-150"})
    with pytest.raises(Exception, match="F1 is a flight of steps of part landing-150, which is none"):
        draw_pieces(build_words(site, candidate), (wrong,))


def test_the_walking_line_of_the_ramp_does_not_take_the_steps(stepped: tuple[Site, Candidate]) -> None:
    _, with_flight = stepped
    bare = with_flight.model_copy(update={"pieces": with_flight.pieces[:-1]})
    assert np.array_equal(build_walking_points(with_flight), build_walking_points(bare))


def test_the_edge_is_open_where_the_flight_leaves_it(stepped: tuple[Site, Candidate]) -> None:
    _, candidate = stepped
    door = next(piece for piece in candidate.pieces if piece.use == "door")
    ((start, end),) = find_free_stretches(door, "left", candidate.pieces)
    assert (start, end) == pytest.approx((1.0, 1.5))


def test_the_flight_casts_a_shadow(stepped: tuple[Site, Candidate]) -> None:
    site, candidate = stepped
    bare = candidate.model_copy(update={"pieces": candidate.pieces[:-1]})
    assert len(list_casters(site, candidate, -UP)) > len(list_casters(site, bare, -UP))
