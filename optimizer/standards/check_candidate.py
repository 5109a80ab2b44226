"""The independent checker: one candidate, re-measured and re-priced from the files.

It reads the corners of the placed pieces, the places and parts of supports and rails, and
the price lines; every other number is computed anew.  It shares no measurement with the
search (imports: errors, units, plan, terrain, catalogue, rulebook).
"""

from __future__ import annotations

from optimizer.plan import Candidate, Finding
from optimizer.rulebook.build_design_limits import build_design_limits
from optimizer.rulebook.design_limits import DesignLimits
from optimizer.standards.case import CheckCase
from optimizer.standards.check_chain import check_chain
from optimizer.standards.check_locks import check_locks
from optimizer.standards.check_prices import check_prices
from optimizer.standards.check_rails import check_rails
from optimizer.standards.check_room import check_room
from optimizer.standards.check_rules import check_rules, tell_no_chain
from optimizer.standards.check_start import check_start
from optimizer.standards.check_steps import check_steps
from optimizer.standards.check_supports import check_supports
from optimizer.standards.check_toe import check_toe
from optimizer.standards.check_totals import check_totals
from optimizer.standards.measure_chain import measure_chain
from optimizer.standards.measured import measure_candidate

__all__ = ["CheckCase", "check_candidate"]


def check_candidate(candidate: Candidate, case: CheckCase) -> tuple[Finding, ...]:
    """Every clause of every rule set and every physical check, one finding per thing looked at.

    Findings of the rule sets come first, set by set as the site names them (``rules`` = the set's
    id), then ``build``.  When the pieces make no chain from door to ground nothing can be measured:
    each limit is then 'cannot tell' and ``build.chain`` fails.
    """
    chain, structure = measure_chain(candidate, case.catalogue)
    if chain is None:
        return (
            *tell_no_chain(case, candidate.name),
            *structure,
            *check_locks(candidate, case),
            *check_prices(candidate, case),
        )
    limits = _build_limits(case)
    measured = measure_candidate(candidate, case, chain, limits.bottom)
    facets = measured.facets
    return (
        *check_rules(measured),
        *structure,
        *check_chain(chain, case),
        *check_start(chain, case.start()),
        *check_supports(candidate, chain, case, facets, measured.bottom),
        *check_room(chain, case, facets),
        *check_toe(candidate, chain, case, facets, measured.bottom, limits.landing_slope),
        *check_rails(candidate, chain, case, facets),
        *check_steps(candidate, chain, case, facets),
        *check_locks(candidate, case),
        *check_prices(candidate, case),
        *check_totals(candidate, chain, case),
    )


def _build_limits(case: CheckCase) -> DesignLimits:
    """What all binding rule sets together ask; without a start no door can be in the way."""
    start = case.start()
    if start is None:
        return build_design_limits(case.rulings, "in", 0.0)
    return build_design_limits(case.rulings, start.swing, start.clear_width_m)
