"""The whole flow on one page: site -> search -> layouts -> prices -> findings -> plan."""

from __future__ import annotations

import importlib.metadata
from collections.abc import Callable
from dataclasses import replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from optimizer.brief.site import Site
from optimizer.brief.thin_places import list_thin_places
from optimizer.errors import InternalError
from optimizer.estimate.price import build_price
from optimizer.fit_chances import FitTold, tell_fit
from optimizer.fit_search import TRIES, search_for_fit
from optimizer.layout.build_layout import build_layout
from optimizer.layout.place_steps import add_steps
from optimizer.layout.spec import LayoutSpec, TurnKind
from optimizer.plan import (
    SCHEMA,
    XYZ,
    Candidate,
    Conflict,
    Finding,
    GroundRecord,
    Plan,
    RoundRecord,
    SearchRecord,
    SiteRecord,
)
from optimizer.record_doubts import record_doubts
from optimizer.record_rules import record_facts, record_rules
from optimizer.rulebook.bound import Rulings
from optimizer.search.answers import SearchEvent, Turns
from optimizer.search.constraint_prices import price_constraints
from optimizer.search.plan_records import (
    find_baseline,
    record_advice,
    record_conflicts,
    record_prices,
    record_trials,
)
from optimizer.search.solve import Found, Solved, solve_site
from optimizer.search.solve_shapes import Stop
from optimizer.search.what_to_buy import find_what_to_buy
from optimizer.search.why_not import WhyNot, explain_no_layout
from optimizer.standards.case import CheckCase
from optimizer.standards.check_candidate import check_candidate

#: Packages whose version can change an answer.
VERSIONED = ("numpy", "numba", "ortools", "shapely", "pythoncdt")


def make_plan(
    site: Site,
    on_event: Callable[[SearchEvent], None] | None = None,
    stop: Stop | None = None,
    prices: Literal["on", "off"] = "off",
) -> Plan:
    """Plan one site: the cheapest layout of every shape, priced and checked by the independent judge.

    ``prices`` "on": also what each constraint costs, every one found by another search.
    """
    solved = solve_site(site, on_event, stop)
    candidates = tuple(
        build_candidate(site, found, f"candidate {n + 1}") for n, found in enumerate(solved.shown)
    )
    told = reach_wish(site, tell_fit(site, candidates), solved, stop)
    plan = bundle_plan(site, solved, told.candidates)
    best = find_baseline(solved)
    why = explain_no_layout(site) if solved.status == "infeasible_on_lattice" else None
    advice = None if solved.status == "unknown" else find_what_to_buy(site, best)
    return plan.model_copy(
        update={
            "conflicts": describe_conflicts(solved, why),
            "fit": told.record,
            "trials": () if why is None else record_trials(why),
            "to_buy": None if advice is None else record_advice(advice),
            "constraint_prices": (
                record_prices(price_constraints(site, best)) if prices == "on" and best is not None else ()
            ),
        }
    )


def reach_wish(site: Site, told: FitTold, solved: Solved, stop: Stop | None) -> FitTold:
    """What was told, and where the cheapest candidate does not reach the wish, what a search for it finds."""
    wished = site.wishes.fit_at_least
    by_cost = sorted(told.candidates, key=lambda one: one.direct_cost_cents)
    if told.record is None or wished is None or not by_cost or by_cost[0].reaches_fit:
        return told

    def find(stricter: Site) -> tuple[Candidate, ...] | None:
        # All tries together take no longer than the site allows one search.
        limited = limit_search_time(stricter, site.search.time_limit_s / TRIES)
        found = solve_site(limited, None, stop)
        if stop is not None and stop.word:
            return None
        shown = found.shown
        built = tuple(build_candidate(site, one, f"candidate {n + 1}") for n, one in enumerate(shown))
        return tell_fit(site, built).candidates

    searched = search_for_fit(site, told.candidates, wished, find)
    update = {"widest_m": searched.widest_m, "width_m": None}
    if searched.candidate is None:
        return replace(told, record=told.record.model_copy(update=update))
    # What is proven of the cheapest of all holds for every layout; nothing more is known of this one.
    added = searched.candidate.model_copy(
        update={"proof": "found", "bound_cents": min(solved.bound_cents or 0, searched.candidate.bound_cents)}
    )
    reaching = [one.direct_cost_cents for one in by_cost if one.reaches_fit]
    if reaching and min(reaching) <= added.direct_cost_cents:
        return replace(told, record=told.record.model_copy(update=update))
    everyone = sorted((*by_cost, added), key=lambda one: one.direct_cost_cents)
    again = tell_fit(site, everyone)
    record = (
        None
        if again.record is None
        else again.record.model_copy(update={"widest_m": searched.widest_m, "width_m": searched.width_m})
    )
    return FitTold(again.candidates, record)


