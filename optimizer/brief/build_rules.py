"""The rule sets and facts of a site, from its file's tables."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from optimizer.brief.gather import FaultList
from optimizer.brief.rules_tables import FactsTable, RulesTable
from optimizer.brief.site_file import StartTable
from optimizer.errors import Fault
from optimizer.rulebook.bound import BoundSet
from optimizer.rulebook.facts import JobFacts
from optimizer.rulebook.own_limits import OWN_LIMITS_ID, build_own_limits
from optimizer.rulebook.read_rule_set import read_rule_set
from optimizer.rulebook.rules import RuleSet
from optimizer.toml_file import KeyPath, TomlFile
from optimizer.toml_model import Unit


def build_bound_sets(tables: tuple[RulesTable, ...], unit: Unit, file: TomlFile) -> tuple[BoundSet, ...]:
    """Every rule set the site names; ``InputError`` with all faults, each at its name or numbers."""
    found = FaultList()
    sets = tuple(
        found.attempt(_build_bound, table, unit, file, find_rules_keys(file, index))
        for index, table in enumerate(tables)
    )
    whole = tuple(found.sound(one) for one in sets)
    found.add(list_set_faults(whole, file))
    found.raise_any()
    return whole


def find_rules_keys(file: TomlFile, index: int) -> KeyPath:
    """Where the rule set ``index`` (from 0) is written: ``[rules]`` itself or one of ``[[rules]]``."""
    return ("rules", index) if isinstance(file.values.get("rules"), list) else ("rules",)


def _build_bound(table: RulesTable, unit: Unit, file: TomlFile, keys: KeyPath) -> BoundSet:
    return BoundSet(_build_rules(table, unit, file, keys), table.role, table.find_decider())


def _build_rules(table: RulesTable, unit: Unit, file: TomlFile, keys: KeyPath) -> RuleSet:
    if table.set == OWN_LIMITS_ID and table.own is not None:
        return build_own_limits(
            table.own.build("in" if unit in ("ft", "in") else "mm"), file.where((*keys, "own"))
        )
    return read_rule_set(table.set, file.where((*keys, "set")))


def list_set_faults(sets: tuple[BoundSet, ...], file: TomlFile) -> Iterator[Fault]:
    """A rule set named twice; no rule set that binds."""
    ids = [one.rules.id for one in sets]
    for index, one in enumerate(ids):
        if ids.index(one) != index:
            yield file.fault(
                (*find_rules_keys(file, index), "set"),
                f'the rule set "{one}" is named twice.',
                "Keep one of the two; a set has one role in a job.",
            )
    if all(one.role != "binding" for one in sets):
        yield file.fault(
            ("rules",),
            "no rule set binds this job, so nothing would limit the search.",
            'Give one of them role = "binding"; when no published standard binds, take "own-limits".',
        )


def build_facts(table: FactsTable) -> JobFacts:
    """What was answered for the whole job."""
    return JobFacts(
        egress_door=table.egress_door,
        works=table.works,
        space_limited=table.space_limited,
        space_limited_reason=table.space_limited_reason,
        building=table.building,
        dwelling_category=table.dwelling_category,
        occupants=table.occupants,
        closer=table.closer,
        latch=table.latch,
    )


def build_start_facts(facts: JobFacts, start: StartTable) -> JobFacts:
    """The job's facts with what this door says otherwise."""
    return replace(
        facts,
        egress_door=start.egress_door or facts.egress_door,
        closer=start.closer or facts.closer,
        latch=start.latch or facts.latch,
    )
