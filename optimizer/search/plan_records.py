"""What was learnt about constraints, as the plan carries it."""

from __future__ import annotations

from optimizer import plan
from optimizer.search.constraint_prices import Baseline, ConstraintPrice
from optimizer.search.solve import Solved
from optimizer.search.what_to_buy import StockAdvice
from optimizer.search.why_not import WhyNot


def find_baseline(solved: Solved) -> Baseline | None:
    """The best ramp of a solved site, what constraints and stock are judged against; ``None`` without one."""
    if not solved.shown:
        return None
    best = min(one.cost_cents for one in solved.shown)
    return Baseline(best, solved.status == "optimal_on_lattice", solved.certificate.lattice_m)


def record_conflicts(why: WhyNot) -> tuple[plan.Conflict, ...]:
    """One conflict a remedy, each with what the layout then costs directly."""
    return tuple(
        plan.Conflict(
            reason=one.reason,
            remedy=one.change if one.is_smallest else f"{one.change} (less of it may do)",
            granted_by=one.granted_by,
            cost_cents=one.cost_cents,
            cost_is_least=one.cost_is_least,
        )
        for one in why.remedies
    )


def record_trials(why: WhyNot) -> tuple[str, ...]:
    """Sentences on what was tried without success, not settled, or could not be tried."""
    sentences = []
    if why.useless:
        sentences.append(f"Would not do alone (each solved): {'; '.join(why.useless)}.")
    if why.open:
        sentences.append(f"Not settled in time: {'; '.join(why.open)}.")
    return (*sentences, *why.cannot_try)


def record_prices(prices: tuple[ConstraintPrice, ...]) -> tuple[plan.ConstraintPrice, ...]:
    """The prices of the constraints, in their order."""
    return tuple(
        plan.ConstraintPrice(
            subject=one.subject,
            change=one.change,
            granted_by=one.granted_by,
            verdict=one.verdict,
            saving_cents=one.saving_cents,
            cost_cents=one.cost_cents,
        )
        for one in prices
    )


def record_advice(advice: StockAdvice) -> plan.StockAdvice:
    """The parts to buy and what that comes to."""
    return plan.StockAdvice(
        parts=tuple(
            plan.PartToBuy(
                part=one.part,
                name=one.name,
                in_stock=one.in_stock,
                count=one.count,
                unit_cents=one.unit_cents,
            )
            for one in advice.parts
        ),
        cost_cents=advice.cost_cents,
        saving_cents=advice.saving_cents,
        is_least=advice.is_least,
    )
