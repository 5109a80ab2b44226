"""Files that are no model of this plan are refused with what is wrong, where, and what to do."""

from __future__ import annotations

import base64
from pathlib import Path

import numpy as np
import pytest

from optimizer.audit.audit_model import audit_model
from optimizer.audit.find_model import find_model
from optimizer.errors import InputError
from tests.audit.drawn_scene import drawn_bytes, drawn_plan, edit
from tests.audit.glb_edit import GlbEdit

REMEDY = "evenfall plan"


def refusal(content: bytes, folder: Path, number: int | None = None) -> str:
    path = folder / "model.glb"
    path.write_bytes(content)
    with pytest.raises(InputError) as caught:
        audit_model(drawn_plan(), path, number)
    assert all(fault.remedy for fault in caught.value.faults)
    assert str(path) in str(caught.value) or number is not None
    return str(caught.value)


def scale(glb: GlbEdit, by: float) -> GlbEdit:
    for points in glb.every_position():
        points[:] *= np.float32(by)
    return glb


@pytest.mark.parametrize(
    ("by", "unit"),
    [(1000.0, "millimetres"), (100.0, "centimetres"), (1 / 0.0254, "inches"), (1 / 0.3048, "feet")],
)
def test_another_unit_is_named(by: float, unit: str, tmp_path: Path) -> None:
    shown = refusal(scale(edit(), by).content(), tmp_path)
    assert f"is in {unit}" in shown
    assert "glTF is in metres with y up" in shown


@pytest.mark.parametrize("by", [2.5, 0.3])
def test_a_scale_that_is_no_unit_is_refused(by: float, tmp_path: Path) -> None:
    assert "is not in metres" in refusal(scale(edit(), by).content(), tmp_path)


def test_a_scale_near_one_is_measured_and_found(tmp_path: Path) -> None:
    report = audit_model(drawn_plan(), scale(edit(), 1.01).save(tmp_path / "model.glb"))
    found = {finding.clause for finding in report.pick("disagrees")}
    assert {"drawn.length", "drawn.width", "drawn.leg_length"} <= found
    assert "drawn.slope" not in found


#: Rotations of the file's axes, as columns of a matrix in glTF's order, and what then is up.
TURNED = {
    "z": [1, 0, 0, 0, 0, 0, 1, 0, 0, -1, 0, 0, 0, 0, 0, 1],
    "-z": [1, 0, 0, 0, 0, 0, -1, 0, 0, 1, 0, 0, 0, 0, 0, 1],
    "-y": [1, 0, 0, 0, 0, -1, 0, 0, 0, 0, -1, 0, 0, 0, 0, 1],
    "x": [0, -1, 0, 0, 1, 0, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1],
    "-x": [0, 1, 0, 0, -1, 0, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1],
}


@pytest.mark.parametrize("up", sorted(TURNED))
def test_another_axis_up_is_named_when_the_points_are_turned(up: str, tmp_path: Path) -> None:
    glb = edit()
    matrix = np.array(TURNED[up], dtype=np.float32).reshape(4, 4)[:3, :3]  # its rows: images of x, y, z
    for points in glb.every_position():
        points[:] = points @ matrix
    assert f"has {up} up" in refusal(glb.content(), tmp_path)


def test_another_axis_up_is_named_when_the_nodes_are_turned(tmp_path: Path) -> None:
    glb = edit()
    for node in glb.header["nodes"]:
        if "mesh" in node:
            node["matrix"] = TURNED["z"]
    assert "has z up" in refusal(glb.content(), tmp_path)


def test_a_matrix_on_the_nodes_is_followed(tmp_path: Path) -> None:
    """Millimetres that the nodes bring back to metres are metres."""
    glb = scale(edit(), 1000.0)
    for node in glb.header["nodes"]:
        if "mesh" in node:
            node["scale"] = [0.001, 0.001, 0.001]
    assert audit_model(drawn_plan(), glb.save(tmp_path / "model.glb")).agrees


@pytest.mark.parametrize("start", ["section S2", "foot L03", "leg L05", "rail R0", "brace L"])
def test_a_missing_node_is_named(start: str, tmp_path: Path) -> None:
    glb = edit()
    names = [n["name"] for n in glb.header["nodes"] if str(n.get("name")).startswith(start)]
    glb.delete(names[0])
    shown = refusal(glb.content(), tmp_path)
    assert f"has no node {names[0]!r}" in shown
    glb.told()["parts"] -= 1
    shown = refusal(glb.content(), tmp_path)
    assert f"has no node {names[0]!r}, which the plan has. Draw it again" in shown


def test_a_missing_obstacle_is_noticed_though_the_plan_names_none(tmp_path: Path) -> None:
    glb = edit()
    glb.delete(glb.named("obstacle gas meter"))
    shown = refusal(glb.content(), tmp_path)
    assert "parts and has" in shown
    assert "every part of the ramp is there" in shown
    assert "'house'" in shown
    assert "'obstacle gas meter'" not in shown


