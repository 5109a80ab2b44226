"""Read a whole job: site file, survey, catalogue, rates and rules, with every fault at once."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np

from optimizer.brief.build_settings import (
    build_display,
    build_rider,
    build_rules,
    build_search_settings,
    build_wishes,
)
from optimizer.brief.build_yard import build_ground_of, build_wall_frame, build_yard
from optimizer.brief.check_wishes import check_locks, check_slopes
from optimizer.brief.gather import FaultList
from optimizer.brief.join_spots import join_spots
from optimizer.brief.locate import Locator
from optimizer.brief.place_faults import place_faults
from optimizer.brief.site import Site, Wishes
from optimizer.brief.site_file import SiteFile
from optimizer.catalogue.demo_files import find_catalogue, find_rates
from optimizer.catalogue.parts import Catalogue
from optimizer.catalogue.rates import Rates
from optimizer.catalogue.read_catalogue import read_catalogue
from optimizer.catalogue.read_rates import read_rates
from optimizer.errors import Fault, InputError
from optimizer.survey.spots import SpotLevels, read_spots
from optimizer.terrain.check_yard import check_yard
from optimizer.terrain.ground import Ground
from optimizer.terrain.yard import Points, Yard
from optimizer.toml_file import TomlFile, read_toml
from optimizer.toml_model import check_model, known_unit

SITE_FILE_NAME: Final = "site.toml"


@dataclass(frozen=True, slots=True)
class _Surroundings:
    """What stands and lies around, in survey coordinates less ``shift_m`` (3,)."""

    yard: Yard
    ground: Ground
    wishes: Wishes
    shift_m: Points


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
    found.add(_currency_faults(file, catalogue, rates))
    if model is None or survey is None:
        raise InputError(*found.faults)
    rules = found.attempt(build_rules, model.rules, model.unit, file)
    search = found.attempt(build_search_settings, model.search, model.unit, file)
    surroundings = found.sound(found.attempt(_build_surroundings, model, survey, file))
    found.add(check_slopes(surroundings.wishes, found.sound(search), found.sound(rules), file))
    found.raise_any()
    return Site(
        name=model.name,
        path=file.path,
        dated=model.dated.isoformat(),
        origin_shift_m=surroundings.shift_m,
        yard=surroundings.yard,
        ground=surroundings.ground,
        bedding_m=model.ground.bedding,
        catalogue=found.sound(catalogue),
        rates=found.sound(rates),
        rules=found.sound(rules),
        rider=build_rider(model.rider),
        wishes=surroundings.wishes,
        search=found.sound(search),
        display=build_display(model.display, model.unit),
    )


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


def _currency_faults(file: TomlFile, catalogue: Catalogue | None, rates: Rates | None) -> Iterator[Fault]:
    if catalogue is not None and rates is not None and catalogue.currency != rates.currency:
        yield file.fault(
            ("rates",),
            f'the rates "{rates.id}" are in {rates.currency}, the catalogue "{catalogue.id}" in '
            f"{catalogue.currency}.",
            "Use rates and parts of one currency.",
        )


def _build_surroundings(model: SiteFile, survey: tuple[SpotLevels, ...], file: TomlFile) -> _Surroundings:
    """Yard and ground near the origin; faults are told in the survey's own coordinates."""
    unshifted = np.zeros(3)
    first = Locator(file, join_spots(survey, None), None, unshifted)
    wall = build_wall_frame(model.start[0], first, ("start", 0))
    locator = Locator(file, join_spots(survey, wall), wall, unshifted)
    shift_m = np.floor([wall.origin_m[0], wall.origin_m[1], model.start[0].threshold])
    shift_m.setflags(write=False)
    shifted = dataclasses.replace(locator, shift_m=shift_m)
    try:
        return _build_checked(model, shifted)
    except InputError:
        # A person knows the survey's coordinates only, so let the same faults be found there.
        _build_checked(model, locator)
        raise


def _build_checked(model: SiteFile, locator: Locator) -> _Surroundings:
    """Yard and ground, built and checked; ``InputError`` with every fault, in file order of its kind."""
    found = FaultList()
    yard = found.attempt(build_yard, model, locator)
    ground = found.attempt(build_ground_of, model, locator)
    wishes = found.attempt(build_wishes, model.wishes, locator)
    if yard is not None and ground is not None:
        found.add(check_yard(yard, ground, str(locator.file.path)))
    if yard is not None and ground is not None and wishes is not None and not found.faults:
        found.add(check_locks(wishes, yard, ground, locator.file))
    if found.faults:
        raise InputError(*place_faults(found.faults, locator.file, locator.points))
    return _Surroundings(found.sound(yard), found.sound(ground), found.sound(wishes), locator.shift_m)
