"""From the search's streams to real layouts: parts under stock, the shown set, closed slopes."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Literal

from shapely.geometry import Polygon
from shapely.ops import unary_union

from optimizer.brief.site import Site
from optimizer.errors import InternalError
from optimizer.layout.spec import LayoutSpec, RunSpec
from optimizer.search.close_slopes import ask, close_slopes
from optimizer.search.find_layouts import (
    ClassAnswer,
    ClassQuestion,
    SearchAnswer,
    SearchEvent,
    Skeleton,
    Turn,
    find_layouts,
)
from optimizer.search.kernel_tables import NEVER
from optimizer.search.name_parts import NamedParts, name_parts
from optimizer.search.pick_shown import Offer, pick_shown
from optimizer.search.trace import Trace
from optimizer.search.trace_layout import trace_layout

Status = Literal["optimal_on_lattice", "feasible", "infeasible_on_lattice", "unknown"]
#: Layouts streamed a class when stock is limited; a dry stream is made longer by this factor.
FIRST_STREAM = 16
LONGER = 8
#: Longest stream tried before 'not proven' is the answer.
LONGEST_STREAM = 1024


@dataclass(frozen=True, slots=True)
class Found:
    """The best layout of one class with real parts, and what is proven of it."""

    exit: str
    turn: Turn
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
    classes_proven: int
    classes_open: int
    missing: tuple[str, ...]
    slopes: tuple[float, ...]
    stopped: str


@dataclass(frozen=True, slots=True)
class _Settled:
    """One class with its parts named.  ``best`` is ``None`` when stock (or the site) allows nothing."""

    answer: ClassAnswer
    best: tuple[Skeleton, NamedParts] | None
    bound_cents: int | None
    is_proven: bool


def solve_site(site: Site, on_event: Callable[[SearchEvent], None] | None = None) -> Solved:
    """Search, name parts under stock, choose what to show, close the slopes.

    Where stock stands against a class's cheapest layout, longer and longer streams of that
    class are searched until nothing cheaper can follow.
    """
    deadline = time.monotonic() + site.search.time_limit_s
    answer = find_layouts(site, on_event)
    settled = [settle_class(site, one, 1) for one in answer.classes]
    kept = FIRST_STREAM
    stopped = answer.stopped
    while not stopped and kept <= LONGEST_STREAM:
        dry = [n for n, one in enumerate(settled) if one.answer.proven and not one.is_proven]
        left_s = deadline - time.monotonic()
        if not dry:
            break
        if left_s <= 0.0:
            stopped = "time limit"
            break
        questions = tuple(
            ClassQuestion(answer.classes[n].exit, answer.classes[n].turn, kept, NEVER - 1) for n in dry
        )
        short = replace(site, search=replace(site.search, time_limit_s=left_s))
        longer = find_layouts(short, on_event, questions)
        for n, one in zip(dry, longer.classes, strict=True):
            settled[n] = better_settled(settled[n], settle_class(site, one, kept))
        stopped = longer.stopped
        kept *= LONGER
    return assemble(site, answer, settled, stopped)


def better_settled(old: _Settled, new: _Settled) -> _Settled:
    """What both streams of one class together say: a stream cut short takes nothing back."""
    if new.is_proven:
        return new
    found = [one.best for one in (old, new) if one.best is not None]
    best = min(found, key=lambda one: one[1].cost_cents) if found else None
    bounds = [one.bound_cents for one in (old, new) if one.bound_cents is not None]
    return _Settled(new.answer, best, max(bounds) if bounds else None, False)


def settle_class(site: Site, answer: ClassAnswer, kept: int) -> _Settled:
    """Name the parts of a class's layouts in order of cost until nothing later can be cheaper."""
    best: tuple[Skeleton, NamedParts] | None = None
    for skeleton in answer.skeletons:
        if best is not None and skeleton.cost_cents >= best[1].cost_cents:
            return (
                _Settled(answer, best, best[1].cost_cents, True)
                if answer.proven
                else _Settled(answer, best, answer.bound_cents, False)
            )
        named = name_parts(site, retrace(skeleton))
        if named is None:
            if not site.catalogue.stock:
                raise InternalError("a layout the search found has no supports that fit")
            continue
        if not site.catalogue.stock and named.cost_cents != skeleton.cost_cents:
            raise InternalError(
                f"parts named at {named.cost_cents} cents, searched at {skeleton.cost_cents} cents"
            )
        if best is None or named.cost_cents < best[1].cost_cents:
            best = (skeleton, named)
    if not answer.proven:
        return _Settled(answer, best, answer.bound_cents, False)
    is_whole_stream = len(answer.skeletons) < kept
    if best is None:
        bound = None if is_whole_stream else answer.skeletons[-1].cost_cents
        return _Settled(answer, None, bound, is_whole_stream)
    last = answer.skeletons[-1].cost_cents
    is_proven = (is_whole_stream or last >= best[1].cost_cents) and best[1].is_optimal
    return _Settled(answer, best, best[1].cost_cents if is_proven else last, is_proven)


