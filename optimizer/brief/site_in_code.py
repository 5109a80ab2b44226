"""A site built by a program, without files: the same checks, the same frozen ``Site``.

Every length is in metres, coordinates and elevations are the survey's own, in any origin.
"""

from __future__ import annotations

import datetime
import math
from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path

from optimizer.brief.arguments import ArgumentTables, LevelRows
from optimizer.brief.asked_in_code import (
    BreakLineAt,
    LevelPoints,
    ObstacleAt,
    PlanPoint,
    PlanPoints,
    StartAt,
    ZoneAt,
)
from optimizer.brief.assemble_site import NamedInputs, assemble_site, list_currency_faults
from optimizer.brief.build_rules import list_set_faults
from optimizer.brief.build_settings import default_display, default_rider, default_search, default_wishes
from optimizer.brief.gather import FaultList
from optimizer.brief.height_errors import read_alike
from optimizer.brief.site import DisplayUnits, Rider, SearchSettings, Site, Wishes
from optimizer.brief.site_file import SiteFile
from optimizer.catalogue.demo_files import find_catalogue, find_rates
from optimizer.catalogue.parts import Catalogue
from optimizer.catalogue.rates import Rates
from optimizer.catalogue.read_catalogue import read_catalogue
from optimizer.catalogue.read_rates import read_rates
from optimizer.errors import Fault, InputError
from optimizer.rulebook.bound import BoundSet
from optimizer.rulebook.facts import JobFacts
from optimizer.rulebook.read_rule_set import read_rule_set
from optimizer.rulebook.rules import RuleSet
from optimizer.terrain.yard import SetbackKind
from optimizer.toml_model import check_model

#: A rule set as a program names it: its id, the set itself, or either with its role (``BoundSet``).
RuleSetGiven = str | RuleSet | BoundSet

__all__ = [
    "BoundSet",
    "BreakLineAt",
    "JobFacts",
    "ObstacleAt",
    "StartAt",
    "ZoneAt",
    "build_site",
    "default_display",
    "default_rider",
    "default_search",
    "default_wishes",
]


def build_site(
    name: str,
    *,
    spots: LevelPoints,
    lot: PlanPoints,
    house: PlanPoints,
    starts: Sequence[StartAt],
    catalogue: str | Path | Catalogue = "demo-inch",
    rates: str | Path | Rates = "demo-rates-usd",
    rules: RuleSetGiven | Sequence[RuleSetGiven] = "ada-2010",
    facts: JobFacts | None = None,
    obstacles: Sequence[ObstacleAt] = (),
    zones: Sequence[ZoneAt] = (),
    break_lines: Sequence[BreakLineAt] = (),
    arrivals: Sequence[PlanPoints] = (),
    destination: PlanPoint | None = None,
    setback_m: float | None = None,
    setback_kind: SetbackKind | None = None,
    relief_cents: int | None = None,
    bedding_m: float | None = None,
    longest_edge_m: float | None = None,
    reading_error_m: float | None = None,
    bedding_error_m: float | None = None,
    setting_error_m: float | None = None,
    rider: Rider | None = None,
    wishes: Wishes | None = None,
    search: SearchSettings | None = None,
    display: DisplayUnits | None = None,
    dated: datetime.date | None = None,
) -> Site:
    """A site as ``read_site`` would return it for a metric site file that says the same.

    Metres throughout; z up.  ``spots`` (n, 3) x, y and elevation; ``lot``, ``house`` and each
    of ``arrivals`` (n, 2), either way round; ``destination`` (2,).  Places of ``wishes`` are in
    these coordinates too.  The site frame is shifted by whole metres
    (``Site.origin_shift_m``).  ``catalogue`` and ``rates``: a demo id, a file, or parts and
    rates themselves; ``rules``: an id, a rule set such as ``build_own_limits`` makes (binding, decided
    by the authority), a ``BoundSet``, or several of these; ``facts``: what they depend on.

    ``None`` is 'left out': the default of the site file (``default_rider()``,
    ``default_wishes()``, ``default_search("m")``, ``default_display("m")``); ``dated``: the
    day of the rates.  Raises ``InputError`` with every fault, each placed at its argument;
    arguments that are not of their type are told before the rest is looked at.
    """
    levels = LevelRows(spots)
    tables = ArgumentTables()
    for keys, argument, value in (
        (("name",), "name", name),
        (("unit",), "unit", "m"),
        (("survey",), "spots", ("spots",)),
        (("catalogue",), "catalogue", "given"),
        (("rates",), "rates", "given"),
        (("rules", "set"), "rules", "given"),
        (("house", "outline"), "house", house),
        (("lot", "outline"), "lot", lot),
        (("lot", "setback"), "setback_m", setback_m),
        (("lot", "setback_kind"), "setback_kind", setback_kind),
        (("lot", "relief_price"), "relief_cents", _typed_money(relief_cents)),
        (("ground", "bedding"), "bedding_m", bedding_m),
        (("ground", "longest_edge"), "longest_edge_m", longest_edge_m),
        (("ground", "reading_error"), "reading_error_m", reading_error_m),
        (("ground", "bedding_error"), "bedding_error_m", bedding_error_m),
        (("ground", "setting_error"), "setting_error_m", setting_error_m),
        (("destination", "at"), "destination", destination),
    ):
        tables.add(keys, argument, value)
    misused = FaultList()
    misused.attempt(tables.add_tables, "start", "starts", starts, StartAt)
    misused.attempt(tables.add_tables, "obstacle", "obstacles", obstacles, ObstacleAt)
    misused.attempt(tables.add_tables, "zone", "zones", zones, ZoneAt)
    misused.attempt(tables.add_break_lines, break_lines, levels)
    misused.attempt(tables.add_arrivals, arrivals)
    misused.attempt(tables.add_table, "facts", facts, JobFacts)
    misused.attempt(tables.add_table, "rider", rider, Rider)
    misused.attempt(tables.add_table, "wishes", wishes, Wishes)
    misused.attempt(tables.add_table, "search", search, SearchSettings)
    misused.attempt(tables.add_table, "display", display, DisplayUnits)
    misused.raise_any()
    if wishes is not None:
        tables.add(("wishes", "steepest"), "wishes.steepest", _typed_slope(wishes.steepest))

    found = FaultList()
    parts = found.attempt(_find_catalogue, catalogue)
    priced = found.attempt(_find_rates, rates)
    sets = found.attempt(_find_sets, rules)
    # Without rates there is a fault, and no site that could carry the day.
    of_rates = datetime.date.min if priced is None else priced.dated
    tables.add(("dated",), "dated", of_rates if dated is None else dated)
    file = tables.finish()
    found.add(list_currency_faults(file, parts, priced))
    found.add(() if sets is None else list_set_faults(sets, file))
    model = found.attempt(check_model, file, SiteFile, "m")
    if model is None:
        raise InputError(*found.faults)
    points = levels.finish()
    errors = read_alike(len(points.names), model.ground.reading_error)
    return assemble_site(model, file, lambda _: points, NamedInputs(parts, priced, sets), found, errors)


