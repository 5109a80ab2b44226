"""The independent checker: one candidate, re-measured and re-priced from the files.

It reads the corners of the placed pieces, the places and parts of supports and rails, and
the price lines; every other number is computed anew.  It shares no measurement with the
search (imports: errors, units, plan, terrain, catalogue, rulebook).
"""

from __future__ import annotations

from optimizer.plan import Candidate, Finding
from optimizer.standards.bottom import measure_bottom
from optimizer.standards.case import CheckCase
from optimizer.standards.check_chain import check_chain
from optimizer.standards.check_locks import check_locks
from optimizer.standards.check_prices import check_prices
from optimizer.standards.check_rails import check_rails
from optimizer.standards.check_room import check_room
from optimizer.standards.check_rules import Measured, check_rules
from optimizer.standards.check_start import check_start
from optimizer.standards.check_steps import check_steps
from optimizer.standards.check_supports import check_supports
from optimizer.standards.check_toe import check_toe
from optimizer.standards.check_totals import check_totals
from optimizer.standards.findings import tell_unmeasured
from optimizer.standards.ground_measure import build_facets
from optimizer.standards.measure_chain import measure_chain

__all__ = ["CheckCase", "check_candidate"]


def check_candidate(candidate: Candidate, case: CheckCase) -> tuple[Finding, ...]:
    """Every clause of the rule set and every physical check, one finding per thing looked at.

    Findings of the rule set come first (``rules`` = its id), then ``build``.  When the pieces
    make no chain from door to ground nothing can be measured: each limit is then 'cannot tell'
    and ``build.chain`` fails.
    """
    chain, structure = measure_chain(candidate, case.catalogue)
    if chain is None:
        return (
            *(
                tell_unmeasured(
                    limit, case.rules.id, candidate.name, "the pieces make no chain from door to ground", None
                )
                for limit in case.rules.limits
            ),
            *structure,
            *check_locks(candidate, case),
            *check_prices(candidate, case),
        )
    facets = build_facets(case.ground)
    bottom = measure_bottom(candidate, chain, case, facets)
    return (
        *check_rules(Measured(candidate, case, chain, facets, bottom)),
        *structure,
        *check_chain(chain, case),
        *check_start(chain, case.start()),
        *check_supports(candidate, chain, case, facets),
        *check_room(chain, case, facets),
        *check_toe(candidate, chain, case, facets, bottom),
        *check_rails(candidate, chain, case, facets),
        *check_steps(candidate, chain, case, facets),
        *check_locks(candidate, case),
        *check_prices(candidate, case),
        *check_totals(candidate, chain, case),
    )
