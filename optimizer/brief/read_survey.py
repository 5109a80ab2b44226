"""Read every file of a site's survey, whether or not the rest of the site file is sound."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from optimizer.brief.gather import FaultList
from optimizer.brief.survey_tables import ScanTable, SurveyTable
from optimizer.errors import InputError
from optimizer.survey.scan_survey import OpenedScan, ScanAsked, ScanSurvey, open_scan, place_opened
from optimizer.survey.spots import SpotLevels
from optimizer.survey.survey_file import SurveyFile, read_survey_file, require_positions
from optimizer.survey.survey_kind import find_survey_kind
from optimizer.toml_file import KeyPath, TomlFile
from optimizer.toml_model import known_unit, sound_entry


@dataclass(frozen=True, slots=True)
class Surveyed:
    """What was measured: files of levels in order, and the scan, where there is one."""

    files: tuple[SurveyFile, ...]
    scan: ScanSurvey | None

    @property
    def spots(self) -> tuple[SpotLevels, ...]:
        """Levelled ground points of the files that have some."""
        return tuple(file.spots for file in self.files if file.spots is not None)


def read_survey(file: TomlFile) -> Surveyed:
    """Read ``survey`` and ``[scan]``; tables with faults of their own are left to the model to tell.

    Raises ``InputError`` with the faults of all files.  Without a scan every file must have ground
    points with positions.
    """
    found = FaultList()
    entries = file.values.get("survey")
    has_scan = "scan" in file.values
    files = []
    for index, entry in enumerate(entries if isinstance(entries, list) else ()):
        table = _sound_table(file, ("survey", index), entry)
        if table is not None:
            one = found.attempt(_read_file, file, ("survey", index), table)
            if one is not None and not has_scan:
                found.attempt(require_positions, one)
            files.append(one)
    opened = found.attempt(_open_scan, file) if has_scan else None
    # Only now: a file of levels that was refused would leave control points without their level.
    found.raise_any()
    scan = None if opened is None else place_opened(opened, [one for one in files if one is not None])
    return Surveyed(tuple(found.sound(one) for one in files), scan)


def _sound_table(file: TomlFile, keys: KeyPath, entry: object) -> SurveyTable | None:
    if isinstance(entry, str):
        return SurveyTable(file=entry) if entry else None
    return sound_entry(file, keys, SurveyTable, known_unit(file)) if isinstance(entry, Mapping) else None


def _read_file(file: TomlFile, keys: KeyPath, table: SurveyTable) -> SurveyFile:
    path = _find(file, keys, table.file, "survey")
    kind = table.kind or find_survey_kind(path)
    if kind == "spots" and (table.unit is not None or table.limit is not None):
        what = f'survey: unit or limit is given, but "{table.file}" holds spot levels by its columns.'
        raise InputError(file.fault(keys, what, "Take them out, or correct the columns."))
    rule = None if table.limit is None else table.limit.build()
    return read_survey_file(path, kind, table.unit, rule)


def _open_scan(file: TomlFile) -> OpenedScan | None:
    table = sound_entry(file, ("scan",), ScanTable, known_unit(file))
    if table is None:
        return None
    found = FaultList()
    path = found.attempt(_find, file, ("scan", "file"), table.file, "scan")
    control = found.attempt(_find, file, ("scan", "control"), table.control, "scan")
    where = file.where(("scan", "unit" if table.unit is None else "up"))
    asked = ScanAsked(found.sound(path), found.sound(control), table.unit, table.up, where)
    return open_scan(asked)


def _find(file: TomlFile, keys: KeyPath, name: str, subject: str) -> Path:
    path = file.path.parent / name
    if not path.is_file():
        what = f'{subject}: "{name}" names no file in {file.path.parent}.'
        raise InputError(file.fault(keys, what, "Name a file by its path from there."))
    return path
