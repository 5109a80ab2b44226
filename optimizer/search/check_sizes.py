"""Whether a problem fits the search's tables: choices are packed into numbers of fixed size."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.brief.site import Site
from optimizer.errors import Fault, InputError
from optimizer.search.kernel_tables import HALF_LEFT, LEFT, NEVER, RIGHT, STRAIGHT, Tables
from optimizer.search.raster_kernel import BESIDE_M
from optimizer.search.state_kernel import LOCK_BITS, ROOM
from optimizer.search.usable_parts import UsableParts

#: Fields of an arc's choice and of a remembered bound (``encode``, ``least_rest``).
MOST_SUMS, MOST_LEVELS, MOST_PARTS, MOST_PLACES, MOST_STEPS, MOST_RUNS = 4096, 32, 16, 128, 8192, 13
#: Support types are bits of one number.
MOST_SUPPORTS = 62


def check_sizes(site: Site, tables: Tables) -> None:
    """Refuse what does not fit, each with its number and what to change; raises InputError."""
    faults = tuple(list_size_faults(site, tables))
    if faults:
        raise InputError(*faults)


def check_supports(site: Site, parts: UsableParts) -> None:
    """Refuse more kinds of supports than the search can tell apart; raises InputError."""
    count = len(parts.legs) + len(parts.low_supports)
    if count > MOST_SUPPORTS:
        raise InputError(
            Fault(
                str(site.path),
                f"{count} kinds of legs and low supports are more than {MOST_SUPPORTS}.",
                "Leave some out of the catalogue.",
            )
        )


def list_size_faults(site: Site, tables: Tables) -> Iterator[Fault]:
    """Everything about a problem that the search's tables cannot hold."""
    where = str(site.path)
    for count, most, what, remedy in (
        (len(tables.sums), MOST_SUMS, "lengths that the sections add up to", "Shorten longest_run."),
        (len(tables.sines), MOST_LEVELS, "slope levels", "Give fewer slope_levels."),
        (len(tables.landings), MOST_PARTS, "landings in the catalogue", "Leave some out."),
        (len(tables.plates), MOST_PARTS, "transition plates in the catalogue", "Leave some out."),
        (int(tables.numbers[0].most_runs), MOST_RUNS, "runs", "Give most_runs, at most 8."),
        (len(tables.locks), LOCK_BITS, "places to pass or to land at", "Name fewer of them."),
        (
            count_most_steps(tables),
            MOST_STEPS,
            "height steps down to the lowest ground",
            "Give a larger height_step.",
        ),
    ):
        if count > most:
            yield Fault(where, f"{count} {what} are more than the {most} the search can hold.", remedy)
    step_m = float(tables.numbers[0].height_step)
    if step_m * float(tables.numbers[0].steepest) > BESIDE_M:
        yield Fault(
            where,
            f"a height step of {step_m:.4f} m is too coarse for the search's ground cells.",
            f"Give height_step, at most {BESIDE_M / float(tables.numbers[0].steepest):.3f} m.",
        )
    places, ways = count_places(tables)
    if places > MOST_PLACES or ways > ROOM // 2:
        yield Fault(
            where,
            f"a lattice of {float(tables.numbers[0].pitch):.4f} m gives {ways} ways over one landing, more "
            f"than the {ROOM // 2} the search can hold.",
            "Give a coarser lattice (or finest_lattice).",
        )


def count_most_steps(tables: Tables) -> int:
    """Height steps from the first deck to the lowest ground."""
    ground = tables.triangles[: int(tables.numbers[0].ground_end)]
    deep = float(tables.numbers[0].deck) - float(ground[:, :, 2].min())
    return int(deep / float(tables.numbers[0].height_step)) + 3


def count_places(tables: Tables) -> tuple[int, int]:
    """Most places of one landing against a run, and all ways over all landings after one run."""
    pitch, width = float(tables.numbers[0].pitch), float(tables.numbers[0].width)
    most = ways = 0
    for n, landing in enumerate(tables.landings):
        across = int(max(0.0, float(landing.width) - width) / pitch) + 2
        along = int(max(0.0, float(landing.length) - width) / pitch) + 2
        uses = [kind for kind in range(HALF_LEFT + 2) if tables.kinds[n, kind] < NEVER]
        most = max(most, across)
        ways += across * along * sum(kind in (LEFT, RIGHT) for kind in uses)
        ways += 2 * across * (STRAIGHT in uses) + sum(kind >= HALF_LEFT for kind in uses)
    return most, ways
