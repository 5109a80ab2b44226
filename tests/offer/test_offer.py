"""Quotation, handover card and removal sheet: every figure the plan's, read back from the PDF."""

from __future__ import annotations

import io
from dataclasses import replace
from pathlib import Path

import pytest
from pypdf import PdfReader

from optimizer.assembly.removal_order import find_removal_order
from optimizer.cli import run_command
from optimizer.documents.job import DocumentJob
from optimizer.offer.handover_card import build_handover_card
from optimizer.offer.page import Page, set_page
from optimizer.offer.quotation import OfferTerms, build_quotation, count_hours
from optimizer.offer.removal_sheet import build_removal_sheet
from optimizer.plan_file import write_plan
from tests.planned_scene import planned, planned_site

Out = pytest.CaptureFixture[str]
SITE = str(planned_site().path)
TERMS = OfferTerms("2026-03-20", "2026-04-19")


def job_of(number: int) -> DocumentJob:
    return DocumentJob(planned(), planned_site(), planned().candidates[number - 1], number, "a4")


def read(page: Page) -> str:
    reader = PdfReader(io.BytesIO(set_page(page)[0]))
    text = " ".join(part.extract_text() for part in reader.pages)
    return " ".join(text.replace("\u00a0", " ").split())


@pytest.mark.parametrize("number", [1, 2])
def test_the_quotation_is_one_page_whose_sums_are_the_plans(number: int) -> None:
    job = job_of(number)
    page = build_quotation(job, TERMS, b"")
    assert len(PdfReader(io.BytesIO(set_page(page)[0])).pages) == 1
    text = read(page)
    currency = job.plan.currency
    lines = {line.part: line.total_cents for line in job.candidate.price_lines if line.group == "added"}
    rest = job.candidate.price_cents - lines["tax"] - lines["delivery"]
    for cents in (job.candidate.price_cents, lines["tax"], lines["delivery"], rest):
        assert f"{cents / 100:,.2f} {currency}" in text
    for words in ("valid until 2026-04-19", "Not included", "no way in or out", "no approval", "Accepted"):
        assert words in text


def test_hours_are_those_of_the_parts_counted_by_hand() -> None:
    job = job_of(1)
    catalogue = job.site.catalogue
    used = [piece.catalogue_id for piece in job.candidate.pieces]
    used += [part for leg in job.candidate.legs for part in (leg.leg_type, leg.foot, leg.brace) if part]
    used += [rail.catalogue_id for rail in job.candidate.rails]
    assert count_hours(job) == pytest.approx(sum(catalogue.part(one).labour_min for one in used) / 60.0)


@pytest.mark.parametrize("number", [1, 2])
def test_the_removal_sheet_has_every_piece_in_the_computed_order_and_every_part(number: int) -> None:
    job = job_of(number)
    text = read(build_removal_sheet(job))
    order = [step.piece for step in find_removal_order(job.candidate, job.site.catalogue)]
    assert sorted(order) == sorted(piece.id for piece in job.candidate.pieces)
    places = [text.index(f"{place} {piece} ") for place, piece in enumerate(order, start=1)]
    assert places == sorted(places)
    for line in job.candidate.price_lines:
        if line.group == "direct":
            assert f"{line.part} {line.count}" in text
    assert "Nobody under a section that is not carried at both ends" in text


def test_the_card_tells_slope_climb_and_weight_of_the_plan() -> None:
    job = job_of(1)
    text = read(build_handover_card(job))
    assert f"{job.site.rider.total_mass_kg:.0f} kg" in text
    assert "Do not use it, and call, when" in text
    assert "No approval of any authority" in text


def test_names_are_text_whatever_they_hold() -> None:
    job = job_of(1)
    named = job.plan.model_copy(
        update={"site": job.plan.site.model_copy(update={"name": '#emph[x] $y$ "=1" Straße ラ'})}
    )
    text = read(build_handover_card(replace(job, plan=named)))
    assert '#emph[x] $y$ "=1" Straße' in text


def test_the_same_plan_and_date_give_the_same_bytes_in_every_file(tmp_path: Path, capsys: Out) -> None:
    write_plan(planned(), tmp_path / "plan.json")
    made = []
    for name in ("a", "b"):
        words = ["offer", str(tmp_path / "plan.json"), "--dated", "2026-03-20", "--out", str(tmp_path / name)]
        assert run_command([*words, "--site", SITE]) == 0
        made.append({path.name: path.read_bytes() for path in (tmp_path / name).iterdir()})
    assert made[0] == made[1]
    assert set(made[0]) == {"quotation.pdf", "handover-card.pdf", "removal-sheet.pdf"}
    assert "written:" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--dated", "20.3.2026"], "Write it as 2026-03-14"),
        (["--valid-days", "0"], "is no time to answer in"),
        (["--candidate", "99"], "99 is not a candidate"),
    ],
)
def test_what_cannot_be_offered_is_bad_input_and_nothing_is_written(
    words: list[str], told: str, tmp_path: Path, capsys: Out
) -> None:
    write_plan(planned(), tmp_path / "plan.json")
    out = tmp_path / "out"
    command = ["offer", str(tmp_path / "plan.json"), "--site", SITE, "--out", str(out), *words]
    assert run_command(command) == 3
    assert told in capsys.readouterr().err
    assert not out.exists()


def test_a_folder_that_cannot_be_written_is_bad_input(tmp_path: Path, capsys: Out) -> None:
    write_plan(planned(), tmp_path / "plan.json")
    (tmp_path / "file").write_text("", encoding="utf-8")
    command = ["offer", str(tmp_path / "plan.json"), "--site", SITE]
    assert run_command([*command, "--out", str(tmp_path / "file")]) == 3
    assert "file" in capsys.readouterr().err
