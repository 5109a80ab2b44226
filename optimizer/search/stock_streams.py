"""Which shapes are cheapest when parts are short: streams of layouts, named by CP-SAT."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from optimizer.brief.site import Site
from optimizer.errors import InternalError
from optimizer.search.answers import SearchEvent, ShapeAnswer, Skeleton
from optimizer.search.close_slopes import ask
from optimizer.search.name_parts import NamedParts, name_parts
from optimizer.search.solve_shapes import Effort, SolvedShapes, Stop, solve_with
from optimizer.search.trace import Trace
from optimizer.search.trace_layout import trace_layout

#: Layouts kept of each shape when stock stands against the first; made longer by the factor, up to the last.
FIRST_STREAM, LONGER, LONGEST_STREAM = 16, 8, 1024
#: Where no layout found can be built, layouts up to so many times the cheapest are looked at, first and last.
FIRST_SHARE, MOST_SHARE = 1.3, 6.0


@dataclass(frozen=True, slots=True)
class Settled:
    """One shape with its parts named.

    ``bound_cents``: no layout of the shape that can be built of what is there costs less.
    """

    answer: ShapeAnswer
    skeleton: Skeleton
    named: NamedParts
    bound_cents: int

    @property
    def is_proven(self) -> bool:
        """Whether nothing cheaper of this shape can be built."""
        return self.named.cost_cents <= self.bound_cents


@dataclass(frozen=True, slots=True)
class Stocked:
    """Shapes with their parts, and what is proven over all of them.

    ``bound_cents`` ``None``: stock allows no layout at all.  ``is_complete``: it is a proof.
    """

    settled: tuple[Settled, ...]
    solved: SolvedShapes
    bound_cents: int | None
    is_complete: bool


def retrace(skeleton: Skeleton) -> Trace:
    """The trace of a skeleton the kernels have accepted."""
    trace = trace_layout(ask(skeleton, skeleton.slopes))
    if trace is None:
        raise InternalError("a layout the search found cannot be followed")
    return trace


def name_skeleton(site: Site, skeleton: Skeleton) -> NamedParts | None:
    """Parts of one layout under stock; without stock they cost what the search said."""
    named = name_parts(site, retrace(skeleton))
    if not site.catalogue.stock:
        if named is None:
            raise InternalError("a layout the search found has no supports that fit")
        relief = skeleton.opening.prepared.relief_cents or 0
        if named.cost_cents + relief != skeleton.cost_cents:
            raise InternalError(
                f"parts named at {named.cost_cents} cents, searched at {skeleton.cost_cents - relief} cents"
            )
    if named is None:
        return None
    return named


def settle_shape(site: Site, answer: ShapeAnswer, kept: int) -> Settled | None:
    """Name the layouts of a shape (at most ``kept`` came) until nothing later can be cheaper."""
    best: tuple[Skeleton, NamedParts] | None = None
    for skeleton in answer.skeletons:
        if best is not None and skeleton.cost_cents >= total_cents(*best):
            break
        named = name_skeleton(site, skeleton)
        if named is not None and (best is None or total_cents(skeleton, named) < total_cents(*best)):
            best = (skeleton, named)
    if best is None:
        return None
    cost = total_cents(*best)
    last = answer.skeletons[-1].cost_cents
    # A stream that was cut off tells all layouts up to its last; one that ran dry, up to the ceiling.
    reached = min(last, answer.bound_cents) if len(answer.skeletons) >= kept else answer.bound_cents
    bound = cost if answer.is_whole or reached >= cost else reached
    if not best[1].is_optimal:
        bound = min(bound, best[0].cost_cents)
    return Settled(answer, best[0], best[1], bound)


def total_cents(skeleton: Skeleton, named: NamedParts) -> int:
    """Direct cost: the parts, and relief from the setback where it is used."""
    return named.cost_cents + (skeleton.opening.prepared.relief_cents or 0)


def solve_with_stock(
    site: Site, wanted: int, on_event: Callable[[SearchEvent], None] | None, stop: Stop
) -> Stocked:
    """Search; where stock stands against the answer, search wider until nothing cheaper can follow.

    The wider search has one more time limit, all its streams together.
    """
    solved = solve_with(site, Effort(wanted), on_event, stop)
    settled = settle_all(site, solved, 1)
    free = solved.best_cents
    best = least_total(settled)
    if free is None or best == free:
        return Stocked(settled, solved, solved.bound_cents, True)
    with stop.after(site.search.time_limit_s):
        return search_wider(site, wanted, on_event, stop, (solved, settled))


def search_wider(
    site: Site,
    wanted: int,
    on_event: Callable[[SearchEvent], None] | None,
    stop: Stop,
    known: tuple[SolvedShapes, tuple[Settled, ...]],
) -> Stocked:
    """Longer streams under higher ceilings, until nothing cheaper can be built or the time is up."""
    solved, settled = known
    free = solved.best_cents or 0
    best = least_total(settled)
    kept = FIRST_STREAM
    share = FIRST_SHARE
    # The lattice on which there is a layout: the site's own, or the finer one it took.
    site = replace(site, search=replace(site.search, lattice_m=solved.lattice_m))
    while not stop.flag[0] and kept <= LONGEST_STREAM:
        ceiling = best if best is not None else int(free * share)
        wider = solve_with(site, Effort(wanted, kept, ceiling), on_event, stop)
        settled = better(settled, settle_all(site, wider, kept))
        best = least_total(settled)
        is_dry = all(len(answer.skeletons) < kept for answer in wider.shapes)
        reached = wider.searched_to_cents
        is_searched = reached is None or (best is not None and reached > best)
        if wider.stopped:
            break
        if is_dry and is_searched and best is not None:
            return Stocked(settled, solved, best, all(one.named.is_optimal for one in settled))
        if is_dry and wider.searched_to_cents is None:
            return Stocked((), solved, None, True)
        if not is_dry:
            kept *= LONGER
        elif best is None:
            share *= FIRST_SHARE
            if share > MOST_SHARE:
                break
    return Stocked(settled, solved, free, False)


def settle_all(site: Site, solved: SolvedShapes, kept: int) -> tuple[Settled, ...]:
    """The shapes that can be built of what is there."""
    found = (settle_shape(site, answer, kept) for answer in solved.shapes)
    return tuple(one for one in found if one is not None)


def least_total(settled: tuple[Settled, ...]) -> int | None:
    """Direct cost of the cheapest."""
    return min((total_cents(one.skeleton, one.named) for one in settled), default=None)


def better(old: tuple[Settled, ...], new: tuple[Settled, ...]) -> tuple[Settled, ...]:
    """The cheaper of both for every shape."""
    kept: dict[tuple[object, ...], Settled] = {}
    for one in (*old, *new):
        key = (one.answer.exit, one.answer.turns)
        known = kept.get(key)
        if known is None or total_cents(one.skeleton, one.named) <= total_cents(known.skeleton, known.named):
            kept[key] = one
    return tuple(sorted(kept.values(), key=lambda one: total_cents(one.skeleton, one.named)))
