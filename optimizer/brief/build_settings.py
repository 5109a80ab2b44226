"""Rider, wishes, search settings, display units and rules of a site, from its file's tables."""

from __future__ import annotations

from typing import Final

from optimizer.brief.settings_tables import DisplayTable, RiderTable, RulesTable, SearchTable, WishesTable
from optimizer.brief.site import DisplayUnits, Rider, SearchSettings, Wishes
from optimizer.rulebook.own_limits import OWN_LIMITS_ID, build_own_limits
from optimizer.rulebook.read_rule_set import read_rule_set
from optimizer.rulebook.rules import RuleSet
from optimizer.toml_file import TomlFile
from optimizer.toml_model import KG_PER_POUND
from optimizer.units import LengthSystem

#: Rider and device together when the file gives no mass: common practice, no source.
DEFAULT_MASS_KG: Final = 180.0
_INCH_UNITS: Final = ("ft", "in")
_SLIDE_STEP_INCH_M: Final = 0.1524
_SLIDE_STEP_METRIC_M: Final = 0.15
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


def build_wishes(table: WishesTable) -> Wishes:
    """The wishes as they stand in the file."""
    return Wishes(
        steepest=table.steepest,
        clear_width_m=table.clear_width,
        exits=table.exits,
        most_turns=table.most_turns,
        guard_above_m=table.guard_above,
        rail_landings_above_m=table.rail_landings_above,
        shown=table.shown,
    )


def build_search_settings(table: SearchTable, unit: str) -> SearchSettings:
    """The search settings; the slide step follows the file's unit when it is not given."""
    slide_step_m = table.slide_step
    if slide_step_m is None:
        slide_step_m = _SLIDE_STEP_INCH_M if unit in _INCH_UNITS else _SLIDE_STEP_METRIC_M
    return SearchSettings(
        slide_step_m=slide_step_m,
        slope_levels=table.slope_levels,
        flattest_share=table.flattest_share,
        most_runs=table.most_runs,
        longest_run_m=table.longest_run,
        time_limit_s=table.time_limit_s,
        seed=table.seed,
    )


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


def build_rules(table: RulesTable, unit: str, file: TomlFile) -> RuleSet:
    """The rule set the site names; raises ``InputError`` placed at the name or the numbers."""
    if table.set == OWN_LIMITS_ID and table.own is not None:
        own = table.own.build("in" if unit in _INCH_UNITS else "mm")
        return build_own_limits(own, file.where(("rules", "own")))
    return read_rule_set(table.set, file.where(("rules", "set")))
