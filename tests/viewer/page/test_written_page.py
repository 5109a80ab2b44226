"""The files: the page, and beside it one model a candidate, true to size and readable by others."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pygltflib
import pytest
from PIL import Image

from optimizer.errors import DrawingError, OutputError
from optimizer.plan_file import write_plan
from tests.planned_scene import NAME, SCENES, planned
from tests.viewer.page.made_job import build_pictures, made_plan, made_site
from tests.viewer.test_glb import read_accessor, to_site_frame
from viewer.look import FINISHES, measure_linear
from viewer.page.client_page import PageWish
from viewer.page.pictures import PAGE_VIEWS, SIZE, draw_pictures
from viewer.page.written_page import write_page

WISH = PageWish(("en", "es"))


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, ...]:
    path = tmp_path_factory.mktemp("page") / "to-send.html"
    return write_page(made_plan(), made_site(), WISH, build_pictures(3), path).files


def test_page_and_models_lie_beside_each_other(files: tuple[Path, ...]) -> None:
    names = ["to-send.html", "to-send-1.glb", "to-send-2.glb", "to-send-3.glb"]
    assert [path.name for path in files] == names
    assert sorted(path.name for path in files[0].parent.iterdir()) == sorted(names)


def test_every_leg_ends_where_the_plan_says(files: tuple[Path, ...]) -> None:
    for path, candidate in zip(files[1:], made_plan().candidates, strict=True):
        file = pygltflib.GLTF2.load_from_bytes(path.read_bytes())
        boxes = {}
        for node in file.nodes:
            if node.mesh is not None:
                (primitive,) = file.meshes[node.mesh].primitives
                points = to_site_frame(read_accessor(file, primitive.attributes.POSITION))
                boxes[node.name] = points.min(axis=0), points.max(axis=0)
        for leg in candidate.legs:
            word = "leg" if leg.kind == "leg" else "low support"
            low, high = boxes[f"{word} {leg.id} ({leg.leg_type})"]
            # The file holds 32 bit numbers: a micrometre over ten metres.
            assert abs(low[2] - (leg.frame_elevation_m - leg.height_m)) < 2e-6
            assert abs(high[2] - leg.frame_elevation_m) < 0.1  # the bracket reaches up the frame
            assert low[0] < leg.x_m < high[0]
            assert low[1] < leg.y_m < high[1]


def test_a_model_is_in_metres_with_its_ground_up_and_linear_colours(files: tuple[Path, ...]) -> None:
    file = pygltflib.GLTF2.load_from_bytes(files[1].read_bytes())
    (node,) = [node for node in file.nodes if node.name == "ground"]
    (primitive,) = file.meshes[node.mesh].primitives
    points = read_accessor(file, primitive.attributes.POSITION)
    size = points.max(axis=0) - points.min(axis=0)
    assert np.allclose(size[[0, 2]], [18.0, 12.0], atol=1e-5)
    faces = read_accessor(file, primitive.indices).astype(np.int64).reshape(-1, 3)
    a, b, c = (points[faces[:, k]] for k in range(3))
    assert (np.cross(b - a, c - a)[:, 1] > 0.0).all()  # y is up in glTF
    colour = file.materials[primitive.material].pbrMetallicRoughness.baseColorFactor[:3]
    assert np.allclose(colour, measure_linear(FINISHES["ground"].colour), atol=0.5 / 255.0)


def test_no_model_names_the_site(files: tuple[Path, ...]) -> None:
    for path in files[1:]:
        assert b"Nook" not in path.read_bytes()


def test_a_place_that_cannot_be_written_is_told_and_nothing_is_left(tmp_path: Path) -> None:
    taken = tmp_path / "taken"
    taken.write_text("a file, no folder")
    with pytest.raises(OutputError, match="taken"):
        write_page(made_plan(), made_site(), WISH, (), taken / "ramp.html")
    folder = tmp_path / "ramp.html"
    folder.mkdir()
    with pytest.raises(OutputError, match=r"ramp\.html.*is a folder"):
        write_page(made_plan(), made_site(), WISH, (), folder)
    assert sorted(path.name for path in tmp_path.rglob("*")) == ["ramp.html", "taken"]


def test_a_plan_without_candidates_leaves_no_folder(tmp_path: Path) -> None:
    with pytest.raises(DrawingError, match="no candidate"):
        write_page(
            made_plan().model_copy(update={"candidates": ()}),
            made_site(),
            WISH,
            (),
            tmp_path / "new" / "x.html",
        )
    assert list(tmp_path.iterdir()) == []


@pytest.mark.needs_gl
def test_pictures_of_a_plan_are_drawn_three_a_candidate(tmp_path: Path) -> None:
    plan = planned().model_copy(update={"candidates": planned().candidates[:2]})
    write_plan(plan, tmp_path / "plan.json")
    pictures = draw_pictures(tmp_path / "plan.json", SCENES / NAME)
    assert [(one.candidate, one.view) for one in pictures] == [
        (n, view) for n in (0, 1) for view in PAGE_VIEWS
    ]
    for one in pictures:
        image = Image.open(io.BytesIO(one.content))
        assert image.size == SIZE
        # The decks are blue: some of them are to be seen from everywhere.
        pixels = np.asarray(image.convert("RGB"), dtype=np.int64)
        assert (pixels[:, :, 2] > pixels[:, :, 0] + 25).mean() > 0.005
        assert len(one.content) < 120_000


@pytest.mark.needs_gl
def test_a_site_that_is_not_the_plans_is_told(tmp_path: Path) -> None:
    write_plan(planned(), tmp_path / "plan.json")
    with pytest.raises(DrawingError, match="site"):
        draw_pictures(tmp_path / "plan.json", SCENES / "fall-to-street")
