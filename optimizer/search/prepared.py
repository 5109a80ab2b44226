"""A site made ready to be searched on one lattice: every start with every exit."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from optimizer.brief.site import Site
from optimizer.search.bounds import build_bound
from optimizer.search.check_sizes import check_sizes, check_supports
from optimizer.search.grown import HEADING_OF, Branch, build_room
from optimizer.search.kernel_tables import NEVER, Bound
from optimizer.search.openings import EXITS, list_openings
from optimizer.search.raster import build_raster
from optimizer.search.rest_kernel import least_rest
from optimizer.search.state_kernel import heading_of
from optimizer.search.tables import PreparedStart, build_tables
from optimizer.search.usable_parts import find_usable_parts
from optimizer.terrain.frames import build_door_frame


@dataclass(frozen=True, slots=True)
class Prepared:
    """A site made ready on one lattice."""

    lattice_m: float
    branches: tuple[Branch, ...]
    missing: tuple[str, ...]
    slopes: tuple[float, ...]
    most_runs: int

    def for_turns(self, most_due: int) -> Prepared:
        """The same with bounds that know of so many landings ahead."""
        known: dict[int, Bound | None] = {}
        branches = []
        for branch in self.branches:
            key = id(branch.prepared)
            if key not in known:
                known[key] = build_bound(branch.prepared.tables, branch.raster, most_due)
            bound = known[key]
            if bound is not None:
                branches.append(replace(branch, bound=bound))
        return replace(self, branches=tuple(branches))

    def on_lattice(self, site: Site, lattice_m: float) -> Prepared:
        """The same on another lattice: only where runs are fixed to landings changes."""
        fresh: dict[int, PreparedStart] = {}
        branches = []
        finer = replace(site, search=replace(site.search, lattice_m=lattice_m))
        for branch in self.branches:
            key = id(branch.prepared)
            if key not in fresh:
                numbers = branch.prepared.tables.numbers.copy()
                numbers.pitch = lattice_m
                fresh[key] = branch.prepared._replace(tables=branch.prepared.tables._replace(numbers=numbers))
                check_sizes(finer, fresh[key].tables)
            openings = tuple(o for o in list_openings(finer, fresh[key]) if o.exit == branch.exit)
            if openings:
                branches.append(replace(branch, prepared=fresh[key], openings=openings))
        return replace(self, lattice_m=lattice_m, branches=tuple(branches))


def prepare(site: Site) -> Prepared:
    """Every start (and, where the setback may be bought, every start again) with every exit."""
    branches: list[Branch] = []
    missing: list[str] = []
    slopes: tuple[float, ...] = ()
    most = 0
    reliefs: list[int | None] = [None]
    if site.yard.setback_kind == "needs_relief" and site.yard.setback_m > 0:
        reliefs.append(site.yard.relief_cents)
    for start in site.yard.starts:
        parts = find_usable_parts(site, start)
        if parts.missing:
            missing += [f"start {start.name!r}: {what}" for what in parts.missing]
            continue
        check_supports(site, parts)
        for relief in reliefs:
            one = build_tables(site, start, build_door_frame(start), parts, relief)
            check_sizes(site, one.tables)
            sines = one.tables.sines
            slopes = tuple(float(s) for s in sines / np.sqrt(1.0 - sines * sines))
            most = max(most, int(one.tables.numbers[0].most_runs))
            branches += _branches_of(site, one)
    return Prepared(site.search.lattice_m, tuple(branches), tuple(missing), slopes, most)


def _branches_of(site: Site, prepared: PreparedStart) -> list[Branch]:
    raster = build_raster(prepared.tables)
    bound = build_bound(prepared.tables, raster, 1)
    if bound is None:
        return []
    openings = list_openings(site, prepared)
    runs = int(prepared.tables.numbers[0].most_runs)
    turns = runs if site.wishes.most_turns is None else site.wishes.most_turns
    found = []
    for leaves in EXITS:
        mine = tuple(o for o in openings if o.exit == leaves)
        if mine:
            found.append(Branch(prepared, leaves, mine, raster, bound, turns, site.wishes.slopes == "equal"))
    return found


def least_open(branch: Branch, due: int) -> int:
    """Least bound of any layout of a branch that makes ``due`` turns or more."""
    tables = branch.prepared.tables
    runs = int(tables.numbers[0].most_runs)
    heading = HEADING_OF[branch.exit]
    hu, hv = heading_of(heading)
    room = build_room(tables, 1)
    raster, bound = branch.raster, branch.bound
    return min(
        int(o.cost_cents)
        + int(least_rest(tables, raster, bound, room, due, runs, 0, o.u, o.v, heading, hu, hv, NEVER))
        for o in branch.openings
    )
