"""Name the sections, legs and low supports of one layout by CP-SAT, under stock.

The kernel knows the cheapest layouts as if every part were in the yard.  Here one of them is
given its real parts: which sections in which order, which support under every point, so that
no stocked part is used more often than there are.  Without stock limits the answer must cost
what the kernel said; a difference is a bug and is reported as one.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from ortools.sat.python import cp_model

from optimizer.brief.site import Site
from optimizer.catalogue.parts import Leg, LowSupport
from optimizer.catalogue.rates import part_cost_cents
from optimizer.errors import InternalError
from optimizer.search.geometry_kernel import E
from optimizer.search.kernel_tables import NEVER
from optimizer.search.trace import (
    SupportOption,
    Trace,
    TracedRun,
    kinds_in,
    list_landing_points,
    list_pair_options,
    list_point_options,
)

#: Deterministic effort allowed for naming the parts of one layout (CP-SAT's own unit, about seconds).
NAMING_EFFORT = 10.0


@dataclass(frozen=True, slots=True)
class NamedParts:
    """The parts of one layout.  ``supports`` in building order (see ``LayoutSpec``).

    ``is_optimal``: no cheaper naming exists; else the effort allowed ran out first.
    """

    runs: tuple[tuple[str, ...], ...]
    supports: tuple[str, ...]
    cost_cents: int
    is_optimal: bool


@dataclass(frozen=True, slots=True)
class _Choice:
    """A support choice at one point: its variable, cost and the parts it uses."""

    variable: cp_model.IntVar
    kind: int
    cost_cents: int
    braced: bool


@dataclass(frozen=True, slots=True)
class _Arc:
    """A section laid between two sums of one run."""

    variable: cp_model.IntVar
    section: int
    upper: int
    lower: int
    mids: tuple[tuple[_Choice, ...], ...]


@dataclass(frozen=True, slots=True)
class _RunModel:
    """Arcs of one run and the support choices under each joint (left, right)."""

    arcs: tuple[_Arc, ...]
    joints: dict[int, tuple[tuple[_Choice, ...], tuple[_Choice, ...]]]


class _Builder:
    """Collects variables, costs and stock use while a model is built."""

    def __init__(self, site: Site, trace: Trace) -> None:
        self.model = cp_model.CpModel()
        self.site = site
        self.trace = trace
        self.prepared = trace.opening.prepared
        self.tables = self.prepared.tables
        parts = self.prepared.parts
        self.supports: tuple[Leg | LowSupport, ...] = (*parts.legs, *parts.low_supports)
        self.terms: list[cp_model.LinearExpr | int] = []
        self.use: defaultdict[str, list[cp_model.LinearExpr | int]] = defaultdict(list)

    def cost_of(self, part_id: str) -> int:
        return part_cost_cents(self.site.catalogue.part(part_id), self.site.rates)

    def fixed(self, part_id: str, count: int) -> None:
        """A part that every naming of this layout uses."""
        self.terms.append(self.cost_of(part_id) * count)
        self.use[part_id].append(count)

    def choose(self, options: Iterable[SupportOption], name: str) -> tuple[_Choice, ...]:
        """One boolean a support option, with cost and stock use."""
        choices = []
        for option in options:
            support = self.supports[option.kind]
            variable = self.model.new_bool_var(f"{name}_{support.id}")
            choices.append(_Choice(variable, option.kind, option.cost_cents, option.braced))
            self.terms.append(option.cost_cents * variable)
            self.use[support.id].append(variable)
            self.use[support.foot].append(variable)
            if option.braced and option.kind < len(self.prepared.parts.legs):
                self.use[self.prepared.parts.legs[option.kind].brace].append(variable)
        return tuple(choices)


def name_parts(site: Site, trace: Trace) -> NamedParts | None:
    """The cheapest sections and supports for a traced layout, or ``None`` when stock forbids it."""
    builder = _Builder(site, trace)
    landing_choices = _add_landings(builder)
    run_models = tuple(_add_run(builder, n, run) for n, run in enumerate(trace.runs))
    if landing_choices is None or any(model is None for model in run_models):
        return None
    _add_fixed_parts(builder)
    for level in site.catalogue.stock:
        if builder.use[level.part]:
            builder.model.add(sum(builder.use[level.part]) <= level.count)
    builder.model.minimize(sum(builder.terms))
    solver = cp_model.CpSolver()
    # One worker and an effort limit instead of a clock: the same site gives the same parts.
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = site.search.seed
    solver.parameters.max_deterministic_time = NAMING_EFFORT
    # Ctrl-C stays Python's: the solver's own handler would leave the process to die of the next one.
    solver.parameters.catch_sigint_signal = False
    status = solver.solve(builder.model)
    if status == cp_model.INFEASIBLE:
        return None
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        raise InternalError(f"naming parts ended as {solver.status_name(status)}")
    return _read_answer(builder, solver, status, landing_choices, [m for m in run_models if m is not None])


def _add_landings(builder: _Builder) -> list[list[tuple[_Choice, ...]]] | None:
    found = []
    for n, landing in enumerate(builder.trace.landings):
        points = []
        frame = landing.deck_m - landing.landing.frame_depth_m
        kinds = kinds_in(int(builder.tables.landings[landing.number].legs))
        for k, (u, v) in enumerate(list_landing_points(landing)):
            choices = builder.choose(
                list_point_options(builder.tables, kinds, u, v, frame), f"landing{n}_{k}"
            )
            if not choices:
                return None
            builder.model.add_exactly_one(c.variable for c in choices)
            points.append(choices)
        found.append(points)
    return found


def _add_run(builder: _Builder, number: int, run: TracedRun) -> _RunModel | None:
    """The run as a path over the sums of its section lengths."""
    tables = builder.tables
    target = int(np.flatnonzero(np.abs(tables.sums.length - run.surface_m) <= 1e-9)[0])
    arcs: list[_Arc] = []
    reached = {0}
    for i in range(1, target + 1):
        for s in range(len(builder.prepared.parts.sections)):
            j = int(tables.before[i, s])
            if j not in reached or not _may_lie(builder, run, j, i, target):
                continue
            arc = _add_arc(builder, f"run{number}", run, s, j, i)
            if arc is not None:
                arcs.append(arc)
                reached.add(i)
    if target not in reached:
        return None
    joints = {
        i: _add_joint(
            builder, f"run{number}_joint{i}", run, i, [arc for arc in arcs if arc.lower == i], target
        )
        for i in sorted(reached - {0})
        if i < target or run.is_last
    }
    for i in sorted(reached):
        into = [arc.variable for arc in arcs if arc.lower == i]
        out = [arc.variable for arc in arcs if arc.upper == i]
        if i == 0:
            builder.model.add_exactly_one(out)
        elif i == target:
            builder.model.add_exactly_one(into)
        else:
            builder.model.add(sum(into) == sum(out))
    return _RunModel(tuple(arcs), joints)


def _may_lie(builder: _Builder, run: TracedRun, upper: int, lower: int, target: int) -> bool:
    """Whether a section between two sums has the clearance it needs; only the very last may lie low."""
    cosine = 1.0 / math.sqrt(1.0 + run.slope * run.slope)
    lies_low = run.is_last and lower == target
    needs = builder.tables.sums[upper if lies_low else lower].length * cosine
    return bool(needs <= run.clear_m + E)


def _add_arc(builder: _Builder, name: str, run: TracedRun, s: int, upper: int, lower: int) -> _Arc | None:
    """A section between two sums with its mid supports; ``None`` when those fit nowhere."""
    section = builder.prepared.parts.sections[s]
    kinds = kinds_in(int(builder.tables.sections[s].supports))
    above = float(builder.tables.sums[upper].length)
    mids = [
        options
        for mid in section.mid_supports_m
        for options in list_pair_options(builder.tables, kinds, run, above + mid)
    ]
    if not all(mids):
        return None
    name = f"{name}_{upper}_{lower}_{section.id}"
    arc = builder.model.new_bool_var(name)
    chosen = tuple(builder.choose(options, f"{name}_mid{k}") for k, options in enumerate(mids))
    for choices in chosen:
        builder.model.add(sum(c.variable for c in choices) == arc)
    builder.terms.append(builder.cost_of(section.id) * arc)
    builder.use[section.id].append(arc)
    if run.railed:
        post = builder.prepared.parts.post.id
        for part, count in ((section.rail_panel, 2), (post, 2)):
            builder.terms.append(count * builder.cost_of(part) * arc)
            builder.use[part].append(count * arc)
    return _Arc(arc, s, upper, lower, chosen)


def _add_joint(
    builder: _Builder, name: str, run: TracedRun, i: int, arcs: list[_Arc], target: int
) -> tuple[tuple[_Choice, ...], tuple[_Choice, ...]]:
    """Supports under a joint: on each side one, of a type that the section above it takes."""
    tables = builder.tables
    is_hinge = i == target
    takes = [
        int(tables.sections[arc.section].low_supports if is_hinge else tables.sections[arc.section].supports)
        for arc in arcs
    ]
    every = 0
    for bits in takes:
        every |= bits
    pairs = list_pair_options(tables, kinds_in(every), run, float(tables.sums[i].length))
    sides = []
    for side, options in zip(("left", "right"), pairs, strict=True):
        choices = builder.choose(options, f"{name}_{side}")
        builder.model.add(sum(c.variable for c in choices) == sum(arc.variable for arc in arcs))
        for choice in choices:
            takers = [
                arc.variable for arc, bits in zip(arcs, takes, strict=True) if (bits >> choice.kind) & 1
            ]
            builder.model.add(sum(takers) >= choice.variable)
        sides.append(choices)
    return sides[0], sides[1]


def _add_fixed_parts(builder: _Builder) -> None:
    trace, parts = builder.trace, builder.prepared.parts
    if parts.threshold is None or parts.end is None:
        raise InternalError("a layout was traced without a threshold plate or rail end")
    builder.fixed(parts.threshold.id, 1)
    for landing in trace.landings:
        builder.fixed(landing.landing.id, 1)
        for rail in landing.rails:
            builder.fixed(rail.part, 1)
    plate = parts.plates[trace.plate_number]
    builder.fixed(plate.id, 1)
    if trace.runs[-1].railed:
        builder.fixed(plate.rail_panel, 2)
    railed = sum(run.railed for run in trace.runs)
    builder.fixed(parts.post.id, 2 * railed)
    builder.fixed(parts.end.id, trace.rail_ends)
    if trace.pad_cents and parts.pad is not None:
        builder.fixed(parts.pad.id, 1)


def _read_answer(
    builder: _Builder,
    solver: cp_model.CpSolver,
    status: cp_model.CpSolverStatus,
    landing_choices: list[list[tuple[_Choice, ...]]],
    run_models: list[_RunModel],
) -> NamedParts:
    sections = builder.prepared.parts.sections
    has_door_landing = len(builder.trace.landings) == len(builder.trace.runs)

    def pick(choices: tuple[_Choice, ...]) -> str:
        return builder.supports[next(c.kind for c in choices if solver.boolean_value(c.variable))].id

    supports: list[str] = []
    runs = []
    if has_door_landing:
        supports += [pick(choices) for choices in landing_choices[0]]
    for n, model in enumerate(run_models):
        at = 0
        names = []
        while True:
            arc = next((a for a in model.arcs if a.upper == at and solver.boolean_value(a.variable)), None)
            if arc is None:
                break
            names.append(sections[arc.section].id)
            supports += [pick(choices) for choices in arc.mids]
            if arc.lower in model.joints:
                supports += [pick(choices) for choices in model.joints[arc.lower]]
            at = arc.lower
        runs.append(tuple(names))
        following = n + 1 if has_door_landing else n
        if n + 1 < len(run_models):
            supports += [pick(choices) for choices in landing_choices[following]]
    cost = round(solver.objective_value)
    if cost >= NEVER:
        raise InternalError("a layout was named at a cost no layout has")
    return NamedParts(tuple(runs), tuple(supports), cost, status == cp_model.OPTIMAL)
