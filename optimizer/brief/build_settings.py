"""Rider, wishes, search settings and display units of a site, from its file's tables."""

from __future__ import annotations

from typing import Final

from optimizer.brief.gather import FaultList
from optimizer.brief.height_errors import SettingSpreads
from optimizer.brief.locate import Locator
from optimizer.brief.settings_tables import DisplayTable, RiderTable, SearchTable, WishesTable
from optimizer.brief.site import DisplayUnits, Rider, SearchSettings, Wishes
from optimizer.brief.site_file import GroundTable
from optimizer.errors import Fault, InputError
from optimizer.terrain.yard import Points
from optimizer.toml_file import TomlFile
from optimizer.toml_model import KG_PER_POUND, Unit
from optimizer.units import LengthSystem

#: Rider and device together when the file gives no mass: common practice, no source.
DEFAULT_MASS_KG: Final = 180.0
_INCH_UNITS: Final = ("ft", "in")
#: Lattice, finest lattice and height step of files in feet or inches, and of metric ones.
_INCH_STEPS_M: Final = (0.1524, 0.0508, 0.00254)
_METRIC_STEPS_M: Final = (0.15, 0.05, 0.0025)
#: A count this near a whole number is one.
_WHOLE: Final = 1e-9
_STEP_INCH_M: Final = 0.003175
_STEP_METRIC_M: Final = 0.001


def build_rider(table: RiderTable) -> Rider:
    """The rider; a mass given in pounds becomes kilograms."""
    mass_kg = table.total_mass_kg
    if mass_kg is None:
        mass_kg = DEFAULT_MASS_KG if table.total_mass_lb is None else table.total_mass_lb * KG_PER_POUND
    return Rider(
        device_length_m=table.device_length,
        device_width_m=table.device_width,
        total_mass_kg=mass_kg,
        propulsion=table.propulsion,
        better_hand=table.better_hand,
    )


def build_wishes(table: WishesTable, locator: Locator) -> Wishes:
    """The wishes; ``InputError`` with every place that leads nowhere."""
    found = FaultList()
    must_pass_m = found.attempt(locator.locate_all, table.must_pass, ("wishes", "must_pass"))
    landing_at_m = found.attempt(locator.locate_all, table.landing_at, ("wishes", "landing_at"))
    return _fill_wishes(table, found.sound(must_pass_m), found.sound(landing_at_m))


def default_wishes() -> Wishes:
    """The wishes of a site that asks for nothing: what ``[wishes]`` takes for keys left out."""
    return _fill_wishes(WishesTable(), (), ())


def default_rider() -> Rider:
    """The rider of a site that says nothing of one: what ``[rider]`` takes for keys left out."""
    return build_rider(RiderTable())


def default_search(unit: Unit) -> SearchSettings:
    """The search settings of a site in this unit: what ``[search]`` takes for keys left out."""
    return _fill_search(SearchTable(), unit)


def default_display(unit: Unit) -> DisplayUnits:
    """How lengths of a site in this unit are shown when it does not say."""
    return build_display(DisplayTable(), unit)


def _fill_wishes(
    table: WishesTable, must_pass_m: tuple[Points, ...], landing_at_m: tuple[Points, ...]
) -> Wishes:
    return Wishes(
        steepest=table.steepest,
        clear_width_m=table.clear_width,
        exits=table.exits,
        most_turns=table.most_turns,
        guard_above_m=table.guard_above,
        rail_landings_above_m=table.rail_landings_above,
        shown=table.shown,
        slopes=table.slopes,
        prefer_side=table.prefer_side,
        must_pass_m=must_pass_m,
        landing_at_m=landing_at_m,
        longest_between_rests_m=table.longest_between_rests,
        survey_error_m=table.survey_error,
        steps=table.steps,
        fit_at_least=table.fit_at_least,
    )


def build_spreads(table: GroundTable) -> SettingSpreads:
    """How far what the crew reads and sets may be off; bedding left out spreads by half of itself."""
    bedding_m = 0.5 * table.bedding if table.bedding_error is None else table.bedding_error
    return SettingSpreads(table.reading_error, bedding_m, table.setting_error)


def build_search_settings(table: SearchTable, unit: str, file: TomlFile) -> SearchSettings:
    """The search settings; what is left out follows the file's unit.

    Raises ``InputError`` when the finest lattice does not divide the lattice: a finer lattice
    must hold every layout of the coarser one.
    """
    settings = _fill_search(table, unit)
    fault = _lattice_fault(settings.lattice_m, settings.finest_lattice_m, file)
    if fault is not None:
        raise InputError(fault)
    return settings


def _fill_search(table: SearchTable, unit: str) -> SearchSettings:
    lattice_m, finest_m, height_step_m = _INCH_STEPS_M if unit in _INCH_UNITS else _METRIC_STEPS_M
    return SearchSettings(
        lattice_m=table.lattice if table.lattice is not None else lattice_m,
        finest_lattice_m=table.finest_lattice if table.finest_lattice is not None else finest_m,
        height_step_m=table.height_step if table.height_step is not None else height_step_m,
        slope_levels=table.slope_levels,
        flattest_share=table.flattest_share,
        most_runs=table.most_runs,
        longest_run_m=table.longest_run,
        time_limit_s=table.time_limit_s,
        seed=table.seed,
    )


def _lattice_fault(lattice_m: float, finest_m: float, file: TomlFile) -> Fault | None:
    times = lattice_m / finest_m
    if times >= 1.0 - _WHOLE and abs(times - round(times)) <= _WHOLE * max(1.0, times):
        return None
    search = file.values.get("search")
    given = isinstance(search, dict) and "finest_lattice" in search
    keys = ("search", "finest_lattice" if given else "lattice")
    finest = f"finest_lattice = {finest_m:g} m" + ("" if given else " (not given, so this)")
    if finest_m > lattice_m:
        what = f"search: {finest} is coarser than lattice = {lattice_m:g} m."
    else:
        what = f"search: {finest} does not divide lattice = {lattice_m:g} m: it is {times:.6g} times as long."
    remedy = f"Give a finest_lattice that goes a whole number of times into lattice, such as {lattice_m:g} m."
    return file.fault(keys, what, remedy)


def build_display(table: DisplayTable, unit: str) -> DisplayUnits:
    """How lengths are shown: as asked, else ft-in, in or mm after the file's unit."""
    system: LengthSystem
    if table.system is not None:
        system = table.system
    elif unit == "ft":
        system = "ft-in"
    else:
        system = "in" if unit == "in" else "mm"
    step_m = table.step
    if step_m is None:
        step_m = _STEP_INCH_M if system in ("ft-in", "in") else _STEP_METRIC_M
    return DisplayUnits(system=system, step_m=step_m)
