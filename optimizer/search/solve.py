"""From the search to real layouts: parts under stock, the shown set, closed slopes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from shapely.geometry import Polygon
from shapely.ops import unary_union

from optimizer.brief.site import Site
from optimizer.layout.spec import Exit, LayoutSpec, RunSpec
from optimizer.search.answers import SearchEvent, Skeleton, Turns
from optimizer.search.close_slopes import close_slopes
from optimizer.search.name_parts import NamedParts
from optimizer.search.pick_shown import Offer, pick_shown
from optimizer.search.solve_shapes import Certificate, Status, Stop, StopWord
from optimizer.search.stock_streams import Settled, retrace, solve_with_stock, total_cents


@dataclass(frozen=True, slots=True)
class Found:
    """The best layout of one shape with real parts, and what is proven of it."""

    exit: Exit
    turns: Turns
    spec: LayoutSpec
    cost_cents: int
    bound_cents: int
    is_proven: bool
    evenness: str


@dataclass(frozen=True, slots=True)
class Solved:
    """The answer to one site.  ``shown`` is empty when nothing was found."""

    status: Status
    bound_cents: int | None
    shown: tuple[Found, ...]
    shapes_found: int
    not_settled: tuple[tuple[Exit, Turns], ...]
    missing: tuple[str, ...]
    stopped: StopWord
    certificate: Certificate


def solve_site(
    site: Site, on_event: Callable[[SearchEvent], None] | None = None, stop: Stop | None = None
) -> Solved:
    """Search, name parts under stock, choose what to show, close the slopes."""
    stocked = solve_with_stock(site, site.wishes.shown, on_event, stop or Stop())
    solved = stocked.solved
    offers = tuple(build_offer(one) for one in stocked.settled)
    shown = tuple(
        build_found(stocked.settled[n])
        for n in pick_shown(offers, site.wishes.shown, site.wishes.prefer_side, site.search.seed)
    )
    status: Status
    if not shown:
        is_over = stocked.is_complete and solved.status != "unknown"
        status = "infeasible_on_lattice" if is_over else "unknown"
    else:
        is_proven = stocked.is_complete and (
            stocked.bound_cents is None or stocked.bound_cents >= shown[0].cost_cents
        )
        status = "optimal_on_lattice" if is_proven else "feasible"
    return Solved(
        status=status,
        bound_cents=stocked.bound_cents,
        shown=shown,
        shapes_found=len(stocked.settled),
        not_settled=solved.not_settled,
        missing=solved.missing,
        stopped=solved.stopped,
        certificate=solved.certificate,
    )


def build_offer(one: Settled) -> Offer:
    """What the picker has to know of a shape."""
    return Offer(
        total_cents(one.skeleton, one.named),
        shape_word(one.answer.turns),
        one.answer.exit,
        footprint(one.skeleton),
    )


def build_found(one: Settled) -> Found:
    """A shape's best layout with its slopes closed."""
    closing = close_slopes(one.skeleton, one.named)
    return Found(
        exit=one.answer.exit,
        turns=one.answer.turns,
        spec=build_spec(one.skeleton, one.named, closing.slopes),
        cost_cents=total_cents(one.skeleton, one.named),
        bound_cents=one.bound_cents,
        is_proven=one.is_proven,
        evenness=closing.evenness,
    )


def footprint(skeleton: Skeleton) -> Polygon:
    """Ground covered by runs and landings, in the door frame of the layout's start."""
    trace = retrace(skeleton)
    shapes = []
    for pose, width, length in (
        *((run.pose, skeleton.opening.prepared.parts.width_m, run.plan_m) for run in trace.runs),
        *((x.pose, x.landing.width_m, x.landing.length_m) for x in trace.landings),
    ):
        half = width / 2.0
        shapes.append(
            Polygon(
                [
                    pose.ahead(0, -half),
                    pose.ahead(0, half),
                    pose.ahead(length, half),
                    pose.ahead(length, -half),
                ]
            )
        )
    return unary_union(shapes)


def shape_word(turns: Turns) -> str:
    """The turns in a word: what the picker tells apart."""
    return " ".join(turns) or "straight"


def build_spec(skeleton: Skeleton, named: NamedParts, slopes: tuple[float, ...]) -> LayoutSpec:
    """The layout's choices in words."""
    opening = skeleton.opening
    return LayoutSpec(
        start=opening.prepared.start.name,
        slide_m=opening.slide_m,
        door_landing=opening.door_landing,
        exit=opening.exit,
        attach_m=opening.attach_m,
        runs=tuple(RunSpec(names, slope) for names, slope in zip(named.runs, slopes, strict=True)),
        turns=skeleton.turns,
        plate=skeleton.plate,
        supports=named.supports,
    )