def test_an_appended_piece_is_named_whatever_the_count_says(tmp_path: Path) -> None:
    glb = edit()
    glb.copy_node("section S2", "section S9")
    glb.mark("section S9")["id"] = "S9"
    assert "node 'section S9': is not in the plan" in refusal(glb.content(), tmp_path)


def test_a_missing_ground_is_named(tmp_path: Path) -> None:
    glb = edit()
    glb.delete("ground")
    glb.told()["parts"] -= 1
    assert "has 0 nodes of the ground" in refusal(glb.content(), tmp_path)


def test_an_appended_piece_is_named(tmp_path: Path) -> None:
    glb = edit()
    glb.copy_node("section S2", "section S9")
    glb.mark("section S9")["id"] = "S9"
    glb.told()["parts"] += 1
    shown = refusal(glb.content(), tmp_path)
    assert "node 'section S9': is not in the plan (role 'piece', id 'S9'). Take it out" in shown


def test_an_appended_mesh_without_a_mark_is_named(tmp_path: Path) -> None:
    glb = edit()
    glb.copy_node("section S2", "garden gnome")
    del glb.mesh("garden gnome")["extras"]["evenfall"]
    glb.told()["parts"] += 1
    assert "node 'garden gnome': is no part of the plan" in refusal(glb.content(), tmp_path)


def test_two_nodes_of_one_name_are_named(tmp_path: Path) -> None:
    glb = edit()
    glb.copy_node("section S2", "section S9")
    glb.header["nodes"][-1]["name"] = "section S2"
    assert "has several nodes named 'section S2'" in refusal(glb.content(), tmp_path)


def test_a_renamed_node_is_named(tmp_path: Path) -> None:
    glb = edit()
    glb.node("section S2")["name"] = "ramp"
    assert "node 'ramp': holds the mesh 'section S2'" in refusal(glb.content(), tmp_path)
    glb.mesh("ramp")["name"] = "ramp"
    shown = refusal(glb.content(), tmp_path)
    assert "has no node 'section S2'" in shown
    assert "node 'ramp': is not in the plan" in shown


@pytest.mark.parametrize(("key", "value"), [("id", "S1"), ("kind", "landing"), ("catalogue_id", "other")])
def test_a_mark_of_another_part_is_named(key: str, value: str, tmp_path: Path) -> None:
    glb = edit()
    glb.mark("section S2")[key] = value
    shown = refusal(glb.content(), tmp_path)
    assert "node 'section S2'" in shown
    assert repr(value) in shown


@pytest.mark.parametrize("walking", [0, -1, 10**9, "many", True, 1.5])
def test_a_damaged_walking_mark_is_refused(walking: object, tmp_path: Path) -> None:
    glb = edit()
    glb.mark("section S2")["walking"] = walking
    assert "node 'section S2'" in refusal(glb.content(), tmp_path)


@pytest.mark.parametrize("outline", [[], [[0, 0], [1, 1]], [[0, 0], [1, 1], [1, 0], [0, 1]], "lot", [[0]]])
def test_a_damaged_outline_of_the_lot_is_refused(outline: object, tmp_path: Path) -> None:
    glb = edit()
    glb.told()["lot_m"] = outline
    assert "scene: has no outline of the lot (lot_m)" in refusal(glb.content(), tmp_path)


@pytest.mark.parametrize("value", [np.nan, np.inf, -np.inf])
def test_a_corner_that_is_no_number_is_named(value: float, tmp_path: Path) -> None:
    glb = edit()
    glb.positions("landing P1")[7, 1] = value
    assert "node 'landing P1': has corners that are no finite numbers" in refusal(glb.content(), tmp_path)


def test_corners_beyond_the_last_are_refused(tmp_path: Path) -> None:
    glb = edit()
    primitive = glb.mesh("landing P1")["primitives"][0]
    glb.header["accessors"][primitive["attributes"]["POSITION"]]["count"] -= 3
    del primitive["attributes"]["NORMAL"]
    assert "model.glb" in refusal(glb.content(), tmp_path)


def test_a_face_that_stands_upright_is_refused(tmp_path: Path) -> None:
    glb = edit()
    glb.positions("section S2")[:, 0] = 1.0
    assert "node 'section S2': its walking face has no area in plan" in refusal(glb.content(), tmp_path)


def test_a_model_of_another_site_is_refused(tmp_path: Path) -> None:
    glb = edit()
    glb.told()["site"] = "Other house"
    shown = refusal(glb.content(), tmp_path)
    assert "scene: shows the site 'Other house'; the plan is of" in shown


def test_a_model_of_another_candidate_is_refused(tmp_path: Path) -> None:
    glb = edit()
    glb.told()["candidate"] = "candidate 7"
    assert "scene: shows 'candidate 7'" in refusal(glb.content(), tmp_path)


@pytest.mark.parametrize("number", [0, -1, 2])
def test_a_candidate_that_the_plan_has_not_is_refused(number: int, tmp_path: Path) -> None:
    assert "--candidate" in refusal(drawn_bytes(), tmp_path, number)