def _find_catalogue(catalogue: str | Path | Catalogue) -> Catalogue:
    if isinstance(catalogue, Catalogue):
        return catalogue
    return read_catalogue(find_catalogue(str(catalogue), Path(), "catalogue"))


def _find_rates(rates: str | Path | Rates) -> Rates:
    return rates if isinstance(rates, Rates) else read_rates(find_rates(str(rates), Path(), "rates"))


def _find_sets(rules: RuleSetGiven | Sequence[RuleSetGiven]) -> tuple[BoundSet, ...]:
    """Every rule set given; ``InputError`` with each that is none."""
    if isinstance(rules, str | RuleSet | BoundSet):
        return (_find_set(rules, "rules"),)
    if not isinstance(rules, list | tuple):
        what = f"this is a {type(rules).__name__}."
        raise InputError(Fault("rules", what, "Give an id, a RuleSet, a BoundSet, or a list of these."))
    if not rules:
        raise InputError(Fault("rules", "no rule set is given.", 'Give one, such as "ada-2010".'))
    found = FaultList()
    sets = [found.attempt(_find_set, one, f"rules[{index}]") for index, one in enumerate(rules)]
    return tuple(found.sound(one) for one in sets)


def _find_set(rules: RuleSetGiven, where: str) -> BoundSet:
    if isinstance(rules, BoundSet):
        return rules
    if isinstance(rules, str):
        rules = read_rule_set(rules, where)
    if not isinstance(rules, RuleSet):
        what = f"this is a {type(rules).__name__}."
        raise InputError(Fault(where, what, "Give an id, a RuleSet or a BoundSet."))
    return BoundSet(rules, "binding", "authority")


def _typed_slope(ratio: float | None) -> str | float | None:
    """The ratio as a site file writes it, exactly; what is no number stays for the check to refuse."""
    if not isinstance(ratio, int | float) or not math.isfinite(ratio):
        return ratio
    return f"{Decimal(repr(float(ratio))):f}:1"


def _typed_money(cents: int | None) -> str | float | None:
    """Whole cents as a site file writes money; anything else stays for the check to refuse."""
    if not isinstance(cents, int) or isinstance(cents, bool):
        return cents if cents is None else math.nan
    return f"{Decimal(cents) / 100:f}"
