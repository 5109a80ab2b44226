"""The unit a site is written in does not change a price."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from optimizer.brief.read_site import read_site
from tests.properties.never_dearer import shape_costs
from tests.properties.other_units import write_in_unit
from tests.properties.scene_sites import SCENES, TOP, ceiling_of, coarse, coarse_scene


@pytest.mark.parametrize(
    ("name", "unit"),
    [
        ("fall-to-street", "m"),
        ("fall-to-street", "in"),
        ("retaining-wall", "ft"),
        ("rise-away", "mm"),
        ("rise-away", "ft"),
    ],
)
def test_a_scene_written_in_another_unit_keeps_every_price(name: str, unit: str, tmp_path: Path) -> None:
    write_in_unit(TOP / "scenes" / name, unit, tmp_path)
    assert f'unit = "{unit}"' in (tmp_path / "site.toml").read_text()
    again = read_site(tmp_path)
    scene = coarse_scene(name)
    assert again.search == read_site(TOP / "scenes" / name).search
    assert np.allclose(
        again.origin_shift_m + again.ground.points_m, scene.origin_shift_m + scene.ground.points_m
    )
    costs = shape_costs(scene, ceiling_of(name))
    assert costs
    assert shape_costs(coarse(again), ceiling_of(name)) == costs


def test_all_scenes_are_written_in_another_unit() -> None:
    assert set(SCENES) == {"fall-to-street", "retaining-wall", "rise-away"}
