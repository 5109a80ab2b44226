"""Read a whole job: site file, survey, catalogue, rates and rules, with every fault at once."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Final

from optimizer.brief.assemble_site import NamedInputs, assemble_site, list_currency_faults
from optimizer.brief.build_rules import build_bound_sets
from optimizer.brief.gather import FaultList
from optimizer.brief.join_survey import join_survey
from optimizer.brief.read_survey import Surveyed, read_survey
from optimizer.brief.seen_in_scan import SeenInScan
from optimizer.brief.site import Site
from optimizer.brief.site_file import SiteFile
from optimizer.catalogue.demo_files import find_catalogue, find_rates
from optimizer.catalogue.parts import Catalogue
from optimizer.catalogue.rates import Rates
from optimizer.catalogue.read_catalogue import read_catalogue
from optimizer.catalogue.read_rates import read_rates
from optimizer.errors import InputError
from optimizer.scan_ground.build_ground import ScanGround
from optimizer.toml_file import TomlFile, read_toml
from optimizer.toml_model import check_model, known_unit

SITE_FILE_NAME: Final = "site.toml"


@dataclass(frozen=True, slots=True)
class SurveyedSite:
    """A job with all that its survey says of itself; ``scan_ground`` where there is a scan."""

    site: Site
    surveyed: Surveyed
    scan_ground: ScanGround | None
    seen: SeenInScan


def read_site(path: Path) -> Site:
    """The job at ``path``, as ``read_surveyed_site`` reads it."""
    return read_surveyed_site(path).site


def read_surveyed_site(path: Path) -> SurveyedSite:
    """Read the job at ``path``: a folder with ``site.toml``, or such a file itself.

    The site frame is the survey's, shifted by whole metres so that the first start's sill is
    near the origin (``Site.origin_shift_m``).  Raises ``InputError`` with the faults of all
    files, each with file, line, value and remedy; what rests on a faulty file is not looked at
    before that file is sound.
    """
    file = read_toml(path / SITE_FILE_NAME if path.is_dir() else path)
    found = FaultList()
    model = found.attempt(check_model, file, SiteFile, known_unit(file))
    surveyed = found.attempt(read_survey, file)
    catalogue = found.attempt(_read_catalogue, file)
    rates = found.attempt(_read_rates, file)
    found.add(list_currency_faults(file, catalogue, rates))
    if model is None or surveyed is None:
        raise InputError(*found.faults)
    sets = found.attempt(build_bound_sets, model.rules, model.unit, file)
    inputs = NamedInputs(catalogue, rates, sets)
    joined = found.attempt(join_survey, surveyed, model, file)
    if joined is None:
        raise InputError(*found.faults)
    site = assemble_site(model, file, joined.join, inputs, found, joined.errors, joined.heights, joined.seen)
    return SurveyedSite(site, surveyed, joined.scan_ground, joined.seen)


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