def limit_search_time(site: Site, seconds: float) -> Site:
    """The site with another time limit than its own."""
    return replace(site, search=replace(site.search, time_limit_s=seconds))


def build_candidate(site: Site, found: Found, name: str) -> Candidate:
    """Place, price and check one layout the search has found."""
    candidate = build_checked(
        site, found.spec, name, describe_proof(found), found.bound_cents, found.evenness
    )
    # Both carry what the steps add, which the search knows nothing of.
    priced_cents = found.bound_cents + candidate.direct_cost_cents - candidate.bound_cents
    if priced_cents != found.cost_cents:
        raise InternalError(f"{name}: priced at {priced_cents} cents, searched at {found.cost_cents} cents")
    return candidate


def build_checked(
    site: Site, spec: LayoutSpec, name: str, proof: str, bound_cents: int | None, closing: str
) -> Candidate:
    """Place and price a layout, then let the checker look at it."""
    ramp = build_layout(site, spec)
    layout = add_steps(site, ramp)
    price = build_price(layout, site.catalogue, site.rates, site.yard)
    # The proof is about the ramp alone: what the steps add is added to its bound as well.
    steps_cents = price.direct_cents - build_price(ramp, site.catalogue, site.rates, site.yard).direct_cents
    candidate = Candidate(
        name=name,
        shape=shape_of(tuple(turn.kind for turn in spec.turns)),
        start=spec.start,
        exit=spec.exit,
        turns=tuple(turn.kind for turn in spec.turns),
        proof=proof,
        bound_cents=price.direct_cents if bound_cents is None else bound_cents + steps_cents,
        direct_cost_cents=price.direct_cents,
        price_cents=price.total_cents,
        price_lines=price.lines,
        walking_length_m=layout.walking_length_m,
        footprint_m2=layout.footprint_m2,
        weight_kg=price.weight_kg,
        rise_m=layout.rise_m,
        steepest_slope=layout.steepest_slope,
        closing=closing,
        pieces=layout.pieces,
        legs=layout.legs,
        rails=layout.rails,
        toe=layout.toe,
        findings=(),
        fit_chance=None,
    )
    return candidate.model_copy(update={"findings": check_again(candidate, site)})


def check_again(candidate: Candidate, site: Site) -> tuple[Finding, ...]:
    """The independent checker's findings on a candidate."""
    return check_candidate(candidate, build_case(site, candidate.start))


def build_case(site: Site, start_name: str) -> CheckCase:
    """What the checker needs of a site, and nothing the search said."""
    return CheckCase(
        yard=site.yard,
        ground=site.ground,
        bedding_m=site.bedding_m,
        catalogue=site.catalogue,
        rates=site.rates,
        rulings=find_rulings(site, start_name),
        start_name=start_name,
        total_mass_kg=site.rider.total_mass_kg,
        guard_above_m=site.wishes.guard_above_m,
        rail_landings_above_m=site.wishes.rail_landings_above_m,
        must_pass_m=site.wishes.must_pass_m,
        landing_at_m=site.wishes.landing_at_m,
        steps=site.wishes.steps,
        survey_error_m=site.wishes.survey_error_m,
    )


def find_rulings(site: Site, start_name: str) -> Rulings:
    """The rule sets with the facts of that door; with the job's where there is no such door."""
    for start in site.yard.starts:
        if start.name == start_name:
            return site.rulings_of(start)
    return site.rulings


def shape_of(turns: tuple[TurnKind, ...]) -> Literal["straight", "L", "switchback"]:
    """The shape in a word."""
    if any(turn in ("half_left", "half_right") for turn in turns):
        return "switchback"
    return "L" if any(turn in ("left", "right") for turn in turns) else "straight"


def describe_proof(found: Found) -> str:
    """What is proven about one candidate, in one line."""
    if found.is_proven:
        return "proven"
    gap = 100.0 * (found.cost_cents - found.bound_cents) / found.cost_cents
    return f"gap {gap:.1f} %"


