"""The scene says what the plan says: every part once, where it is."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from optimizer.brief.site import Site
from optimizer.plan import Candidate
from tests.viewer import sample
from tests.viewer.test_solids import has_closed_surface, measure_volume
from viewer.cameras import measure_hidden
from viewer.house_meshes import CUT_ABOVE_SILL_M, split_porch
from viewer.meshes import draw_ramp
from viewer.piece_frame import find_free_stretches
from viewer.shadows import draw_shadows
from viewer.solids import NamedMesh, Solid
from viewer.walking_line import build_walking_points

CLOSED = ("deck", "landing", "plate", "leg", "foot", "rail", "pad", "obstacle", "door", "trim")


def find(meshes: tuple[NamedMesh, ...], name: str) -> NamedMesh:
    return next(mesh for mesh in meshes if mesh.name == name)


def test_every_piece_leg_and_rail_is_drawn_once_under_its_own_name(
    meshes: tuple[NamedMesh, ...], candidate: Candidate
) -> None:
    names = [mesh.name for mesh in meshes]
    assert len(set(names)) == len(names)
    for piece in candidate.pieces:
        assert sum(name.endswith(f" {piece.id}") for name in names) == 1
    for leg in candidate.legs:
        word = "leg" if leg.kind == "leg" else "low support"
        assert names.count(f"{word} {leg.id} ({leg.leg_type})") == 1
    for rail in candidate.rails:
        assert names.count(f"rail {rail.id} ({rail.kind})") == 1


def test_solid_parts_are_closed_and_face_outward(meshes: tuple[NamedMesh, ...]) -> None:
    for mesh in meshes:
        if mesh.group in CLOSED:
            solid = Solid(mesh.vertices, mesh.faces)
            assert has_closed_surface(solid), mesh.name
            assert measure_volume(solid) > 0.0, mesh.name


def test_meshes_are_read_only(meshes: tuple[NamedMesh, ...]) -> None:
    with pytest.raises(ValueError, match="read-only"):
        meshes[0].vertices[0, 0] = 1.0


def test_the_upper_face_of_every_piece_has_the_corners_of_the_plan(
    meshes: tuple[NamedMesh, ...], candidate: Candidate
) -> None:
    for piece in candidate.pieces:
        mesh = next(m for m in meshes if m.name.endswith(f" {piece.id}"))
        for corner in piece.corners_m:
            assert np.linalg.norm(mesh.vertices - corner, axis=1).min() < 1e-9


def test_a_section_is_as_deep_as_its_frame(
    meshes: tuple[NamedMesh, ...], candidate: Candidate, site: Site
) -> None:
    section = next(piece for piece in candidate.pieces if piece.kind == "section")
    mesh = find(meshes, f"section {section.id}")
    low_end = min(corner[2] for corner in section.corners_m)
    assert mesh.vertices[:, 2].min() == pytest.approx(low_end - site.catalogue.sections[0].frame_depth_m)
    assert mesh.vertices[:, 2].max() == pytest.approx(
        max(corner[2] for corner in section.corners_m) + site.catalogue.sections[0].curb_height_m
    )


def test_a_leg_stands_from_the_bedded_ground_to_the_frame(
    meshes: tuple[NamedMesh, ...], candidate: Candidate
) -> None:
    for leg in candidate.legs:
        word = "leg" if leg.kind == "leg" else "low support"
        shaft = find(meshes, f"{word} {leg.id} ({leg.leg_type})")
        foot = find(meshes, f"foot {leg.id} ({leg.foot})")
        bottom = leg.ground_elevation_m - sample.BEDDING_M
        assert shaft.vertices[:, 2].max() == pytest.approx(leg.frame_elevation_m, abs=1e-9)
        assert shaft.vertices[:, 2].min() == pytest.approx(bottom, abs=1e-9)
        assert foot.vertices[:, 2].min() == pytest.approx(bottom, abs=1e-9)
        middle = (foot.vertices[:, :2].min(axis=0) + foot.vertices[:, :2].max(axis=0)) / 2.0
        assert middle == pytest.approx((leg.x_m, leg.y_m), abs=1e-9)


def test_braces_are_drawn_for_braced_legs_only(meshes: tuple[NamedMesh, ...], candidate: Candidate) -> None:
    drawn = {mesh.name.split()[1] for mesh in meshes if mesh.name.startswith("brace ")}
    assert drawn == {leg.id for leg in candidate.legs if leg.brace is not None} != set()


def test_a_rail_is_as_high_above_the_edge_as_the_plan_says(
    meshes: tuple[NamedMesh, ...], candidate: Candidate
) -> None:
    for rail in candidate.rails:
        mesh = find(meshes, f"rail {rail.id} ({rail.kind})")
        over = max(end[2] for end in rail.line_m) + rail.height_m
        assert mesh.vertices[:, 2].max() == pytest.approx(over, abs=0.025)


def test_an_infill_leaves_the_way_of_the_run_free(
    meshes: tuple[NamedMesh, ...], candidate: Candidate
) -> None:
    rail = next(rail for rail in candidate.rails if rail.kind == "infill")
    mesh = find(meshes, f"rail {rail.id} (infill)")
    run = next(piece for piece in candidate.pieces if piece.kind == "section")
    along = np.array(run.corners_m[1])[:2] - np.array(run.corners_m[0])[:2]
    wide = float(np.linalg.norm(along))
    at = (mesh.vertices[:, :2] - np.array(run.corners_m[0])[:2]) @ along / wide
    reach = 0.03  # a post's half side and a hand rail's half thickness
    assert (at.max() < reach) or (at.min() > wide - reach)


def test_the_edge_of_a_landing_is_free_where_no_run_is_attached(candidate: Candidate) -> None:
    door = next(piece for piece in candidate.pieces if piece.use == "door")
    assert find_free_stretches(door, "left", candidate.pieces) == [(0.0, pytest.approx(1.5))]
    ((start, end),) = find_free_stretches(door, "right", candidate.pieces)
    assert end - start == pytest.approx(1.5 - sample.WIDTH_M)
    assert find_free_stretches(door, "start", candidate.pieces)[0][1] == pytest.approx((1.5 - 0.95) / 2)


def test_curbs_stay_off_the_way_and_off_the_wall(meshes: tuple[NamedMesh, ...], candidate: Candidate) -> None:
    door = next(piece for piece in candidate.pieces if piece.use == "door")
    run = next(piece for piece in candidate.pieces if piece.kind == "section")
    mesh = find(meshes, f"landing {door.id}")
    corners = mesh.vertices[mesh.faces]
    tops = corners[corners[:, :, 2].min(axis=1) > door.corners_m[0][2] + 0.05]
    start_left, start_right, end_right, end_left = (np.array(corner) for corner in door.corners_m)
    middle = np.mean(door.corners_m, axis=0)
    down = np.array([0.0, 0.0, -1.0])

    def has_curb(point: np.ndarray[tuple[int, ...], np.dtype[np.float64]]) -> bool:
        inward = (middle - point) / np.linalg.norm(middle - point)
        under = point + 0.01 * inward
        return measure_hidden(under - down, (under + down)[None], tops) == 1.0

    assert len(tops) > 0
    assert has_curb((start_left + end_left) / 2.0)
    assert has_curb((end_right + end_left) / 2.0)
    assert has_curb(0.9 * start_right + 0.1 * end_right)
    assert not has_curb((np.array(run.corners_m[0]) + np.array(run.corners_m[1])) / 2.0)
    assert not has_curb(0.5 * start_left + 0.5 * start_right)
    assert not has_curb(0.9 * start_left + 0.1 * start_right)


def test_the_walking_line_runs_from_the_sill_to_the_tip_on_the_deck(candidate: Candidate) -> None:
    points = build_walking_points(candidate)
    assert points[0][:2] == pytest.approx(sample.SHIFT)
    assert points[-1] == pytest.approx(candidate.toe.tip_m)
    assert (np.diff(points[:, 2]) < 1e-9).all()
    # Sill plate, landing, run of 3 x 1.8 m, landing, run, plate: turns inside the landings only.
    length = np.linalg.norm(np.diff(points, axis=0), axis=1).sum()
    assert length == pytest.approx(0.02 + 0.98 + 0.75 + 5.4 + 0.98 + 0.52 + 5.4 + 1.2, abs=1e-6)


def test_the_house_ends_above_the_sill_and_leaves_the_door_open(
    meshes: tuple[NamedMesh, ...], site: Site
) -> None:
    house, door = find(meshes, "house"), find(meshes, "door front door")
    assert house.vertices[:, 2].max() == pytest.approx(sample.THRESHOLD_M + CUT_ABOVE_SILL_M)
    assert door.vertices[:, 2].min() == pytest.approx(sample.THRESHOLD_M, abs=0.01)
    wide = np.ptp((door.vertices[:, :2] - sample.SHIFT) @ np.array([0.9135, -0.4067]))
    assert wide == pytest.approx(site.yard.starts[0].clear_width_m, abs=0.01)
    # No wall stands across the door: from the yard the whole leaf is seen.
    outward = site.yard.starts[0].outward
    eye = door.vertices.mean(axis=0) + 4.0 * np.append(outward, 0.0)
    front = door.vertices[(door.vertices[:, :2] - sample.SHIFT) @ outward > -0.06]
    assert measure_hidden(eye, front, house.vertices[house.faces]) == 0.0


def test_walls_face_outward(meshes: tuple[NamedMesh, ...], site: Site) -> None:
    house = find(meshes, "house")
    a, b, c = (house.vertices[house.faces[:, k]] for k in range(3))
    normals, middles = np.cross(b - a, c - a), (a + b + c) / 3.0
    ring = site.yard.house_m[0]
    upright = np.abs(normals[:, 2]) < 1e-9
    edges = [
        (ring[k], (ring[(k + 1) % 4] - ring[k]) / np.linalg.norm(ring[(k + 1) % 4] - ring[k]))
        for k in range(4)
    ]
    for start, along in edges:
        out = np.array([along[1], -along[0]])
        on_wall = upright & (np.abs((middles[:, :2] - start) @ out) < 1e-6)
        assert on_wall.any()
        assert (normals[on_wall][:, :2] @ out).min() > 0.0


def test_an_obstacle_reaches_from_the_ground_to_its_top(meshes: tuple[NamedMesh, ...]) -> None:
    planter = find(meshes, "obstacle planter")
    assert planter.vertices[:, 2].max() == pytest.approx(-0.2)
    assert planter.vertices[:, 2].min() < sample.slope_plane(np.array([[3.4, 4.6]]))[0]


def test_a_zone_overhead_is_drawn_at_its_underside_too(meshes: tuple[NamedMesh, ...]) -> None:
    balcony, drain = find(meshes, "zone balcony"), find(meshes, "zone drain cover")
    assert balcony.vertices[:, 2].max() == pytest.approx(sample.THRESHOLD_M + 2.4)
    assert drain.vertices[:, 2].max() < -0.4


def test_facts_are_told_in_the_units_of_the_site(meshes: tuple[NamedMesh, ...]) -> None:
    facts = dict(find(meshes, "section S1").facts)
    assert facts["size"] == "1800 mm x 1040 mm"
    assert facts["upper edge"] == "12 mm below the sill"
    assert facts["slope"].startswith("1:10.5")


def test_a_plain_projection_with_the_start_on_its_edge_is_a_porch() -> None:
    start = sample.build_yard().starts[0]
    ring = sample.to_site(
        np.array([[-5, -6], [4, -6], [4, -1.5], [1.3, -1.5], [1.3, 0], [-1.3, 0], [-1.3, -1.5], [-5, -1.5]])
    )
    rest, porch = split_porch(ring, start)
    assert porch is not None
    assert len(rest) == 6
    assert sorted(np.round(porch[:, 0], 6)) == sorted(np.round(ring[3:7, 0], 6))


def test_a_plain_wall_is_no_porch() -> None:
    yard = sample.build_yard()
    rest, porch = split_porch(yard.house_m[0], yard.starts[0])
    assert porch is None
    assert np.array_equal(rest, yard.house_m[0])


def test_a_deck_casts_its_own_area_under_a_light_from_above(site: Site, candidate: Candidate) -> None:
    alone = candidate.model_copy(update={"pieces": candidate.pieces[:2], "legs": (), "rails": ()})
    bare = dataclasses.replace(site, yard=dataclasses.replace(site.yard, obstacles=()))
    shadow = draw_shadows(bare, alone, np.array([0.0, 0.0, -1.0]))
    a, b, c = (shadow.vertices[shadow.faces[:, k]] for k in range(3))
    areas = np.cross(b - a, c - a)[:, 2] / 2.0
    assert areas.min() > 0.0
    # The deck's upper and lower face each throw the whole landing.
    assert areas.sum() == pytest.approx(2 * 1.5 * 1.5, rel=1e-6)


def test_the_ramp_alone_is_part_of_the_scene(
    meshes: tuple[NamedMesh, ...], site: Site, candidate: Candidate
) -> None:
    assert {mesh.name for mesh in draw_ramp(site, candidate)} < {mesh.name for mesh in meshes}


def test_every_shadow_lies_on_the_ground_and_faces_up(site: Site, candidate: Candidate) -> None:
    shadow = draw_shadows(site, candidate, np.array([-0.3, -0.8, -1.3]))
    a, b, c = (shadow.vertices[shadow.faces[:, k]] for k in range(3))
    assert np.cross(b - a, c - a)[:, 2].min() > 0.0
    middles = (a + b + c) / 3.0
    over = middles[:, 2] - site.ground.elevation(middles[:, :2])
    assert over.min() > 0.0
    assert over.max() < 0.01


def test_the_walking_line_is_drawn_just_above_the_deck(
    meshes: tuple[NamedMesh, ...], candidate: Candidate
) -> None:
    line = find(meshes, "walking line")
    section = next(piece for piece in candidate.pieces if piece.id == "S2")
    start, end = (np.mean(section.corners_m[k : k + 2], axis=0) for k in (0, 2))
    along = (end - start) / np.linalg.norm(end - start)
    at = (line.vertices - start) @ along
    off = np.linalg.norm(line.vertices - start - at[:, None] * along, axis=1)
    on_section = line.vertices[(at > 0.0) & (at < 1.8) & (off < 0.1)]
    over = on_section[:, 2] - (start[2] + ((on_section - start) @ along) * along[2])
    assert len(on_section) > 8
    assert 0.005 < over.min() <= over.max() < 0.03
