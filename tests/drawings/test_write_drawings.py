"""The files of a set: whole or not at all, the same again, and any name as text."""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from optimizer.drawings.build_set import build_set
from optimizer.drawings.compose_sheets import compose_sheets
from optimizer.drawings.geojson_file import build_geojson
from optimizer.drawings.scales import ISO_PAPERS
from optimizer.drawings.set_sheets import set_drawings
from optimizer.drawings.write_drawings import write_drawings
from optimizer.errors import DrawingError, InputError, OutputError
from optimizer.terrain.yard import Obstacle
from tests.drawings.drawn_ramps import draw_ramp
from tests.drawings.pdf_lines import read_all_text

NAMES = ("candidate-1-drawings.pdf", "candidate-1-drawings.dxf", "candidate-1-drawings.geojson")
AGAIN = """
import hashlib, sys
from pathlib import Path
from optimizer.drawings.write_drawings import write_drawings
from optimizer.terrain.yard import Obstacle
from tests.drawings.drawn_ramps import draw_ramp
drawn = draw_ramp("straight", "ft-in")
for path in write_drawings(drawn.site, drawn.plan, 1, "us", Path(sys.argv[1])):
    print(hashlib.sha256(path.read_bytes()).hexdigest())
"""


def test_all_files_are_written_and_named(tmp_path: Path) -> None:
    drawn = draw_ramp("straight", "mm")
    written = write_drawings(drawn.site, drawn.plan, 1, "iso", tmp_path / "new")
    assert [one.name for one in written] == list(NAMES)
    assert sorted(one.name for one in (tmp_path / "new").iterdir()) == sorted(NAMES)


def test_another_process_writes_the_same_bytes(tmp_path: Path) -> None:
    told = []
    for seed in ("1", "2"):
        place = {**os.environ, "PYTHONHASHSEED": seed}
        run = [sys.executable, "-c", AGAIN, str(tmp_path / seed)]
        top = Path(__file__).parents[2]
        told.append(
            subprocess.run(run, env=place, cwd=top, capture_output=True, text=True, check=True).stdout
        )
    assert len(told[0].split()) == len(NAMES)
    assert told[0] == told[1]


@pytest.mark.parametrize("number", [0, 2])
def test_a_candidate_that_is_not_there_is_refused(number: int, tmp_path: Path) -> None:
    drawn = draw_ramp("straight", "mm")
    with pytest.raises(InputError, match=f"--candidate: {number} is not a candidate. The plan has 1 to 1"):
        write_drawings(drawn.site, drawn.plan, number, "iso", tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_a_plan_without_a_layout_says_so(tmp_path: Path) -> None:
    drawn = draw_ramp("straight", "mm")
    plan = drawn.plan.model_copy(update={"candidates": ()})
    with pytest.raises(InputError, match="It has no layout"):
        write_drawings(drawn.site, plan, 1, "iso", tmp_path)


def test_a_door_that_the_site_has_not_is_named(tmp_path: Path) -> None:
    drawn = draw_ramp("straight", "mm")
    moved = drawn.candidate.model_copy(update={"start": "back door"})
    plan = drawn.plan.model_copy(update={"candidates": (moved,)})
    with pytest.raises(InputError, match='the plan starts at "back door", which this site does not have'):
        write_drawings(drawn.site, plan, 1, "iso", tmp_path)


def test_a_folder_that_is_a_file_takes_nothing(tmp_path: Path) -> None:
    drawn = draw_ramp("straight", "mm")
    (tmp_path / "taken").write_text("mine")
    with pytest.raises(OutputError, match="taken: results cannot be written there"):
        write_drawings(drawn.site, drawn.plan, 1, "iso", tmp_path / "taken")
    assert (tmp_path / "taken").read_text() == "mine"


def test_names_are_text_whatever_they_hold() -> None:
    drawn = draw_ramp("straight", "mm")
    odd = '#text(red)[Łódź] *ż* $x$ <a> \\ "q" Ærø'
    plan = drawn.plan.model_copy(update={"site": drawn.plan.site.model_copy(update={"name": odd})})
    outline = np.array([[2.0, 2.0], [2.5, 2.0], [2.5, 2.5], [2.0, 2.5]])
    obstacle = Obstacle("#pear *tree* ñ", outline, None, may_stand=False)
    site = replace(drawn.site, yard=replace(drawn.site.yard, obstacles=(obstacle,)))
    (pdf,) = set_drawings(build_set(site, plan, 1, "iso"), "pdf")
    text = read_all_text(pdf)
    assert odd in text
    assert "#pear *tree* ñ" in text
    (start,) = (one for one in site.yard.starts if one.name == drawn.candidate.start)
    assert "#pear *tree* ñ" in build_geojson(site, start, drawn.candidate).decode("utf-8")


def test_a_greater_lot_takes_greater_paper_or_a_smaller_scale_and_one_beyond_all_is_refused() -> None:
    drawn = draw_ramp("straight", "mm")
    start = drawn.site.yard.starts[0]
    ramp = np.concatenate([np.array(one.corners_m)[:, :2] for one in drawn.candidate.pieces])
    middle = (ramp.min(axis=0) + ramp.max(axis=0)) / 2.0

    def draw(side_m: float) -> tuple[str, str]:
        lot = middle + side_m * np.array([[-0.5, -0.5], [0.5, -0.5], [0.5, 0.5], [-0.5, 0.5]])
        site = replace(drawn.site, yard=replace(drawn.site.yard, lot_m=lot))
        sheet = compose_sheets(site, start, drawn.candidate, ISO_PAPERS)[0]
        return sheet.paper.name, sheet.scale_words

    assert draw(14.0) == ("A3", "1:100")
    assert draw(22.0) == ("A2", "1:100")
    assert draw(60.0) == ("A1", "1:200")
    assert draw(160.0) == ("A1", "1:500")
    with pytest.raises(DrawingError, match="Site plan: does not fit on A0 at any scale there is"):
        draw(900.0)
