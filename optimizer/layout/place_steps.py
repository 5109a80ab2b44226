"""Steps beside the ramp: the cheapest flight on the first landing that has a free edge for one.

Placed after the ramp is: what the search proves is proven about the ramp without its steps.
Every flight of the catalogue is tried on every free edge, flush with either end of it.  The
landing at the door comes first, then the others down the way; on one landing the cheapest is
taken (then the first edge and the left place).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from optimizer.brief.site import Site
from optimizer.catalogue.parts import Landing, RailPanel, StepFlight
from optimizer.catalogue.rates import part_cost_cents
from optimizer.errors import InternalError
from optimizer.layout.building import LETTERS
from optimizer.layout.fit_steps import (
    FreeEdge,
    Misfit,
    Trial,
    build_surroundings,
    find_misfit,
    list_free_edges,
    list_trials,
)
from optimizer.layout.landing_edges import INFILL_FROM_M, Edge
from optimizer.layout.placed import PlacedLayout
from optimizer.plan import XYZ, Piece, Rail


@dataclass(frozen=True, slots=True)
class PlacedSteps:
    """A flight where it stands.

    ``rails`` are all rails of the layout with it: its own two, and its landing's with the
    flight's edge opened.  ``added_cents`` is what flight and rails add to the direct cost.
    """

    piece: Piece
    landing: str
    edge: Edge
    riser_m: float
    rails: tuple[Rail, ...]
    added_cents: int


@dataclass(frozen=True, slots=True)
class RefusedEdge:
    """A free edge that takes no flight, and what the flight that came furthest met there."""

    landing: str
    edge: Edge
    reason: str


@dataclass(frozen=True, slots=True)
class StepsAnswer:
    """The steps of a layout, or every free edge with the reason why it takes none."""

    placed: PlacedSteps | None
    refused: tuple[RefusedEdge, ...]


def add_steps(site: Site, layout: PlacedLayout) -> PlacedLayout:
    """The layout with the steps that the wishes ask for; as it is when none are, or none fit."""
    if site.wishes.steps == "none":
        return layout
    placed = find_steps(site, layout).placed
    if placed is None:
        return layout
    return replace(layout, pieces=(*layout.pieces, placed.piece), rails=placed.rails)


def find_steps(site: Site, layout: PlacedLayout) -> StepsAnswer:
    """The cheapest flight on the first landing that takes one, whatever the wishes say."""
    flights = [
        part
        for part in site.catalogue.in_stock().step_flights
        if part.rated_load_kg >= site.rider.total_mass_kg
    ]
    around = build_surroundings(site, layout)
    refused: list[RefusedEdge] = []
    best: PlacedSteps | None = None
    for edge in list_free_edges(layout):
        if best is not None and best.landing != edge.landing.id:
            break
        misfits = []
        for trial in (trial for part in flights for trial in list_trials(site, edge, part)):
            misfit = find_misfit(trial, around)
            if misfit is not None:
                misfits.append(misfit)
                continue
            steps = _place(site, layout, trial)
            if best is None or steps.added_cents < best.added_cents:
                best = steps
        refused.append(RefusedEdge(edge.landing.id, edge.edge, _say_why(misfits)))
    return StepsAnswer(best, () if best is not None else tuple(refused))


def _say_why(misfits: list[Misfit]) -> str:
    if not misfits:
        return "the catalogue has no flight of steps for this load"
    return max(misfits, key=lambda misfit: misfit.stage).reason


def _place(site: Site, layout: PlacedLayout, trial: Trial) -> PlacedSteps:
    part, edge = trial.part, trial.edge
    piece = Piece(
        id=f"{LETTERS['steps']}1",
        catalogue_id=part.id,
        kind="steps",
        use=None,
        run=None,
        corners_m=trial.levelled_corners(),
        slope=trial.riser_m / part.going_m,
    )
    rails = (*_open_edge(site, layout.rails, edge, part), *_rail_flight(site, layout.rails, piece, part))
    added = part_cost_cents(part, site.rates) + _sum_cents(site, rails) - _sum_cents(site, layout.rails)
    return PlacedSteps(piece, edge.landing.id, edge.edge, trial.riser_m, rails, added)


def _sum_cents(site: Site, rails: tuple[Rail, ...]) -> int:
    return sum(part_cost_cents(site.catalogue.part(rail.catalogue_id), site.rates) for rail in rails)


def _open_edge(site: Site, rails: tuple[Rail, ...], edge: FreeEdge, part: StepFlight) -> Iterator[Rail]:
    """The layout's rails with the panel of the flight's edge made an infill, or left out."""
    landing = site.catalogue.part(edge.landing.catalogue_id)
    if not isinstance(landing, Landing):
        raise InternalError(f"piece {edge.landing.id} is a landing of part {landing.id}, which is none")
    for rail in rails:
        if rail.piece != edge.landing.id or rail.edge != edge.edge or rail.kind != "panel":
            yield rail
        elif edge.length_m - part.width_m > INFILL_FROM_M:
            yield rail.model_copy(
                update={
                    "kind": "infill",
                    "catalogue_id": landing.rail_infill,
                    "height_m": _find_panel(site, landing.rail_infill).height_m,
                }
            )


def _rail_flight(site: Site, rails: tuple[Rail, ...], piece: Piece, part: StepFlight) -> Iterator[Rail]:
    """One panel on either side, numbered on after the layout's own."""
    start_left, start_right, end_right, end_left = piece.corners_m
    sides: tuple[tuple[Edge, tuple[XYZ, XYZ]], ...] = (
        ("left", (start_left, end_left)),
        ("right", (start_right, end_right)),
    )
    for number, (side, line) in enumerate(sides, start=len(rails) + 1):
        yield Rail(
            id=f"R{number:02d}",
            catalogue_id=part.rail_panel,
            kind="panel",
            piece=piece.id,
            edge=side,
            line_m=line,
            height_m=_find_panel(site, part.rail_panel).height_m,
        )


def _find_panel(site: Site, part_id: str) -> RailPanel:
    panel = site.catalogue.part(part_id)
    if not isinstance(panel, RailPanel):
        raise InternalError(f"part {part_id} is no rail panel")
    return panel
