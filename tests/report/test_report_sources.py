"""The survey in the report, and what it takes to make the plan again."""

from __future__ import annotations

import hashlib
import re
import shlex
import shutil
from pathlib import Path

import pytest

from optimizer.cli import run_command
from optimizer.plan import XYZ, DoubtRecord
from optimizer.plan_file import format_plan, write_plan
from optimizer.report.build_report import build_plan_report
from optimizer.report.parts import set_report
from optimizer.report.source_files import list_source_files
from tests.planned_scene import SCENES, planned
from tests.report.report_reading import (
    NOTHING_DRAWN,
    SITE,
    build,
    cut,
    job_of,
    read,
    read_pages,
    show,
    surveyed,
)

Out = pytest.CaptureFixture[str]


def test_doubts_thin_places_and_the_warning_of_the_survey_are_all_told() -> None:
    doubts = tuple(
        DoubtRecord(where=f"levels.csv:{n}", what=f"point {n} stands alone.", remedy="Shoot again.")
        for n in range(60)
    )
    spot: XYZ = (1.0, 2.0, -0.5)
    ground = planned().ground.model_copy(
        update={"doubts": doubts, "warning": "the scan was never levelled", "thin_places_m": (spot,)}
    )
    plan = planned().model_copy(update={"ground": ground})
    pages = read_pages(set_report(build(job_of(plan=plan)))[0])
    text = " ".join(pages)
    for one in doubts:
        assert f"{one.where} {one.what} {one.remedy}" in text
    assert "The scan was never levelled." in text
    assert "Thinly surveyed places" in text
    # The head stands again on every page on which the table goes on.
    on_pages = [page for page in pages if "stands alone." in page]
    assert len(on_pages) > 1
    assert all("where what what to do" in page for page in on_pages)


def test_the_survey_tells_each_file_and_the_work_of_the_ground() -> None:
    text = cut(read(build(job_of())), "The survey and its error", "Candidates")
    assert f"points of the ground {planned().ground.points_used} " in text
    for one in surveyed().files:
        assert f"{one.file} spot levels {one.used} " in text
    fit = planned().fit
    assert fit is not None
    assert f"{fit.grounds} (seed {fit.seed})" in text


def test_files_stand_with_the_hash_of_their_bytes_and_one_byte_more_shows(tmp_path: Path) -> None:
    folder = tmp_path / "site"
    shutil.copytree(SITE, folder)
    write_plan(planned(), tmp_path / "plan.json")
    before = list_source_files(tmp_path / "plan.json", folder / "site.toml")
    assert [one.name for one in before] == [
        "plan.json",
        "site.toml",
        "levels.csv",
        "gap.toml",
        "rates-usd.toml",
    ]
    for one, path in zip(
        before[:3], (tmp_path / "plan.json", folder / "site.toml", folder / "levels.csv"), strict=True
    ):
        assert one.sha256 == hashlib.sha256(path.read_bytes()).hexdigest()
        assert one.size == path.stat().st_size
    text = read(build_plan_report(job_of(), surveyed(), (), NOTHING_DRAWN, before))
    for one in before:
        assert f"{one.name} " in text
        assert f" {one.size} {one.sha256}" in text
    (folder / "levels.csv").write_bytes((folder / "levels.csv").read_bytes() + b"\n")
    after = list_source_files(tmp_path / "plan.json", folder / "site.toml")
    assert [a.sha256 == b.sha256 for a, b in zip(before, after, strict=True)] == [
        True,
        True,
        False,
        True,
        True,
    ]


def test_own_parts_and_scans_are_files_of_the_plan_too(tmp_path: Path) -> None:
    folder = tmp_path / "site"
    shutil.copytree(SCENES / "phone-scan", folder)
    text = (folder / "site.toml").read_text(encoding="utf-8")
    assert 'catalogue = "demo-millimetre"' in text
    shutil.copy(SCENES.parent / "optimizer/catalogue/demo/millimetre.toml", folder / "own.toml")
    changed = text.replace('catalogue = "demo-millimetre"', 'catalogue = "own.toml"')
    (folder / "site.toml").write_text(changed, encoding="utf-8")
    found = {one.name: one.what for one in list_source_files(folder / "site.toml", folder / "site.toml")}
    assert found["own.toml"] == "catalogue"
    assert {"book.csv", "yard.laz", "control.csv"} <= found.keys()


def test_the_command_in_the_report_makes_the_same_plan_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Out
) -> None:
    text = read(build(job_of()))
    (typed,) = re.findall(r"evenfall plan \S+ --out out", text)
    folder = tmp_path / "site"
    shutil.copytree(SITE, folder)
    monkeypatch.chdir(folder)
    assert run_command([*shlex.split(typed)[1:], "--pictures", "none"]) in (0, 1)
    capsys.readouterr()
    assert (folder / "out" / "plan.json").read_text(encoding="utf-8") == format_plan(planned())
    assert f"seed {planned().seed} " in text
    for name, version in planned().versions:
        assert f"{name} {version} " in text


def test_work_of_the_search_is_the_sum_of_its_rounds() -> None:
    text = cut(read(build(job_of())), "Work of the search", "Cautions")
    for lattice_m in {one.lattice_m for one in planned().search.rounds}:
        rounds = [one for one in planned().search.rounds if one.lattice_m == lattice_m]
        sums = [sum(getattr(one, name) for one in rounds) for name in ("states", "arcs", "tried", "priced")]
        highest = show(max(one.ceiling_cents for one in rounds))
        assert f"{lattice_m:g} m {len(rounds)} {highest} {' '.join(map(str, sums))}" in text
