"""Read a whole job: site file, survey, catalogue, rates and rules, with every fault at once."""

from __future__ import annotations

import functools
from pathlib import Path
from typing import Final

from optimizer.brief.assemble_site import NamedInputs, assemble_site, list_currency_faults
from optimizer.brief.build_settings import build_rules
from optimizer.brief.gather import FaultList
from optimizer.brief.join_spots import join_spots
from optimizer.brief.site import Site
from optimizer.brief.site_file import SiteFile
from optimizer.catalogue.demo_files import find_catalogue, find_rates
from optimizer.catalogue.parts import Catalogue
from optimizer.catalogue.rates import Rates
from optimizer.catalogue.read_catalogue import read_catalogue
from optimizer.catalogue.read_rates import read_rates
from optimizer.errors import InputError
from optimizer.survey.spots import SpotLevels, read_spots
from optimizer.toml_file import TomlFile, read_toml
from optimizer.toml_model import check_model, known_unit

SITE_FILE_NAME: Final = "site.toml"


def read_site(path: Path) -> Site:
    """Read the job at ``path``: a folder with ``site.toml``, or such a file itself.

    The site frame is the survey's, shifted by whole metres so that the first start's sill is
    near the origin (``Site.origin_shift_m``).  Raises ``InputError`` with the faults of all
    files, each with file, line, value and remedy; what rests on a faulty file is not looked at
    before that file is sound.
    """
    file = read_toml(path / SITE_FILE_NAME if path.is_dir() else path)
    found = FaultList()
    model = found.attempt(check_model, file, SiteFile, known_unit(file))
    survey = found.attempt(_read_survey, file)
    catalogue = found.attempt(_read_catalogue, file)
    rates = found.attempt(_read_rates, file)
    found.add(list_currency_faults(file, catalogue, rates))
    if model is None or survey is None:
        raise InputError(*found.faults)
    rules = found.attempt(build_rules, model.rules, model.unit, file)
    inputs = NamedInputs(catalogue, rates, rules)
    return assemble_site(model, file, functools.partial(join_spots, survey), inputs, found)


def _read_survey(file: TomlFile) -> tuple[SpotLevels, ...]:
    """Every survey file the site names, whether or not the rest of the site file is sound."""
    names = file.values.get("survey")
    found = FaultList()
    spots = []
    for index, name in enumerate(names if isinstance(names, list) else ()):
        if isinstance(name, str) and name:
            path = file.path.parent / name
            if path.is_file():
                spots.append(found.attempt(read_spots, path))
            else:
                what = f'survey: "{name}" names no file in {file.path.parent}.'
                remedy = "Name a file by its path from there."
                found.add([file.fault(("survey", index), what, remedy)])
    found.raise_any()
    return tuple(found.sound(each) for each in spots)


def _read_catalogue(file: TomlFile) -> Catalogue | None:
    """The catalogue the site names; ``None`` when it names none (the model's fault)."""
    name = file.values.get("catalogue")
    if not isinstance(name, str):
        return None
    return read_catalogue(find_catalogue(name, file.path.parent, file.where(("catalogue",))))


def _read_rates(file: TomlFile) -> Rates | None:
    name = file.values.get("rates")
    if not isinstance(name, str):
        return None
    return read_rates(find_rates(name, file.path.parent, file.where(("rates",))))
