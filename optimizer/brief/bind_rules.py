"""What binds each door of a site: the rule sets and facts of the job as numbers to keep."""

from __future__ import annotations

from dataclasses import replace

from optimizer.brief.site import Site
from optimizer.rulebook.bound import BoundSet, Rulings
from optimizer.rulebook.build_design_limits import build_design_limits
from optimizer.rulebook.design_limits import DesignLimits
from optimizer.rulebook.facts import JobFacts
from optimizer.rulebook.rules import RuleSet
from optimizer.terrain.yard import Start


def bind_alone(rules: RuleSet) -> Rulings:
    """One binding rule set, decided by the authority, with no fact known."""
    return Rulings((BoundSet(rules, "binding", "authority"),), JobFacts())


def build_designs(
    starts: tuple[Start, ...], rulings: Rulings, start_facts: tuple[JobFacts, ...]
) -> tuple[DesignLimits, ...]:
    """What binds each start, in order; ``start_facts`` has one entry a start."""
    return tuple(
        build_design_limits(replace(rulings, facts=facts), start.swing, start.clear_width_m)
        for start, facts in zip(starts, start_facts, strict=True)
    )


def bind_site(site: Site, rulings: Rulings) -> Site:
    """The site under other rule sets; the facts of its doors stay as they are."""
    return replace(
        site,
        rulings=rulings,
        designs=build_designs(site.yard.starts, rulings, site.start_facts),
    )
