"""Steps that are placed break nothing the checker knows; where none are placed, it finds no room either.

Two programs that share no measurement: ``optimizer.layout`` places, ``optimizer.standards`` judges.
The yards are drawn by lot round the flat yard's landing, so that some edges take steps and some do not.
"""

from __future__ import annotations

import numpy as np
import pytest

from optimizer.brief.site import Site
from optimizer.estimate.price import build_price
from optimizer.layout.build_layout import build_layout
from optimizer.layout.fit_steps import Trial, build_surroundings, find_misfit, list_free_edges, list_trials
from optimizer.layout.place_steps import add_steps
from optimizer.layout.placed import PlacedLayout
from optimizer.plan import Candidate, Finding, Piece
from optimizer.standards.case import CheckCase
from optimizer.standards.chain import Chain
from optimizer.standards.check_candidate import check_candidate
from optimizer.standards.ground_measure import Facets, build_facets
from optimizer.standards.measure_chain import measure_chain
from optimizer.standards.measure_steps import list_looks
from optimizer.standards.placed import measure_piece
from optimizer.terrain.yard import ZoneKind
from tests.layout.plane_layouts import LAYOUTS, plane_site
from tests.search.flat_yard import box_at, with_headroom, with_obstacle, with_wishes, with_yard, with_zone

#: Yards a layout: tried place by place, and checked as a whole.
SEEDS, WHOLE = 24, 5
KINDS: tuple[ZoneKind, ...] = ("no_build", "no_foot", "drip_line", "vehicle")


def draw_site(seed: int, name: str) -> Site:
    """A plane, some things round the landing, a lot that may be narrow; lengths not rounded."""
    dice = np.random.default_rng(seed)
    threshold_m, _, _ = LAYOUTS[name]
    site = plane_site(threshold_m, dice.uniform(-0.04, 0.04), dice.uniform(-0.02, 0.03))
    site = with_wishes(
        site, steps="wanted", rail_landings_above_m=0.1524, survey_error_m=float(dice.choice([0.0, 0.02]))
    )
    for _ in range(int(dice.integers(0, 5))):
        u, v = dice.uniform(-3.0, 3.0), dice.uniform(0.0, 6.0)
        outline = box_at(u, v, u + dice.uniform(0.1, 1.0), v + dice.uniform(0.1, 1.0))
        thing = int(dice.integers(0, 5))
        if thing == 0:
            site = with_obstacle(site, outline, None)
        elif thing == 1:
            site = with_obstacle(site, outline, -0.3)
        elif thing == 2:
            site = with_headroom(site, outline, threshold_m + dice.uniform(1.2, 2.2), 2.0)
        else:
            site = with_zone(site, KINDS[int(dice.integers(0, 4))], outline)
    if dice.random() < 0.5:
        half = dice.uniform(1.2, 4.0)
        site = with_yard(
            site,
            lot_m=box_at(-half, -29.0, half, 29.0),
            setback_m=dice.uniform(0.0, 0.8),
            setback_kind=("hard", "needs_relief")[int(dice.integers(0, 2))],
            relief_cents=50000,
        )
    return site


def judge(site: Site, layout: PlacedLayout, name: str) -> tuple[Finding, ...]:
    """Every finding; what a layout typed by hand into a drawn yard itself breaks is among them."""
    case = build_case(site, LAYOUTS[name][1].start)
    return check_candidate(draw_candidate(site, layout, name), case)


def draw_candidate(site: Site, layout: PlacedLayout, name: str) -> Candidate:
    spec = LAYOUTS[name][1]
    price = build_price(layout, site.catalogue, site.rates, site.yard)
    turns = tuple(turn.kind for turn in spec.turns)
    half = any(turn in ("half_left", "half_right") for turn in turns)
    return Candidate(
        name="A",
        shape="switchback" if half else "L" if turns else "straight",
        start=spec.start,
        exit=spec.exit,
        turns=turns,
        proof="none",
        bound_cents=0,
        direct_cost_cents=price.direct_cents,
        price_cents=price.total_cents,
        price_lines=price.lines,
        walking_length_m=layout.walking_length_m,
        footprint_m2=layout.footprint_m2,
        weight_kg=price.weight_kg,
        rise_m=layout.rise_m,
        steepest_slope=layout.steepest_slope,
        closing="none",
        pieces=layout.pieces,
        legs=layout.legs,
        rails=layout.rails,
        toe=layout.toe,
        findings=(),
        fit_chance=None,
    )


def build_case(site: Site, start: str) -> CheckCase:
    return CheckCase(
        yard=site.yard,
        ground=site.ground,
        bedding_m=site.bedding_m,
        catalogue=site.catalogue,
        rates=site.rates,
        rulings=site.rulings,
        start_name=start,
        total_mass_kg=site.rider.total_mass_kg,
        guard_above_m=site.wishes.guard_above_m,
        rail_landings_above_m=site.wishes.rail_landings_above_m,
        must_pass_m=(),
        landing_at_m=(),
        steps=site.wishes.steps,
        survey_error_m=site.wishes.survey_error_m,
    )


def fails(findings: tuple[Finding, ...]) -> set[tuple[str, str]]:
    return {(one.clause, one.subject) for one in findings if one.verdict == "fails"}


def has_faults(trial: Trial, chain: Chain, layout: PlacedLayout, case: CheckCase, facets: Facets) -> bool:
    """Whether the checker finds anything in the way of the flight that the placer tries."""
    piece = Piece(
        id="F1",
        catalogue_id=trial.part.id,
        kind="steps",
        use=None,
        run=None,
        corners_m=trial.levelled_corners(),
        slope=trial.riser_m / trial.part.going_m,
    )
    landing = next(one for one in chain.all_landings if one.piece.id == trial.edge.landing.id)
    looks = list_looks(measure_piece(piece, trial.part), landing, chain, layout.rails, case, facets)
    return any(look.fault is not None for look in looks)


@pytest.mark.parametrize("name", LAYOUTS)
def test_placer_and_checker_agree_on_every_place_of_every_drawn_yard(name: str) -> None:
    fit = refused = 0
    for seed in range(SEEDS):
        site = draw_site(seed, name)
        layout = build_layout(site, LAYOUTS[name][1])
        around = build_surroundings(site, layout)
        chain, _ = measure_chain(draw_candidate(site, layout, name), site.catalogue)
        assert chain is not None
        case, facets = build_case(site, LAYOUTS[name][1].start), build_facets(site.ground)
        for edge in list_free_edges(layout):
            for part in site.catalogue.step_flights:
                for trial in list_trials(site, edge, part):
                    found = find_misfit(trial, around)
                    assert (found is not None) is has_faults(trial, chain, layout, case, facets), (
                        seed, edge.landing.id, edge.edge, part.id, found,
                    )  # fmt: skip
                    fit += found is None
                    refused += found is not None and "above its foot" not in found.reason
    assert fit > SEEDS, (fit, refused)
    assert refused > SEEDS, (fit, refused)


@pytest.mark.parametrize("name", LAYOUTS)
def test_steps_that_are_placed_add_no_finding_that_fails(name: str) -> None:
    for seed in range(WHOLE):
        site = draw_site(seed, name)
        bare = build_layout(site, LAYOUTS[name][1])
        layout = add_steps(site, bare)
        findings, before = judge(site, layout, name), judge(site, bare, name)
        assert fails(findings) <= fails(before) - {("build.steps_wanted", "A")}, seed
        (told,) = (one for one in before if one.clause == "build.steps_wanted")
        assert told.verdict == ("cannot tell" if layout is bare else "fails"), seed
