"""Which rule sets bind a job, and who decides each."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from optimizer.rulebook.facts import JobFacts
from optimizer.rulebook.rules import RuleSet

#: ``binding``: enforced by the search and judged; ``guide`` and ``wish``: judged only.
Role = Literal["binding", "guide", "wish"]
DecidedBy = Literal["authority", "funder", "utility", "landlord", "client"]


@dataclass(frozen=True, slots=True)
class BoundSet:
    """One rule set of a job."""

    rules: RuleSet
    role: Role
    decided_by: DecidedBy


@dataclass(frozen=True, slots=True)
class Rulings:
    """Every rule set of a job, in the order the site lists them, and the facts they depend on."""

    sets: tuple[BoundSet, ...]
    facts: JobFacts
