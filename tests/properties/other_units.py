"""Write a site's files again in another unit, number by number."""

from __future__ import annotations

import csv
import datetime
import tomllib
from pathlib import Path

#: Metres in one unit, exact by definition.
METRES = {"m": 1.0, "mm": 0.001, "cm": 0.01, "ft": 0.3048, "in": 0.0254}
#: Numbers of a site file that are not lengths.
PLAIN = frozenset(
    {"outward_deg", "total_mass_kg", "total_mass_lb", "shown", "most_turns", "slope_levels", "flattest_share",
     "most_runs", "time_limit_s", "seed", "relief_price"}
)  # fmt: skip


def write_in_unit(folder: Path, unit: str, target: Path) -> None:
    """Copy ``site.toml`` and its levels with every bare length told in ``unit``."""
    values = tomllib.loads((folder / "site.toml").read_text())
    factor = METRES[values["unit"]] / METRES[unit]
    # What follows the file's unit when it is not said is said here, so that the unit alone changes.
    steps = (0.1524, 0.0508, 0.00254) if values["unit"] in ("ft", "in") else (0.15, 0.05, 0.0025)
    followed = dict(zip(("lattice", "finest_lattice", "height_step"), steps, strict=True))
    told = {key: scaled(key, value, factor) for key, value in values.items()} | {"unit": unit}
    told["search"] = {key: f"{step} m" for key, step in followed.items()} | scaled(
        "search", values.get("search", {}), factor
    )
    (target / "site.toml").write_text("\n".join(lines_of(told)) + "\n")
    for name in values["survey"]:
        write_levels(folder / name, target / name, unit)


def scaled(key: str, value: object, factor: float) -> object:
    """A value with every length in it scaled; texts carry their own unit."""
    if isinstance(value, dict):
        return {inner: scaled(inner, each, factor) for inner, each in value.items()}
    if isinstance(value, list):
        return [scaled(key, each, factor) for each in value]
    if isinstance(value, bool) or not isinstance(value, int | float) or key in PLAIN:
        return value
    return value * factor


def lines_of(values: dict[str, object]) -> list[str]:
    """TOML of a site file: plain values first, then tables and lists of tables."""
    plain = {key: value for key, value in values.items() if not is_table(value)}
    lines = [f"{key} = {text_of(value)}" for key, value in plain.items()]
    for key, value in values.items():
        if isinstance(value, dict):
            lines += ["", f"[{key}]", *(f"{inner} = {text_of(each)}" for inner, each in value.items())]
        elif is_table(value):
            assert isinstance(value, list)
            for one in value:
                lines += ["", f"[[{key}]]", *(f"{inner} = {text_of(each)}" for inner, each in one.items())]
    return lines


def is_table(value: object) -> bool:
    return isinstance(value, dict) or (
        isinstance(value, list) and bool(value) and isinstance(value[0], dict) and "along" not in value[0]
    )


def text_of(value: object) -> str:
    match value:
        case bool():
            return str(value).lower()
        case str():
            return f"'{value}'" if '"' in value else f'"{value}"'
        case datetime.date():
            return value.isoformat()
        case list():
            return "[" + ", ".join(text_of(each) for each in value) + "]"
        case dict():
            return "{ " + ", ".join(f"{key} = {text_of(each)}" for key, each in value.items()) + " }"
        case _:
            return repr(value)


def write_levels(source: Path, target: Path, unit: str) -> None:
    """Spot levels with every column in ``unit``."""
    with source.open(newline="") as file:
        header, *rows = list(csv.reader(file))
    units = [name.rpartition("_")[2] for name in header]
    names = [
        f"{name.rpartition('_')[0]}_{unit}" if of in METRES else name
        for name, of in zip(header, units, strict=True)
    ]
    with target.open("w", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(names)
        for row in rows:
            writer.writerow(
                repr(float(cell) * METRES[of] / METRES[unit]) if of in METRES else cell
                for cell, of in zip(row, units, strict=True)
            )
