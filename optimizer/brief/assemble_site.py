"""The last steps to a site, the same for one read from files and one built in code."""

from __future__ import annotations

import dataclasses
import functools
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from optimizer.brief.ask_facts import list_open_questions
from optimizer.brief.bind_rules import build_designs
from optimizer.brief.build_rules import build_facts, build_start_facts
from optimizer.brief.build_settings import (
    build_display,
    build_rider,
    build_search_settings,
    build_spreads,
    build_wishes,
)
from optimizer.brief.build_yard import build_ground_of, build_wall_frame, build_yard
from optimizer.brief.check_wishes import check_locks, check_slopes
from optimizer.brief.found_steps import shift_line, weave
from optimizer.brief.found_things import add_things, refuse_before_doors
from optimizer.brief.gather import FaultList
from optimizer.brief.height_errors import HeightErrors
from optimizer.brief.join_spots import NamedPoints
from optimizer.brief.locate import Locator
from optimizer.brief.place_faults import place_faults
from optimizer.brief.places import WallFrame
from optimizer.brief.seen_in_scan import NOTHING_SEEN, SeenInScan
from optimizer.brief.site import LEVELLED, Heights, Site, Wishes
from optimizer.brief.site_file import SiteFile
from optimizer.catalogue.parts import Catalogue
from optimizer.catalogue.rates import Rates
from optimizer.errors import Fault, InputError
from optimizer.rulebook.bound import BoundSet, Rulings
from optimizer.terrain.check_yard import check_yard
from optimizer.terrain.ground import Ground
from optimizer.terrain.ground_quality import find_odd_levels
from optimizer.terrain.yard import Points, Yard
from optimizer.toml_file import TomlFile

#: The survey's points, once the wall is known that positions by tape are measured from.
JoinPoints = Callable[[WallFrame | None], NamedPoints]


@dataclass(frozen=True, slots=True)
class NamedInputs:
    """What a site names and others keep; ``None`` when it could not be read (a fault is noted)."""

    catalogue: Catalogue | None
    rates: Rates | None
    sets: tuple[BoundSet, ...] | None


@dataclass(frozen=True, slots=True)
class _Surroundings:
    """What stands and lies around, in survey coordinates less ``shift_m`` (3,).

    ``left_out``: steps of a scan that could not be woven in.
    """

    yard: Yard
    ground: Ground
    wishes: Wishes
    shift_m: Points
    left_out: tuple[str, ...]


def assemble_site(
    model: SiteFile,
    file: TomlFile,
    join: JoinPoints,
    inputs: NamedInputs,
    found: FaultList,
    errors: HeightErrors,
    heights: Heights = LEVELLED,
    seen: SeenInScan = NOTHING_SEEN,
) -> Site:
    """The site of sound tables.

    ``found`` holds the faults so far; raises ``InputError`` with those and every one found here.
    """
    search = found.attempt(build_search_settings, model.search, model.unit, file)
    surroundings = found.sound(found.attempt(_build_surroundings, model, join, file, seen))
    starts, sets = surroundings.yard.starts, found.sound(inputs.sets)
    facts = build_facts(model.facts)
    start_facts = tuple(build_start_facts(facts, table) for table in model.start)
    found.add(list_open_questions(sets, starts, start_facts, file))
    found.raise_any()
    rulings = Rulings(sets, facts)
    designs = build_designs(starts, rulings, start_facts)
    found.add(check_slopes(surroundings.wishes, found.sound(search), designs, file))
    found.raise_any()
    return Site(
        name=model.name,
        path=file.path,
        dated=model.dated.isoformat(),
        origin_shift_m=surroundings.shift_m,
        yard=surroundings.yard,
        ground=_with_error(surroundings.ground, heights),
        bedding_m=model.ground.bedding,
        catalogue=found.sound(inputs.catalogue),
        rates=found.sound(inputs.rates),
        rulings=rulings,
        start_facts=start_facts,
        designs=designs,
        rider=build_rider(model.rider),
        wishes=surroundings.wishes,
        search=found.sound(search),
        display=build_display(model.display, model.unit),
        heights=_doubt_ground(heights, surroundings, file),
        height_errors=errors,
        spreads=build_spreads(model.ground),
    )


