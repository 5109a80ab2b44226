"""From a layout's choices to placed pieces: the chain laid out from the door down, on one page."""

from __future__ import annotations

from optimizer.brief.site import Site
from optimizer.errors import Fault, InputError
from optimizer.layout.building import Building
from optimizer.layout.footing import set_support
from optimizer.layout.lay_landings import lay_start, lay_turn
from optimizer.layout.lay_runs import RunPlace, lay_last_run, lay_run
from optimizer.layout.lay_toe import lay_toe
from optimizer.layout.placed import PlacedLayout
from optimizer.layout.spec import LayoutSpec
from optimizer.plan import SupportLeg
from optimizer.terrain.yard import Start


def build_layout(site: Site, spec: LayoutSpec) -> PlacedLayout:
    """Place every piece, support and rail of a layout.

    Raises InputError when the layout cannot be laid at all (unknown part, plate that does not
    reach, unsurveyed ground); what it merely breaks is the checker's to find.
    """
    start = _find_start(site, spec)
    building = Building(site, start, 0.0)
    building.width_m = building.section(spec.runs[0].sections[0]).overall_width_m
    deck = start.threshold_m - start.drop_m
    pose, level = lay_start(building, spec, deck), deck
    last = len(spec.runs) - 1
    for n, run in enumerate(spec.runs):
        before = spec.turns[n - 1].kind if n else None
        if n == last:
            pose, level = lay_last_run(building, run, RunPlace(n + 1, before, None, pose, level), spec.plate)
        else:
            place = RunPlace(n + 1, before, spec.turns[n].kind, pose, level)
            pose, level = lay_run(building, run, place)
            pose = lay_turn(building, spec.turns[n], pose, level)
    toe = lay_toe(building, pose, level)
    slopes = [piece.slope for piece in building.pieces if piece.kind in ("section", "transition_plate")]
    return PlacedLayout(
        pieces=tuple(building.pieces),
        legs=_set_supports(building, spec.supports),
        rails=tuple(building.rails),
        toe=toe,
        walking_length_m=building.walk_m,
        footprint_m2=building.area_m2,
        rise_m=deck - level,
        steepest_slope=max(slopes),
    )


def _find_start(site: Site, spec: LayoutSpec) -> Start:
    if not spec.runs or not all(run.sections for run in spec.runs):
        raise InputError(Fault("runs", "a run has no section.", "Give every run at least one section."))
    for start in site.yard.starts:
        if start.name == spec.start:
            return start
    names = ", ".join(start.name for start in site.yard.starts)
    raise InputError(Fault("start", f"{spec.start!r} is not a start.", f"Name one of: {names}."))


def _set_supports(building: Building, wanted: tuple[str, ...] | None) -> tuple[SupportLeg, ...]:
    """A support under every point: the wanted types, or the cheapest that fit."""
    points = building.points
    if wanted is not None and len(wanted) != len(points):
        raise InputError(
            Fault(
                "supports",
                f"{len(wanted)} support types are named for {len(points)} points.",
                "Name one for every point or none at all.",
            )
        )
    return tuple(
        set_support(building.site, point, n + 1, None if wanted is None else wanted[n])
        for n, point in enumerate(points)
    )