def bundle_plan(site: Site, solved: Solved, candidates: tuple[Candidate, ...]) -> Plan:
    """Bundle everything downstream reads."""
    best = solved.shown[0].cost_cents if candidates else None
    gap = None
    if best is not None and solved.bound_cents is not None:
        gap = max(0.0, (best - solved.bound_cents) / best)
    return Plan(
        schema=SCHEMA,
        site=SiteRecord(
            name=site.name,
            file=site.path.name,
            catalogue=site.catalogue.id,
            rates=site.rates.id,
            rates_dated=site.rates.dated.isoformat(),
            dated=site.dated,
            origin_shift_m=as_point(site.origin_shift_m),
        ),
        rules=record_rules(site.rulings.sets),
        facts=record_facts(site),
        currency=site.catalogue.currency,
        display_units=site.display.system,
        display_step_m=site.display.step_m,
        status=solved.status,
        bound_cents=solved.bound_cents,
        gap=gap,
        search=describe_search(site, solved, candidates),
        versions=tuple((name, importlib.metadata.version(name)) for name in VERSIONED),
        seed=site.search.seed,
        ground=GroundRecord(
            points_used=len(site.ground.points_m),
            leave_one_out_m=site.ground.leave_one_out_m,
            label="; ".join(filter(None, (site.heights.warning, site.heights.basis))),
            thin_places_m=tuple(
                (float(x), float(y), float(site.ground.elevation_at(float(x), float(y))))
                for x, y in list_thin_places(site)[:, :2]
            ),
            warning=site.heights.warning,
            doubts=record_doubts(site.heights.doubts),
        ),
        conflicts=(),
        candidates=candidates,
    )


def as_point(row: NDArray[np.float64]) -> XYZ:
    """Three floats of an array (3,)."""
    x, y, z = (float(value) for value in row)
    return (x, y, z)


def describe_search(site: Site, solved: Solved, candidates: tuple[Candidate, ...]) -> SearchRecord:
    """What the proof is about, said exactly."""
    proof = solved.certificate
    how = {
        "optimal_on_lattice": f"{name_cheapest(candidates)} is proven cheapest",
        "infeasible_on_lattice": "Proven that there is none",
    }.get(solved.status, "Searched, not proven,")
    slopes = "one slope for all runs" if site.wishes.slopes == "equal" else "a slope of its own for each run"
    turns = site.wishes.most_turns
    return SearchRecord(
        engine=proof.engine,
        lattice_m=proof.lattice_m,
        slopes=proof.slopes,
        height_step_m=proof.height_step_m,
        guard_m=0.0,
        most_runs=proof.most_runs,
        longest_run_m=proof.longest_run_m,
        statement=(
            f"{how} over right-angled layouts of at most {proof.most_runs} runs"
            f"{'' if turns is None else f' and {turns} turns'}, {slopes} out of {len(proof.slopes)}, drops "
            f"in steps of {1000 * proof.height_step_m:.2f} mm, runs fixed to landings every "
            f"{proof.lattice_m:.3f} m; pieces, heights and ground are not rounded."
        ),
        rounds=tuple(
            RoundRecord(
                lattice_m=one.lattice_m,
                ceiling_cents=one.ceiling_cents,
                states=one.states,
                arcs=one.arcs,
                tried=one.tried,
                priced=one.priced,
            )
            for one in proof.rounds
        ),
        shapes_found=solved.shapes_found,
        not_settled=tuple(name_shape(leaves, turns_of) for leaves, turns_of in solved.not_settled),
    )


def name_cheapest(candidates: tuple[Candidate, ...]) -> str:
    """The first, unless a wish put others before the cheapest."""
    if not candidates:
        return "The first"
    cheapest = min(candidates, key=lambda one: one.direct_cost_cents)
    return "The first" if cheapest is candidates[0] else cheapest.name.capitalize()


def name_shape(leaves: str, turns: Turns) -> str:
    """A shape in words."""
    return f"leaving {leaves}, {', '.join(turn.replace('_', ' turn ') for turn in turns) or 'straight'}"


def describe_conflicts(solved: Solved, why: WhyNot | None) -> tuple[Conflict, ...]:
    """Why there is no layout, with changes that were solved and would each do."""
    if solved.shown:
        return ()
    if solved.status == "unknown":
        return (
            Conflict(
                reason=f"The search was stopped ({solved.stopped}) before it found or ruled out a layout.",
                remedy="Give more time with --time-limit.",
            ),
        )
    missing = tuple(
        Conflict(reason=what, remedy="Take another catalogue or another rider, rule set or width.")
        for what in solved.missing
    )
    found = () if why is None else record_conflicts(why)
    nothing = Conflict(
        reason=f"No right-angled layout of at most {solved.certificate.most_runs} runs fits on this lattice.",
        remedy="None of the single changes that were tried makes room; survey more ground or move the door.",
    )
    return (*missing, *found) or (nothing,)
