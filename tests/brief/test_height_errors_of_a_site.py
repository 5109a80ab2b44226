"""How far a site's heights may be off: read, joined in the ground's order, and made a model of."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from optimizer.brief.height_errors import (
    MOST_SHOTS,
    LevelErrors,
    PlacedScanErrors,
    SettingSpreads,
    build_error_model,
    read_alike,
)
from optimizer.brief.read_site import read_surveyed_site
from optimizer.terrain.ground_error.shots import select_covariance
from optimizer.terrain.ground_error.sparse_errors import SparseErrors
from optimizer.terrain.triangulate import build_ground
from tests.brief.site_texts import HOUSE, LOT, RULES, SPOTS, START, TOP, read, refusal

SCENES = Path(__file__).parents[2] / "scenes"
SITE = TOP + START + HOUSE + LOT + RULES
ORIGIN = np.zeros(3)


def test_what_is_left_out_is_common_practice(tmp_path: Path) -> None:
    # Half an inch of bedding spreads by a quarter of an inch.
    assert read(tmp_path, SITE).spreads == SettingSpreads(0.003, 0.00635, 0.003)


def test_the_spreads_and_the_wish_are_read(tmp_path: Path) -> None:
    keys = 'reading_error = "5 mm"\nbedding_error = "2 mm"\nsetting_error = "1/4 in"\n'
    site = read(tmp_path, f"{SITE}[ground]\n{keys}[wishes]\nfit_at_least = 0.98\n")
    assert site.spreads == SettingSpreads(0.005, 0.002, 0.00635)
    assert site.wishes.fit_at_least == 0.98
    assert isinstance(site.height_errors, LevelErrors)
    assert np.array_equal(site.height_errors.covariance_m2, np.eye(len(SPOTS)) * 0.005**2)


@pytest.mark.parametrize(
    ("rest", "told"),
    [
        ('[ground]\nreading_error = "-1 mm"', 'reading_error = "-1 mm" must be at least 0'),
        ('[ground]\nbedding_error = "much"', "bedding_error"),
        ("[ground]\nsetting_error = -1", "setting_error"),
        ("[wishes]\nfit_at_least = 0", "must be above 0"),
        ("[wishes]\nfit_at_least = 1", "must be below 1"),
        ("[wishes]\nfit_at_least = 98", "must be below 1"),
        ('[wishes]\nfit_at_least = "98 %"', "fit_at_least"),
    ],
)
def test_an_error_or_a_wish_that_is_none_is_refused(tmp_path: Path, rest: str, told: str) -> None:
    message = refusal(tmp_path, f"{SITE}{rest}\n")
    assert told in message
    assert "site.toml:" in message


def test_a_level_book_brings_its_covariance_in_the_order_of_the_ground() -> None:
    surveyed = read_surveyed_site(SCENES / "level-book")
    (file,), errors = surveyed.surveyed.files, surveyed.site.height_errors
    assert file.levelled is not None
    assert isinstance(errors, LevelErrors)
    wanted = select_covariance(file.levelled, surveyed.site.ground.point_names)
    assert np.array_equal(errors.covariance_m2, wanted)
    # Points shot from one set-up share its errors.
    assert np.abs(wanted - np.diag(np.diag(wanted))).max() > 0.0


def test_a_scan_is_known_by_its_placing_better_near_its_control_points() -> None:
    site = read_surveyed_site(SCENES / "phone-scan").site
    errors = site.height_errors
    assert isinstance(errors, PlacedScanErrors)
    model = build_error_model(errors, site.ground, site.origin_shift_m, np.zeros((0, 2)))
    control = errors.control_m - site.origin_shift_m[:2]
    middle = control.mean(axis=0)[None]
    far = errors.cells.xy_m - site.origin_shift_m[:2]
    farthest = far[np.hypot(*(far - middle).T).argmax()][None]
    near_error, far_error = model.standard_error(middle)[0], model.standard_error(farthest)[0]
    assert 0.0 < near_error < far_error < 0.1
    # Places near each other share what the placing is off.
    assert model.covariance(middle, middle + 0.5)[0, 0] > 0.0
    assert np.isnan(model.expected(middle + 500.0)).all()


def test_of_many_levels_the_nearest_are_solved() -> None:
    xy = np.stack(np.meshgrid(np.arange(10.0), np.arange(10.0)), axis=-1).reshape(-1, 2)
    levels = np.column_stack((xy, 0.02 * xy[:, 0]))
    ground = build_ground(levels, tuple(f"P{n}" for n in range(100)), (), None, None, "levels.csv")
    near = np.array([[0.0, 0.0], [1.0, 0.0]])
    model = build_error_model(read_alike(100, 0.003), ground, ORIGIN, near)
    assert isinstance(model, SparseErrors)
    assert len(model.shots.names) == MOST_SHOTS
    left_out = {f"P{n}" for n in range(100)} - set(model.shots.names)
    assert "P0" not in left_out
    assert "P99" in left_out
    # Of few levels all are solved.
    few = build_ground(levels[:60], tuple(f"P{n}" for n in range(60)), (), None, None, "levels.csv")
    whole = build_error_model(read_alike(60, 0.003), few, ORIGIN, near)
    assert isinstance(whole, SparseErrors)
    assert len(whole.shots.names) == 60
