"""Each damage to an exported model is found, as exactly what it is."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from optimizer.audit.audit_model import audit_model
from optimizer.audit.report import CLAUSES
from tests.audit.drawn_scene import corner_of, drawn, drawn_bytes, drawn_plan, edit
from tests.audit.glb_edit import GlbEdit

Found = set[tuple[str, str]]


def disagreeing(glb: GlbEdit, folder: Path) -> Found:
    report = audit_model(drawn_plan(), glb.save(folder / "damaged.glb"))
    assert not report.pick("cannot tell")
    return {(finding.clause, finding.subject) for finding in report.pick("disagrees")}


def at(points: NDArray[np.float64], place: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Every copy of one point: each triangle has corners of its own."""
    return np.asarray(np.linalg.norm(points - place, axis=1) < 1e-4)


def middle_of_face(glb: GlbEdit) -> NDArray[np.float64]:
    """A point of the walking face of S2 that is no corner of the piece: of a board in the middle."""
    walked = glb.points("section S2")[: 3 * glb.mark("section S2")["walking"]]
    middle = (corner_of("S2", 0) + corner_of("S2", 3)) / 2.0
    return np.asarray(walked[np.argmin(np.linalg.norm(walked - middle, axis=1))])


def test_an_export_agrees_in_every_clause(tmp_path: Path) -> None:
    path = tmp_path / "model.glb"
    path.write_bytes(drawn_bytes())
    report = audit_model(drawn_plan(), path)
    assert report.agrees
    assert [finding.text for finding in report.findings if finding.verdict != "agrees"] == []
    assert {finding.clause for finding in report.findings} == {clause for clause, _ in CLAUSES}
    # Coordinates in the file are 32-bit; openings and bands have a limit, all else a number to meet.
    exact = [finding for finding in report.findings if finding.clause != "drawn.rail"]
    assert max(finding.difference_m or 0.0 for finding in exact) < 2e-5
    # A round rail that falls is a little higher than its radius above its axis.
    assert max(finding.difference_m or 0.0 for finding in report.findings) < 1e-4


@pytest.mark.parametrize(("axis", "by_m"), [(0, 0.002), (1, 0.002), (1, -0.002), (2, 0.002)])
def test_a_rail_two_millimetres_elsewhere(axis: int, by_m: float, tmp_path: Path) -> None:
    glb = edit()
    (rail, *_) = [rail for rail in drawn()[1].rails if rail.kind == "panel"]
    glb.positions(glb.named(f"rail {rail.id} "))[:, axis] += by_m
    assert disagreeing(glb, tmp_path) == {("drawn.rail", rail.id)}


@pytest.mark.parametrize(("kind", "by_m", "is_found"), [("post", 0.0011, True), ("post", 0.0009, False)])
def test_a_rail_too_high_is_judged_to_the_millimetre(
    kind: str, by_m: float, *, is_found: bool, tmp_path: Path
) -> None:
    glb = edit()
    (rail, *_) = [rail for rail in drawn()[1].rails if rail.kind == kind]
    name = glb.named(f"rail {rail.id} ")
    levels = glb.points(name)[:, 2]
    glb.lift(name, levels > levels.max() - 0.005, by_m)
    assert (("drawn.rail", rail.id) in disagreeing(glb, tmp_path)) is is_found


def test_every_panel_and_post_is_compared(tmp_path: Path) -> None:
    report = audit_model(drawn_plan(), edit().save(tmp_path / "model.glb"))
    told = {finding.subject for finding in report.findings if finding.clause == "drawn.rail"}
    assert told == {rail.id for rail in drawn()[1].rails if rail.kind != "end"}


def test_taking_a_file_apart_and_together_is_no_damage(tmp_path: Path) -> None:
    assert disagreeing(edit(), tmp_path) == set()


def test_a_corner_three_millimetres_up_is_a_level(tmp_path: Path) -> None:
    glb = edit()
    glb.lift("section S2", at(glb.points("section S2"), corner_of("S2", 0)), 0.003)
    assert disagreeing(glb, tmp_path) == {("drawn.level", "S2")}


