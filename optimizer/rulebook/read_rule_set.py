"""Read published rule sets: every file of the folder, found by the id that it states."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Final

from optimizer.errors import Fault, InputError
from optimizer.rulebook.own_limits import OWN_LIMITS_ID
from optimizer.rulebook.repeated_limits import find_repeated
from optimizer.rulebook.rule_file import RuleSetFile
from optimizer.rulebook.rules import RuleSet
from optimizer.toml_file import read_toml
from optimizer.toml_model import in_file_order, known_unit, model_or_faults, nearest_remedy

_FOLDER: Final = Path(__file__).parent


def rule_set_ids() -> tuple[str, ...]:
    """Every id a site may name: the published sets, then the user's own limits."""
    return (*(name for name, _ in _published(_FOLDER)), OWN_LIMITS_ID)


def list_rule_sets() -> tuple[RuleSet, ...]:
    """Every published rule set, read, in the order of their ids."""
    return tuple(read_rule_file(path) for _, path in _published(_FOLDER))


def read_rule_set(rule_set_id: str, where: str = "rules") -> RuleSet:
    """The published rule set with this id.

    ``where`` places the fault (``site.toml:7``).  Raises ``InputError`` for an unknown id,
    and for ``own-limits``, which is made from the user's numbers by ``build_own_limits``.
    """
    for name, path in _published(_FOLDER):
        if name == rule_set_id:
            return read_rule_file(path)
    if rule_set_id == OWN_LIMITS_ID:
        raise InputError(
            Fault(where, f'"{OWN_LIMITS_ID}" has no numbers of its own.', "Give them, at least steepest.")
        )
    raise InputError(
        Fault(
            where,
            f'"{rule_set_id}" is no known rule set.',
            nearest_remedy(rule_set_id, rule_set_ids()),
        )
    )


def read_rule_file(path: Path) -> RuleSet:
    """Read a rule set file (JSON Schema: ``rule_set_schema``); ``InputError`` holds all its faults."""
    file = read_toml(path)
    unit = known_unit(file) if "unit" in file.values else None
    model, faults = model_or_faults(file, RuleSetFile, unit)
    faults += find_repeated(file)
    if model is None or faults:
        raise InputError(*in_file_order(file, faults))
    return model.build()


def find_rule_files(folder: Path) -> tuple[tuple[str, Path], ...]:
    """Id and path of every rule set file in a folder, by id.

    Raises ``InputError`` when a file is no TOML, states no id, or states one that another has
    or that is kept for the user's own limits.
    """
    found: dict[str, Path] = {}
    faults: list[Fault] = []
    for path in sorted(folder.glob("*.toml")):
        own = _stated_id(path)
        if own is None:
            faults.append(Fault(str(path), "it states no id.", 'Write id = "..." at its head.'))
        elif own == OWN_LIMITS_ID:
            faults.append(
                Fault(str(path), f'the id "{own}" is kept for the user\'s limits.', "Choose another.")
            )
        elif own in found:
            faults.append(
                Fault(
                    str(path), f'the id "{own}" is that of {found[own].name}.', "Give each file its own id."
                )
            )
        else:
            found[own] = path
    if faults:
        raise InputError(*faults)
    return tuple(sorted(found.items()))


@cache
def _published(folder: Path) -> tuple[tuple[str, Path], ...]:
    return find_rule_files(folder)


def _stated_id(path: Path) -> str | None:
    own = read_toml(path).values.get("id")
    return own if isinstance(own, str) and own else None
