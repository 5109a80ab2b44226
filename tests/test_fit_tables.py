"""Places of the shots that help most, told from the door."""

from __future__ import annotations

from pathlib import Path

import pytest

from optimizer.cli import run_command

Out = pytest.CaptureFixture[str]


def test_a_shot_at_a_foot_is_told_along_the_wall_and_out_from_it_as_the_sheet_tells_it(
    tmp_path: Path, capsys: Out
) -> None:
    site = "scenes/level-book"
    run_command(["plan", site, "--out", str(tmp_path), "--pictures", "none"])
    capsys.readouterr()
    plan = str(tmp_path / "plan.json")
    assert run_command(["measure-here", plan]) == 0
    shown = capsys.readouterr().out
    assert run_command(["survey-sheet", site, "--plan", plan, "--out", str(tmp_path / "sheet")]) == 0
    book = (tmp_path / "sheet" / "level-book.csv").read_text(encoding="utf-8").splitlines()
    columns = book[0].split(",")
    along, out = columns.index("along_wall_ft"), columns.index("out_from_wall_ft")
    shots = {row.split(",")[0]: row.split(",") for row in book[1:]}
    at_legs = shown.split("One shot at each leg")[1].splitlines()
    compared = 0
    for line in at_legs:
        leg = line.split(" ")[0]
        if leg not in shots:
            continue
        along_in, out_in = (round(96 * float(shots[leg][i])) / 8 for i in (along, out))
        side = "right" if along_in >= 0 else "left"
        assert f"{_feet(abs(along_in))} {side}" in line
        assert f"{_feet(abs(out_in))} out" in line
        compared += 1
    assert compared >= 4


def _feet(inches: float) -> str:
    feet, rest = divmod(inches, 12)
    whole, eighths = divmod(round(rest * 8), 8)
    fraction = {0: "", 1: "1/8", 2: "1/4", 3: "3/8", 4: "1/2", 5: "5/8", 6: "3/4", 7: "7/8"}[eighths]
    shown = " ".join(part for part in (str(whole) if whole or not fraction else "", fraction) if part)
    return f"{int(feet)}' {shown}\"" if feet else f'{shown}"'