def _doubt_ground(heights: Heights, around: _Surroundings, file: TomlFile) -> Heights:
    """With a doubt for each step of a scan that could not be woven in, and for a level that stands out.

    Points of a scan are chosen where the ground bends, so of those none is odd.
    """
    where, remedy = file.path.name, "Level its top and foot and draw it as a break line."
    doubts = [Fault(where, f"{name} could not be woven into the ground.", remedy) for name in around.left_out]
    for odd in find_odd_levels(around.ground) if heights.error_m is None else ():
        what = (
            f'the level of "{odd.name}" lies {1000.0 * odd.off_m:+.0f} mm off what its neighbours tell; '
            f"others are off by {1000.0 * odd.usual_m:.0f} mm usually."
        )
        again = "Look at its reading in the book, then shoot it again; if it is so, shoot one more beside it."
        doubts.append(Fault(where, what, again))
    return dataclasses.replace(heights, doubts=(*heights.doubts, *doubts))


def _with_error(ground: Ground, heights: Heights) -> Ground:
    """Points of a scan are chosen where the ground bends, so they say nothing of each other's errors."""
    if heights.error_m is None:
        return ground
    return dataclasses.replace(ground, leave_one_out_m=heights.error_m)


def list_currency_faults(file: TomlFile, catalogue: Catalogue | None, rates: Rates | None) -> Iterator[Fault]:
    """Parts and rates of two currencies cannot be added up."""
    if catalogue is not None and rates is not None and catalogue.currency != rates.currency:
        yield file.fault(
            ("rates",),
            f'the rates "{rates.id}" are in {rates.currency}, the catalogue "{catalogue.id}" in '
            f"{catalogue.currency}.",
            "Use rates and parts of one currency.",
        )


def _build_surroundings(model: SiteFile, join: JoinPoints, file: TomlFile, seen: SeenInScan) -> _Surroundings:
    """Yard and ground near the origin; faults are told in the survey's own coordinates."""
    unshifted = np.zeros(3)
    first = Locator(file, join(None), None, unshifted)
    wall = build_wall_frame(model.start[0], first, ("start", 0))
    locator = Locator(file, join(wall), wall, unshifted)
    shift_m = np.floor([wall.origin_m[0], wall.origin_m[1], model.start[0].threshold])
    shift_m.setflags(write=False)
    shifted = dataclasses.replace(locator, shift_m=shift_m)
    try:
        return _build_checked(model, shifted, seen)
    except InputError:
        # A person knows the survey's coordinates only, so let the same faults be found there.
        _build_checked(model, locator, seen)
        raise


def _build_checked(model: SiteFile, locator: Locator, seen: SeenInScan) -> _Surroundings:
    """Yard and ground, built and checked; ``InputError`` with every fault, in file order of its kind."""
    found = FaultList()
    yard = found.attempt(build_yard, model, locator)
    where = str(locator.file.path)
    if yard is not None and seen.wall is not None:
        blocking = refuse_before_doors(yard, seen.things, locator.shift_m, seen.wall, where)
        found.add(blocking)
        yard = yard if blocking else add_things(yard, seen.things, locator.shift_m)
    lines = tuple(shift_line(line, locator.shift_m) for line in seen.lines)
    woven = found.attempt(weave, functools.partial(build_ground_of, model, locator), lines)
    ground = None if woven is None else woven.ground
    wishes = found.attempt(build_wishes, model.wishes, locator)
    if yard is not None and ground is not None:
        found.add(check_yard(yard, ground, where))
    if yard is not None and ground is not None and wishes is not None and not found.faults:
        found.add(check_locks(wishes, yard, ground, locator.file))
    if found.faults:
        raise InputError(*place_faults(found.faults, locator.file, locator.points))
    left_out = () if woven is None else woven.left_out
    return _Surroundings(
        found.sound(yard), found.sound(ground), found.sound(wishes), locator.shift_m, left_out
    )
