"""Stills drawn in a process of their own: whole, with the colours of what they show."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from optimizer.brief.site import Site
from optimizer.errors import DrawingError
from optimizer.plan import Candidate, Finding, Plan
from viewer import stills
from viewer.facts import build_words
from viewer.look import FINISHES, parse_colour
from viewer.probe import build_drawing_environment
from viewer.remarks import choose_figure_place, mark_busy
from viewer.render import VIEWS, build_scene, choose_camera
from viewer.sheet import FOOT_PX, HEADING_PX, measure_drawing

DRAW = """
import sys
from pathlib import Path
from tests.viewer import sample
from viewer.stills import write_still
site = sample.build_site()
plan = sample.build_plan(site)
for view in ("overview", "street"):
    write_still(plan, plan.candidates[0], site, Path(sys.argv[1]) / f"{view}.png", (1200, 800), view)
"""


@pytest.fixture(scope="module")
def pictures(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Image.Image]:
    folder = tmp_path_factory.mktemp("stills")
    ended = subprocess.run(
        (sys.executable, "-c", DRAW, str(folder)),
        check=False,
        capture_output=True,
        text=True,
        env=build_drawing_environment(),
        cwd=Path(__file__).parents[2],
        timeout=180,
    )
    assert ended.returncode == 0, ended.stderr
    assert sorted(path.name for path in folder.iterdir()) == ["overview.png", "street.png"]
    return {view: Image.open(folder / f"{view}.png").convert("RGB") for view in VIEWS}


def count_pixels(picture: Image.Image, colour: str, hue_slack: float) -> int:
    """Pixels whose colour, apart from its brightness, is that of ``colour``."""
    pixels = np.asarray(picture, dtype=np.float64)[HEADING_PX:-FOOT_PX] / 255.0
    wanted = np.array(parse_colour(colour))
    shade = pixels / np.maximum(pixels.sum(axis=2, keepdims=True), 1e-9)
    return int((np.abs(shade - wanted / wanted.sum()).max(axis=2) < hue_slack).sum())


@pytest.mark.needs_gl
@pytest.mark.slow
@pytest.mark.parametrize("view", VIEWS)
def test_a_still_has_its_size_and_shows_decks_landings_ground_and_house(
    pictures: dict[str, Image.Image], view: str
) -> None:
    picture = pictures[view]
    assert picture.size == (1200, 800)
    assert count_pixels(picture, FINISHES["deck"].colour, 0.02) > 2000
    assert count_pixels(picture, FINISHES["landing"].colour, 0.03) > 400
    assert count_pixels(picture, FINISHES["ground"].colour, 0.02) > 40_000
    assert count_pixels(picture, FINISHES["house"].colour, 0.02) > 10_000


@pytest.mark.needs_gl
@pytest.mark.slow
@pytest.mark.parametrize("view", VIEWS)
def test_heading_and_foot_are_written_on_paper(pictures: dict[str, Image.Image], view: str) -> None:
    pixels = np.asarray(pictures[view], dtype=np.float64)
    for band in (pixels[: HEADING_PX - 2], pixels[-FOOT_PX + 2 :]):
        assert np.median(band) > 245.0
        assert 0.01 < (band.min(axis=2) < 140.0).mean() < 0.2


@pytest.mark.needs_gl
@pytest.mark.slow
def test_the_two_views_differ(pictures: dict[str, Image.Image]) -> None:
    first, second = (np.asarray(pictures[view], dtype=np.float64) for view in VIEWS)
    assert np.abs(first - second)[HEADING_PX:-FOOT_PX].mean() > 5.0


@pytest.mark.parametrize("view", VIEWS)
def test_the_figure_stands_clear_of_the_ramp_and_inside_the_picture(
    site: Site, candidate: Candidate, view: str
) -> None:
    size = measure_drawing(stills.STILL_SIZE)
    scene = build_scene(site, candidate)
    camera = choose_camera(scene, "overview" if view == "overview" else "street", size)
    busy = mark_busy(site, candidate, scene, camera, size)
    place = choose_figure_place(scene, camera, busy)
    assert place is not None
    assert site.ground.elevation(place[None, :2])[0] == pytest.approx(place[2])
    assert busy.any()


def test_the_heading_says_price_rise_slope_and_length(site: Site, plan: Plan, candidate: Candidate) -> None:
    heading = stills.build_heading(plan, candidate, build_words(site, candidate))
    assert heading.title == "Sample house on a slope"
    assert heading.below == "A: L-shaped, out to the right"
    assert dict(heading.figures) == {
        "price": "8,244.50 EUR",
        "rise at the tip": "1129 mm ± 22 mm",  # twice the 11 mm that levels miss each other by
        "steepest slope": "1:10.58 (9.5 %)",
        "walking length": "15100 mm",
    }
    assert heading.warning == ""


def test_a_broken_clause_is_told_on_the_picture(site: Site, plan: Plan, candidate: Candidate) -> None:
    finding = Finding(
        rules="own-limits",
        clause="1",
        measured=0.0945,
        operator="<=",
        limit=1 / 12,
        unit="",
        where_m=None,
        subject="S1",
        verdict="fails",
        text="",
        how_known="own",
    )
    broken = candidate.model_copy(update={"findings": (finding,)})
    assert stills.build_heading(plan, broken, build_words(site, candidate)).warning == "1 check fails"


def test_files_are_named_after_candidate_and_view(candidate: Candidate) -> None:
    named = candidate.model_copy(update={"name": "candidate 2"})
    assert stills.name_still(2, named, "street") == "candidate-2-street.png"
    assert stills.name_still(1, candidate, "overview") == "a-1-overview.png"


def test_a_child_that_cannot_read_its_files_is_told_as_a_sentence(tmp_path: Path) -> None:
    with pytest.raises(DrawingError, match=r"plan\.json"):
        stills.write_stills(tmp_path / "plan.json", tmp_path, tmp_path)


def test_a_child_that_is_killed_is_told_with_the_package_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    killer = tmp_path / "python"
    killer.write_text("#!/bin/sh\nkill -SEGV $$\n")
    killer.chmod(0o755)
    monkeypatch.setattr(stills.sys, "executable", str(killer))
    with pytest.raises(DrawingError, match="libegl1"):
        stills.write_stills(tmp_path / "plan.json", tmp_path, tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["python"]
