"""The limits a finding speaks of, found again by what it carries of them."""

from __future__ import annotations

import math
from typing import Final

from optimizer.plan import Finding
from optimizer.rulebook.bound import BoundSet
from optimizer.rulebook.rules import Limit, RuleSet, Tolerance

#: A limit told in its document's unit comes back to within this, relative and absolute.
_SAME: Final = 1e-9
#: How a text begins that grants nothing and only says how to design.
_ADVICE: Final = "advice: "


def find_limits_of(finding: Finding, sets: tuple[BoundSet, ...]) -> tuple[Limit, ...]:
    """The limits of its clause, operator and unit; of its value too, where that narrows them.

    Empty for our own checks.  More than one when a clause limits several quantities alike.
    """
    of_clause = tuple(
        limit
        for one in sets
        if one.rules.id == finding.rules
        for limit in one.rules.limits
        if (limit.clause, limit.operator, limit.unit) == (finding.clause, finding.operator, finding.unit)
    )
    of_value = tuple(
        limit
        for limit in of_clause
        if finding.limit is not None
        and math.isclose(limit.value, finding.limit, rel_tol=_SAME, abs_tol=_SAME)
    )
    return of_value or of_clause


def find_tolerance(
    finding: Finding, limits: tuple[Limit, ...], sets: tuple[BoundSet, ...]
) -> Tolerance | None:
    """The published building tolerance of the one quantity the limits speak of; else ``None``.

    Advice on design is none (``list_advice``).
    """
    quantities = {limit.quantity for limit in limits}
    if len(quantities) != 1:
        return None
    for one in sets:
        if one.rules.id == finding.rules:
            for tolerance in one.rules.tolerances:
                if tolerance.quantity in quantities and not is_advice(tolerance):
                    return tolerance
    return None


def is_advice(tolerance: Tolerance) -> bool:
    """Whether it advises the designer and grants nothing to the builder."""
    return tolerance.text.startswith(_ADVICE)


def list_advice(rules: RuleSet) -> tuple[str, ...]:
    """One sentence for each thing that a document advises, with its source."""
    return tuple(
        f"Advice on {one.quantity.replace('_', ' ')}: {one.text.removeprefix(_ADVICE)} ({one.source})."
        for one in rules.tolerances
        if is_advice(one)
    )
