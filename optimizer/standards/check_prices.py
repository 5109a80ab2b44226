"""Is the price right: every part counted once, every cent re-derived from the files.

Clauses of our own: ``build.price_line``, ``build.price_items``, ``build.price_total``.
Money is whole cents and is computed in exact fractions of the numbers as typed.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from fractions import Fraction

import numpy as np
import shapely

from optimizer.catalogue.parts import Catalogue, Part
from optimizer.catalogue.rates import Rates
from optimizer.plan import SETBACK_RELIEF, Candidate, Finding, PriceLine
from optimizer.standards.case import CheckCase
from optimizer.standards.check_room import measure_free_area
from optimizer.standards.findings import judge_build, judge_fact
from optimizer.units import TOLERANCE_M, round_half_up

#: Words by which the three added lines are known, in the order they are added.
ADDED = ("delivery", "overhead", "tax")


def check_prices(candidate: Candidate, case: CheckCase) -> Iterator[Finding]:
    """Lines, what they count, and the sums."""
    parts = {part.id: part for part in case.catalogue.parts()}
    yield _judge_relief(candidate, case)
    for line in candidate.price_lines:
        if line.group == "direct" and line.part != SETBACK_RELIEF:
            fault = _find_line_fault(line, parts, case.rates)
            yield judge_fact("build.price_line", f"price of {line.part}", "its cents are right", fault, None)
    fault = "; ".join(_find_count_faults(candidate)) or None
    yield judge_fact("build.price_items", "price", "every part is in exactly one line", fault, None)
    yield from _check_sums(candidate, case)


def _find_line_fault(line: PriceLine, parts: dict[str, Part], rates: Rates) -> str | None:
    part = parts.get(line.part)
    if part is None:
        return f'the catalogue has no part "{line.part}"'
    unit = price_part(part, rates)
    if line.unit_cents != unit:
        return f"one costs {unit} cents with labour, not {line.unit_cents}"
    if line.count != len(line.items):
        return f"it counts {line.count} and names {len(line.items)}"
    if line.total_cents != line.count * unit:
        return f"{line.count} cost {line.count * unit} cents, not {line.total_cents}"
    return None


def price_part(part: Part, rates: Rates) -> int:
    """Price of one part with its labour, rounded half up once, in whole cents."""
    labour = Fraction(repr(float(part.labour_min))) * rates.labour_per_hour_cents / 60
    return part.price_cents + round_half_up(labour)


def list_used_parts(candidate: Candidate) -> Iterator[tuple[str, str]]:
    """``(part id, item id)`` of everything the candidate is made of; a foot goes by its leg's id."""
    for piece in candidate.pieces:
        yield piece.catalogue_id, piece.id
    for leg in candidate.legs:
        yield leg.leg_type, leg.id
        yield leg.foot, leg.id
        if leg.brace is not None:
            yield leg.brace, leg.id
    for rail in candidate.rails:
        yield rail.catalogue_id, rail.id


def _judge_relief(candidate: Candidate, case: CheckCase) -> Finding:
    """One line for relief from the setback where a walked piece reaches into its strip, else none."""
    lines = [line for line in candidate.price_lines if line.part == SETBACK_RELIEF]
    asked = case.yard.relief_cents
    if not _reaches_strip(candidate, case):
        fault = "relief from the setback is priced and none is needed" if lines else None
        return judge_fact("build.price_line", "price", "no relief is needed and none is priced", fault, None)
    fault = None
    if len(lines) != 1 or lines[0].group != "direct":
        fault = f"relief from the setback is needed once and priced {len(lines)} times as a direct cost"
    elif (lines[0].count, lines[0].unit_cents, lines[0].total_cents, lines[0].items) != (1, asked, asked, ()):
        fault = f"relief from the setback costs {asked} cents, not {lines[0].total_cents}, and counts nothing"
    return judge_fact("build.price_line", "price", "relief from the setback is priced once", fault, None)