@pytest.mark.parametrize(("by_m", "is_found"), [(0.00098, False), (-0.00098, False), (0.00102, True)])
def test_a_corner_is_judged_to_the_millimetre(by_m: float, *, is_found: bool, tmp_path: Path) -> None:
    glb = edit()
    glb.lift("section S2", at(glb.points("section S2"), corner_of("S2", 2)), by_m)
    assert (("drawn.level", "S2") in disagreeing(glb, tmp_path)) is is_found


@pytest.mark.parametrize(
    ("other", "by_m", "more"),
    [
        (1, 0.003, {("drawn.width", "S2")}),
        (1, -0.003, {("drawn.width", "S2"), ("rule.width", "S2")}),
        # Outward along the way is into the section before.
        (3, 0.003, {("drawn.length", "S2"), ("drawn.apart", "S1"), ("drawn.apart", "S2")}),
        (3, -0.003, {("drawn.length", "S2")}),
    ],
)
def test_a_corner_three_millimetres_aside_is_a_place(
    other: int, by_m: float, more: Found, tmp_path: Path
) -> None:
    """Away from or towards another corner: the one across the way, or the one along it."""
    glb = edit()
    rows = at(glb.points("section S2"), corner_of("S2", 0))
    outward = corner_of("S2", 0) - corner_of("S2", other)
    outward *= by_m / np.linalg.norm(outward)
    glb.positions("section S2")[rows] += np.array([outward[0], 0.0, -outward[1]], dtype=np.float32)
    assert disagreeing(glb, tmp_path) == {("drawn.place", "S2")} | more


def test_a_board_that_dips_three_millimetres_is_not_flat(tmp_path: Path) -> None:
    glb = edit()
    glb.lift("section S2", at(glb.points("section S2"), middle_of_face(glb)), -0.003)
    assert disagreeing(glb, tmp_path) == {("drawn.flat", "S2")}


def test_a_section_hung_three_millimetres_high(tmp_path: Path) -> None:
    glb = edit()
    points = glb.points("section S2")
    glb.lift("section S2", np.ones(len(points), dtype=bool), 0.003)
    carried = {("drawn.leg_carries", leg.id) for leg in drawn()[1].legs if leg.piece == "S2"}
    assert len(carried) == 2
    assert disagreeing(glb, tmp_path) == {("drawn.level", "S2"), ("drawn.clearance", "S2")} | carried


def test_a_section_tilted_three_millimetres_over_its_length(tmp_path: Path) -> None:
    glb = edit()
    points, start = glb.points("section S2"), corner_of("S2", 0)
    way = (corner_of("S2", 3) - start)[:2]
    share = (points[:, :2] - start[:2]) @ way / (way @ way)
    glb.lift("section S2", np.ones(len(points), dtype=bool), -0.003 * share)
    carried = {("drawn.leg_carries", leg.id) for leg in drawn()[1].legs if leg.piece == "S2"}
    assert disagreeing(glb, tmp_path) == {
        ("drawn.level", "S2"),
        ("drawn.slope", "S2"),
        ("drawn.clearance", "S2"),
        ("rule.steepest", "S2"),
        *carried,
    }


def test_a_landing_that_leans_sideways(tmp_path: Path) -> None:
    glb = edit()
    points, left = glb.points("landing P2"), corner_of("P2", 0)
    across = (corner_of("P2", 1) - left)[:2]
    share = (points[:, :2] - left[:2]) @ across / (across @ across)
    glb.lift("landing P2", np.ones(len(points), dtype=bool), 0.004 * share)
    found = disagreeing(glb, tmp_path)
    assert {("drawn.cross_slope", "P2"), ("drawn.level", "P2"), ("rule.cross_slope", "P2")} <= found
    assert ("drawn.slope", "P2") not in found


def test_a_landing_that_hangs_low_changes_the_rise_of_the_runs_beside_it(tmp_path: Path) -> None:
    glb = edit()
    glb.lift("landing P2", np.ones(len(glb.points("landing P2")), dtype=bool), -0.004)
    found = disagreeing(glb, tmp_path)
    runs = {(clause, subject) for clause, subject in found if subject.startswith("run")}
    assert {
        ("drawn.run_rise", "run 1"),
        ("drawn.run_rise", "run 2"),
        ("drawn.run_slope", "run 1"),
        ("drawn.run_slope", "run 2"),
    } == {(clause, subject) for clause, subject in runs if clause.startswith("drawn")}


