"""Read a published rule set by its id."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Final

from optimizer.errors import Fault, InputError
from optimizer.rulebook.own_limits import OWN_LIMITS_ID
from optimizer.rulebook.rule_file import RuleSetFile
from optimizer.rulebook.rules import RuleSet
from optimizer.toml_file import TomlFile, read_toml
from optimizer.toml_model import check_model

_FOLDER: Final = Path(__file__).parent
#: Published rule sets: id and file.
_FILES: Final = (("ada-2010", "ada_2010.toml"),)


def rule_set_ids() -> tuple[str, ...]:
    """Every id a site may name: the published sets, then the user's own limits."""
    return (*(name for name, _ in _FILES), OWN_LIMITS_ID)


def read_rule_set(rule_set_id: str, where: str = "rules") -> RuleSet:
    """The published rule set with this id.

    ``where`` places the fault (``site.toml:7``).  Raises ``InputError`` for an unknown id,
    and for ``own-limits``, which is made from the user's numbers by ``build_own_limits``.
    """
    for name, file_name in _FILES:
        if name == rule_set_id:
            return read_rule_file(_FOLDER / file_name)
    if rule_set_id == OWN_LIMITS_ID:
        raise InputError(
            Fault(where, f'"{OWN_LIMITS_ID}" has no numbers of its own.', "Give them, at least steepest.")
        )
    raise InputError(
        Fault(where, f'"{rule_set_id}" is no known rule set.', f"Use one of: {', '.join(rule_set_ids())}.")
    )


def read_rule_file(path: Path) -> RuleSet:
    """Read a rule set file (JSON Schema: ``rule_set_schema``); ``InputError`` holds all its faults."""
    file = read_toml(path)
    model = check_model(file, RuleSetFile, None)
    repeated = [
        *_repeated(file, "id", [entry.id for entry in model.limit]),
        *_repeated(file, "quantity", [entry.quantity for entry in model.limit]),
    ]
    if repeated:
        raise InputError(*repeated)
    return RuleSet(
        id=model.id,
        title=model.title,
        edition=model.edition,
        limits=tuple(entry.build() for entry in model.limit),
        not_checked=model.not_checked,
        statement=model.statement.strip(),
    )


def _repeated(file: TomlFile, key: str, words: Sequence[str]) -> Iterator[Fault]:
    """One limit for each id and quantity: a second would never be looked at."""
    for index, word in enumerate(words):
        first = words.index(word)
        if first != index:
            yield file.fault(
                ("limit", index, key),
                f'limit {index + 1}: the {key} "{word}" was in line {file.line(("limit", first, key))}.',
                "Keep one of the two.",
            )