def _reaches_strip(candidate: Candidate, case: CheckCase) -> bool:
    """Whether a walked piece, shrunk by the tolerance, leaves the area free of the setback."""
    if case.yard.setback_kind == "hard":
        return False
    free = measure_free_area(case.yard)
    return any(
        not free.covers(
            shapely.Polygon(np.array(piece.corners_m)[:, :2]).buffer(-TOLERANCE_M, join_style="mitre")
        )
        for piece in candidate.pieces
        if piece.kind in ("landing", "section", "transition_plate")
    )


def _find_count_faults(candidate: Candidate) -> Iterator[str]:
    used = Counter(list_used_parts(candidate))
    priced = Counter(
        (line.part, item) for line in candidate.price_lines if line.group == "direct" for item in line.items
    )
    for part, item in sorted((used - priced).keys()):
        yield f'"{part}" of {item} is not priced'
    for part, item in sorted((priced - used).keys()):
        yield f'"{part}" of {item} is priced but not there, or twice'


def weigh_candidate(candidate: Candidate, catalogue: Catalogue) -> Fraction:
    """Mass (kg) of every part, exactly as typed; unknown parts weigh nothing (they are findings)."""
    weights = {part.id: Fraction(repr(float(part.weight_kg))) for part in catalogue.parts()}
    return sum((weights.get(part, Fraction(0)) for part, _ in list_used_parts(candidate)), Fraction(0))


def _check_sums(candidate: Candidate, case: CheckCase) -> Iterator[Finding]:
    rates = case.rates
    direct = sum(line.total_cents for line in candidate.price_lines if line.group == "direct")
    yield _judge_cents("direct cost", candidate.direct_cost_cents, direct)
    delivery = rates.delivery_flat_cents + round_half_up(
        weigh_candidate(candidate, case.catalogue) * rates.delivery_per_kg_cents
    )
    overhead = _take_percent(rates.overhead_percent, direct + delivery)
    tax = _take_percent(rates.tax_percent, direct + delivery + overhead)
    for word, cents in zip(ADDED, (delivery, overhead, tax), strict=True):
        yield from _check_added(candidate, word, cents)
    words = {word for line in candidate.price_lines if line.group == "added" for word in _find_words(line)}
    known = sum(1 for line in candidate.price_lines if line.group == "added")
    fault = None if known == len(words) else "a line is added that is neither delivery, overhead nor tax"
    yield judge_fact("build.price_line", "price", "only delivery, overhead and tax are added", fault, None)
    yield _judge_cents("price", candidate.price_cents, direct + delivery + overhead + tax)
    bound = candidate.bound_cents - candidate.direct_cost_cents
    what = "the bound exceeds the direct cost by"
    yield judge_build("build.price_total", "price", what, float(max(0, bound)), "<=", 0.0, "cents", None)


def _find_words(line: PriceLine) -> tuple[str, ...]:
    said = f"{line.part} {line.name}".lower()
    return tuple(word for word in ADDED if word in said)


def _check_added(candidate: Candidate, word: str, cents: int) -> Iterator[Finding]:
    lines = [line for line in candidate.price_lines if line.group == "added" and word in _find_words(line)]
    total = sum(line.total_cents for line in lines)
    yield _judge_cents(word, total, cents)
    wrong = [line for line in lines if line.count != 1 or line.unit_cents != line.total_cents or line.items]
    fault = f"the line for {word} is no plain sum" if wrong or len(lines) > 1 else None
    yield judge_fact("build.price_line", word, "it is one plain sum", fault, None)


def _take_percent(percent: float, cents: int) -> int:
    return round_half_up(Fraction(repr(float(percent))) / 100 * cents)


def _judge_cents(what: str, stated: int, derived: int) -> Finding:
    off = float(abs(stated - derived))
    says = f"its {stated} cents differ from {derived} by"
    return judge_build("build.price_total", what, says, off, "<=", 0.0, "cents", None)