def test_a_board_that_is_taken_out_leaves_an_opening(tmp_path: Path) -> None:
    glb = edit()
    walked = 3 * glb.mark("section S1")["walking"]
    points = glb.positions("section S1")
    # One board is two triangles of the walking face; a flat point covers nothing.
    board = slice(walked // 2 - walked // 2 % 6, walked // 2 - walked // 2 % 6 + 6)
    points[board] = points[board][0]
    assert disagreeing(glb, tmp_path) == {("drawn.openings", "S1")}


def test_something_that_lies_on_the_walking_face(tmp_path: Path) -> None:
    glb = edit()
    middle = np.mean([corner_of("S1", k) for k in range(4)], axis=0)
    lump = middle + np.array([[-0.05, -0.05, 0.02], [0.05, -0.05, 0.02], [0.0, 0.05, 0.02]])
    glb.add_triangles("section S1", lump[None])
    assert disagreeing(glb, tmp_path) == {("drawn.clear_face", "S1")}


def test_a_leg_cut_short_at_its_foot(tmp_path: Path) -> None:
    glb = edit()
    shaft, foot = glb.named("leg L05"), glb.named("foot L05")
    levels = glb.points(shaft)[:, 2]
    glb.lift(shaft, levels < levels.min() + 1e-4, 0.005)
    glb.lift(foot, np.ones(len(glb.points(foot)), dtype=bool), 0.005)
    assert disagreeing(glb, tmp_path) == {("drawn.leg_length", "L05"), ("drawn.foot_on_ground", "L05")}


def test_a_leg_cut_short_at_its_top(tmp_path: Path) -> None:
    glb = edit()
    shaft = glb.named("leg L05")
    levels = glb.points(shaft)[:, 2]
    glb.lift(shaft, levels > levels.max() - 1e-4, -0.005)
    assert disagreeing(glb, tmp_path) == {
        ("drawn.leg_length", "L05"),
        ("drawn.leg_carries", "L05"),
        ("drawn.frame_level", "L05"),
    }


def test_a_leg_that_hangs_above_its_foot(tmp_path: Path) -> None:
    glb = edit()
    shaft = glb.named("leg L05")
    levels = glb.points(shaft)[:, 2]
    glb.lift(shaft, levels < levels.min() + 1e-4, 0.005)
    assert disagreeing(glb, tmp_path) == {("drawn.leg_length", "L05")}


@pytest.mark.parametrize("part", ["leg L05", "foot L05"])
def test_a_leg_or_its_foot_two_millimetres_aside(part: str, tmp_path: Path) -> None:
    glb = edit()
    glb.positions(glb.named(part))[:, 0] += 0.002
    assert disagreeing(glb, tmp_path) == {("drawn.leg_place", "L05")}


def test_ground_raised_under_one_foot(tmp_path: Path) -> None:
    glb = edit()
    (leg,) = [leg for leg in drawn()[1].legs if leg.id == "L04"]
    # A flat cap over the sloping ground, at the foot 5 mm above it and nowhere as high as the deck.
    level = leg.ground_elevation_m + 0.005
    reach = 0.02
    corners = [(-reach, -reach), (reach, -reach), (reach, reach), (-reach, reach)]
    ring = np.array([(leg.x_m + dx, leg.y_m + dy, level) for dx, dy in corners])
    glb.add_triangles("ground", np.array([ring[[0, 1, 2]], ring[[0, 2, 3]]]))
    assert disagreeing(glb, tmp_path) == {("drawn.foot_on_ground", "L04")}


def test_ground_raised_under_a_section_takes_its_clearance(tmp_path: Path) -> None:
    glb = edit()
    (clearance,) = [
        finding
        for finding in drawn()[1].findings
        if finding.clause == "build.clearance" and finding.subject == "S1"
    ]
    assert clearance.measured is not None
    middle = np.mean([corner_of("S1", k) for k in range(4)], axis=0)
    # A stone no vertex of the ground shows: its tip reaches to 40 mm under the deck's surface.
    tip = middle - np.array([0.0, 0.0, 0.04])
    base = [middle + np.array([dx, dy, -2.0]) for dx, dy in ((-0.03, -0.03), (0.03, -0.03), (0.0, 0.04))]
    sides = np.array([[base[k], base[(k + 1) % 3], tip] for k in range(3)])
    glb.add_triangles("ground", sides)
    assert disagreeing(glb, tmp_path) == {("drawn.clearance", "S1")}


def test_a_hole_in_the_ground_leaves_a_foot_without_ground(tmp_path: Path) -> None:
    glb = edit()
    glb.positions("ground")[:, 0] += 500.0
    report = audit_model(drawn_plan(), glb.save(tmp_path / "damaged.glb"))
    untold = {(finding.clause, finding.subject) for finding in report.pick("cannot tell")}
    assert untold == {("drawn.foot_on_ground", leg.id) for leg in drawn()[1].legs}
    assert not report.agrees


def test_a_landing_pushed_into_the_house(tmp_path: Path) -> None:
    glb = edit()
    site, _ = drawn()
    inward = -0.3 * site.yard.starts[0].outward
    glb.positions("landing P1")[:] += np.array([inward[0], 0.0, -inward[1]], dtype=np.float32)
    found = disagreeing(glb, tmp_path)
    assert ("drawn.clear_of", "P1") in found
    assert ("drawn.place", "P1") in found


def test_two_sections_pushed_into_each_other(tmp_path: Path) -> None:
    glb = edit()
    way = corner_of("S1", 0) - corner_of("S1", 3)
    way *= 0.02 / np.linalg.norm(way)
    glb.positions("section S2")[:] += np.array([way[0], way[2], -way[1]], dtype=np.float32)
    found = disagreeing(glb, tmp_path)
    assert {("drawn.apart", "S1"), ("drawn.apart", "S2"), ("drawn.place", "S2")} <= found


def test_a_lot_that_ends_under_the_ramp(tmp_path: Path) -> None:
    glb = edit()
    outline = np.array(glb.told()["lot_m"])
    middle = outline.mean(axis=0)
    glb.told()["lot_m"] = (middle + 0.05 * (outline - middle)).tolist()
    found = disagreeing(glb, tmp_path)
    # The band is where it was, so the outline is told to be wrong as well.
    assert ("drawn.lot_line", "lot line") in found
    assert {subject for clause, subject in found if clause == "drawn.inside_lot"} >= {"T1", "B1"}


def test_a_gas_meter_moved_under_the_ramp(tmp_path: Path) -> None:
    glb = edit()
    name = glb.named("obstacle gas meter")
    middle = np.mean([corner_of("S1", k) for k in range(4)], axis=0)
    move = middle - glb.points(name).mean(axis=0)
    glb.positions(name)[:] += np.array([move[0], 0.0, -move[1]], dtype=np.float32)
    assert disagreeing(glb, tmp_path) == {("drawn.clear_of", "S1")}


def test_a_foot_meets_the_pad_where_one_lies(tmp_path: Path) -> None:
    """The ground is cut out under a pad: a foot there stands on the pad, at its level."""
    glb = edit()
    name = "bottom pad B1"
    (leg,) = [leg for leg in drawn()[1].legs if leg.id == "L13"]
    place = np.array([leg.x_m, leg.y_m, leg.ground_elevation_m + 0.02])
    move = place - np.mean([corner_of("B1", k) for k in range(4)], axis=0)
    glb.positions(name)[:] += np.array([move[0], move[2], -move[1]], dtype=np.float32)
    report = audit_model(drawn_plan(), glb.save(tmp_path / "damaged.glb"))
    (found,) = [f for f in report.findings if f.clause == "drawn.foot_on_ground" and f.subject == "L13"]
    assert found.verdict == "disagrees"
    assert found.difference_m == pytest.approx(0.02, abs=1e-4)


def test_a_yard_whose_lot_line_is_not_drawn_is_audited_all_the_same(tmp_path: Path) -> None:
    """The line is drawn where ground was surveyed, and that may be nowhere along it."""
    glb = edit()
    glb.delete("lot line")
    glb.told()["parts"] -= 1
    report = audit_model(drawn_plan(), glb.save(tmp_path / "model.glb"))
    assert report.agrees
    clauses = {finding.clause for finding in report.findings}
    assert "drawn.inside_lot" in clauses
    assert "drawn.lot_line" not in clauses
