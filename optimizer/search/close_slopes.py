"""Close a layout exactly: the plate at the slope of the runs, where nothing else changes.

Every lattice layout already closes (its plate meets the ground), so closing only makes it
better to walk: the runs and the plate get one and the same slope.  A closing that would change
a support type, a rail, the pad or a section is not taken; then the slope level stands.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from optimizer.errors import InternalError
from optimizer.search.answers import Skeleton
from optimizer.search.name_parts import NamedParts
from optimizer.search.trace import Trace, TraceQuestion, list_named_supports
from optimizer.search.trace_layout import trace_layout

#: Slopes closer than this are the same slope.
SAME_SLOPE = 1e-12
#: How far towards the even slope is tried, and what the result is called.
NEARER = (
    (1.0, "one slope, plate included"),
    (0.75, "slopes as even as the parts allow"),
    (0.5, "slopes as even as the parts allow"),
    (0.25, "slopes as even as the parts allow"),
)


@dataclass(frozen=True, slots=True)
class Closing:
    """Closed slopes, one a run, and how even they are."""

    slopes: tuple[float, ...]
    evenness: str


def ask(skeleton: Skeleton, slopes: tuple[float, ...]) -> TraceQuestion:
    """The trace of a skeleton with other slopes."""
    return TraceQuestion(skeleton.opening, slopes, skeleton.surfaces_m, skeleton.turns, skeleton.plate)


def plate_slope(trace: Trace) -> float:
    """Slope of the transition plate."""
    return (trace.hinge_elevation_m - trace.tip_elevation_m) / trace.plate_plan_m


def is_same_ramp(before: Trace, after: Trace, named: NamedParts) -> bool:
    """Whether another closing keeps rails, pad and every support type."""
    supports = list_named_supports(after, named.runs, named.supports)
    stands = list_named_supports(before, named.runs, named.supports)
    if supports is None or stands is None or None in supports:
        return False
    return (
        [run.railed for run in before.runs] == [run.railed for run in after.runs]
        and [landing.rails for landing in before.landings] == [landing.rails for landing in after.landings]
        and before.pad_cents == after.pad_cents
        and supports == stands
    )


def mix(skeleton: Skeleton, even: float, share: float) -> tuple[float, ...]:
    """Slopes a share of the way from the lattice's to one slope for all."""
    return tuple(slope + share * (even - slope) for slope in skeleton.slopes)


def find_even_slope(
    skeleton: Skeleton, low: float, high: float, excess: Callable[[Trace, float], float]
) -> float | None:
    """The slope where ``excess(trace, slope)`` falls through zero, by bisection; ``None`` if not bracketed.

    A slope whose layout does not lie anywhere ends the search: its neighbours are not trusted.
    """
    runs = len(skeleton.slopes)

    def value(slope: float) -> float | None:
        trace = trace_layout(ask(skeleton, (slope,) * runs))
        return None if trace is None else excess(trace, slope)

    low_value, high_value = value(low), value(high)
    if low_value is None or high_value is None or low_value < 0.0 or high_value > 0.0:
        return None
    for _ in range(60):
        middle = (low + high) / 2.0
        found = value(middle)
        if found is None:
            return None
        if found > 0.0:
            low = middle
        else:
            high = middle
        if high - low < SAME_SLOPE:
            break
    return high


def close_slopes(skeleton: Skeleton, named: NamedParts) -> Closing:
    """The evenest slopes that keep the ramp the same; the lattice's own when none do."""
    before = trace_layout(ask(skeleton, skeleton.slopes))
    if before is None:
        raise InternalError("a layout the search found does not lie where it was found")
    steepest = float(skeleton.opening.prepared.tables.numbers[0].steepest)
    plate = min(steepest, plate_slope(before))
    # The plate is steeper than the runs at ``low`` and flatter at ``high``, or the other way round.
    low, high = min(*skeleton.slopes, plate), max(*skeleton.slopes, plate)
    reach = max(high - low, 0.01 * steepest)
    for widen in (0.0, 0.5, 1.0):
        even = find_even_slope(
            skeleton,
            max(1e-4, low - widen * reach),
            min(steepest, high + widen * reach),
            lambda trace, slope: plate_slope(trace) - slope,
        )
        if even is None:
            continue
        for share, evenness in NEARER:
            slopes = mix(skeleton, even, share)
            after = trace_layout(ask(skeleton, slopes))
            if after is not None and is_same_ramp(before, after, named):
                return Closing(slopes, evenness)
        break
    return Closing(skeleton.slopes, "each run at its own slope level")