def retrace(skeleton: Skeleton) -> Trace:
    """The trace of a skeleton the kernel has accepted."""
    trace = trace_layout(ask(skeleton, (skeleton.slope,) * len(skeleton.runs)))
    if trace is None:
        raise InternalError("a layout the search found cannot be followed")
    return trace


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


def shape_word(turn: Turn) -> str:
    """Shape with its hand: what the picker tells apart."""
    return {"none": "straight", "left": "L left", "right": "L right"}.get(turn, f"switchback {turn[5:]}")


def build_spec(skeleton: Skeleton, named: NamedParts, slopes: tuple[float, ...]) -> LayoutSpec:
    """The layout's choices in words."""
    opening = skeleton.opening
    return LayoutSpec(
        start=opening.prepared.start.name,
        slide_m=opening.slide_m,
        door_landing=opening.door_landing,
        exit=opening.exit,
        attach=opening.attach,
        runs=tuple(RunSpec(names, slope) for names, slope in zip(named.runs, slopes, strict=True)),
        turns=skeleton.turns,
        plate=skeleton.plate,
        supports=named.supports,
    )


def assemble(site: Site, answer: SearchAnswer, settled: list[_Settled], stopped: str) -> Solved:
    """Choose what is shown and say what is proven."""
    with_layout = [one for one in settled if one.best is not None]
    offers = tuple(
        Offer(one.best[1].cost_cents, shape_word(one.answer.turn), one.answer.exit, footprint(one.best[0]))
        for one in with_layout
        if one.best is not None
    )
    shown = []
    for n in pick_shown(offers, site.wishes.shown, site.search.seed):
        one = with_layout[n]
        if one.best is None:
            raise InternalError("a class without a layout was offered")
        skeleton, named = one.best
        closing = close_slopes(skeleton, named)
        shown.append(
            Found(
                exit=one.answer.exit,
                turn=one.answer.turn,
                spec=build_spec(skeleton, named, closing.slopes),
                cost_cents=named.cost_cents,
                bound_cents=one.bound_cents if one.bound_cents is not None else named.cost_cents,
                is_proven=one.is_proven,
                evenness=closing.evenness,
            )
        )
    bounds = [one.bound_cents for one in settled if one.bound_cents is not None]
    bound = min(bounds) if bounds else None
    all_proven = all(one.is_proven for one in settled)
    status: Status
    if shown:
        best = shown[0].cost_cents
        status = "optimal_on_lattice" if bound is not None and bound >= best else "feasible"
    else:
        status = "infeasible_on_lattice" if all_proven else "unknown"
    return Solved(
        status=status,
        bound_cents=bound,
        shown=tuple(shown),
        classes_proven=sum(one.is_proven for one in settled),
        classes_open=sum(not one.is_proven for one in settled),
        missing=answer.missing,
        slopes=answer.slopes,
        stopped=stopped,
    )