@pytest.mark.parametrize("told", [None, {}, {"schema": "evenfall-model-0"}, "evenfall-model-1"])
def test_a_model_that_does_not_say_what_it_shows_is_refused(told: object, tmp_path: Path) -> None:
    glb = edit()
    glb.header["scenes"][0]["extras"]["evenfall"] = told
    assert "does not say which plan it shows" in refusal(glb.content(), tmp_path)


@pytest.mark.parametrize(
    "content", [b"", b"gl", b"solid ramp\nendsolid", b'{"asset": {"version": "2.0"}}', b"PK\x03\x04zip"]
)
def test_a_file_that_is_no_glb_is_refused(content: bytes, tmp_path: Path) -> None:
    assert "is no GLB file" in refusal(content, tmp_path)


def test_a_file_that_is_not_there_or_a_folder_is_refused(tmp_path: Path) -> None:
    for path in (tmp_path / "none.glb", tmp_path):
        with pytest.raises(InputError, match="cannot be read"):
            audit_model(drawn_plan(), path)


@pytest.mark.parametrize("kept", [4, 11, 12, 19, 20, 500, 40_000, 200_000, -4, -1])
def test_a_file_cut_short_is_refused(kept: int, tmp_path: Path) -> None:
    assert "is cut short" in refusal(drawn_bytes()[:kept], tmp_path)


def test_a_file_longer_than_it_says_is_refused(tmp_path: Path) -> None:
    assert "is longer than it says" in refusal(drawn_bytes() + b"more", tmp_path)


def test_an_older_gltf_is_refused(tmp_path: Path) -> None:
    content = bytearray(drawn_bytes())
    content[4] = 1
    assert "is glTF 1, not glTF 2" in refusal(bytes(content), tmp_path)


@pytest.mark.parametrize("seed", range(40))
def test_bytes_that_fell_over_are_measured_or_refused_but_never_a_crash(seed: int, tmp_path: Path) -> None:
    chance = np.random.default_rng(seed)
    content = bytearray(drawn_bytes())
    # Half of the damage goes into the description, which is a small part of the file.
    reach = len(content) if seed % 2 else int.from_bytes(content[12:16], "little")
    for place in chance.integers(12, reach, size=4):
        content[place] = chance.integers(256)
    path = tmp_path / "model.glb"
    path.write_bytes(bytes(content))
    told = ""
    try:
        told = audit_model(drawn_plan(), path).model
    except InputError as error:
        told = str(error)
    assert str(path) in told


@pytest.mark.parametrize("scheme", ["file", "name", "data", "http"])
def test_nothing_outside_the_file_is_ever_read(scheme: str, tmp_path: Path) -> None:
    glb = edit()
    beside = tmp_path / "numbers.bin"
    beside.write_bytes(bytes(glb.binary))
    uris = {
        "file": beside.as_uri(),
        "name": beside.name,
        "data": "data:application/octet-stream;base64," + base64.b64encode(bytes(glb.binary)).decode(),
        "http": "http://192.0.2.1/numbers.bin",
    }
    glb.header["buffers"][0]["uri"] = uris[scheme]
    assert "buffers[0] points outside the file" in refusal(glb.content(), tmp_path)


def test_a_picture_outside_the_file_is_refused(tmp_path: Path) -> None:
    glb = edit()
    glb.header["images"] = [{"uri": "../secret.png"}]
    assert "images[0] points outside the file ('../secret.png'), which is never followed" in refusal(
        glb.content(), tmp_path
    )


def test_a_compressed_file_is_refused(tmp_path: Path) -> None:
    glb = edit()
    glb.header["extensionsRequired"] = ["KHR_draco_mesh_compression"]
    assert "KHR_draco_mesh_compression" in refusal(glb.content(), tmp_path)


@pytest.mark.parametrize("count", [10**12, -5, "three", None])
def test_numbers_that_are_not_there_are_not_waited_for(count: object, tmp_path: Path) -> None:
    glb = edit()
    glb.header["accessors"][0]["count"] = count
    assert "description is damaged" in refusal(glb.content(), tmp_path)
    del glb.header["accessors"][0]["bufferView"]
    assert "description is damaged" in refusal(glb.content(), tmp_path)


def test_the_model_beside_the_plan_is_found(tmp_path: Path) -> None:
    plan = tmp_path / "plan.json"
    assert find_model(plan, "elsewhere/a.glb") == Path("elsewhere/a.glb")
    with pytest.raises(InputError, match=r"no model lies there.*--as-drawn"):
        find_model(plan, "")
    (tmp_path / "other.glb").touch()
    assert find_model(plan, "") == tmp_path / "other.glb"
    (tmp_path / "third.glb").touch()
    with pytest.raises(InputError, match=r"several models lie there: other\.glb, third\.glb"):
        find_model(plan, "")
    (tmp_path / "model.glb").touch()
    assert find_model(plan, "") == tmp_path / "model.glb"
