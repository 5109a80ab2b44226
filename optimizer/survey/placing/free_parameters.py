"""Whether scale and tilt of a scan may be fitted, or stay what the phone's gravity and length say.

A phone knows the vertical to a fraction of a degree, and four control points know the tilt worse: freed
with four points, heights come out several times as wrong as with the tilt held (simulated in
``tests/validation/test_placing_scans.py``).  So both stay held until enough points contradict them: an F
test of the residuals with and without, at 1 %.  It uses the residuals alone, not the stated errors, because
drift of the scan makes these too small.  The scale is judged by the plan, the tilt by the heights: neither
says anything of the other in a yard that is wide and low.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final, Literal

from optimizer.survey.placing.control_geometry import (
    MOST_ELONGATED,
    find_levelled,
    find_taped,
    measure_elongation,
    picks_in_plan,
)
from optimizer.survey.placing.control_points import ControlPoints
from optimizer.survey.placing.placing import Parameter
from optimizer.survey.placing.quantiles import f_limit
from optimizer.survey.placing.weighted_fit import (
    HEIGHT,
    PLAN,
    SCALE,
    TILT,
    Observations,
    fit_parameters,
)

#: Least number of points, of our own simulation; and the chance of freeing what needs no freeing.
FEWEST_FOR_SCALE: Final = 5
FEWEST_FOR_TILT: Final = 6
CHANCE: Final = 0.01
#: Residuals below a tenth of the stated errors are luck or made up, and no ground for freeing anything.
_LEAST_VARIANCE: Final = 0.01

Freedom = Literal["scale", "tilt"]


@dataclass(frozen=True, slots=True)
class Freeing:
    """Whether one freedom was given, and why.

    ``statistic``: F, with ``limit`` what it must exceed; both ``None`` where it was not tested.
    """

    freedom: Freedom
    is_freed: bool
    statistic: float | None
    limit: float | None
    reason: str


def choose_free(
    control: ControlPoints, observations: Observations
) -> tuple[tuple[Parameter, ...], tuple[Freeing, ...]]:
    """Parameters to fit, in their order, and what was decided on scale and tilt."""
    factor, scale = _judge_scale(control, observations)
    tilt = _judge_tilt(control, observations, factor)
    parameters = (*PLAN, *HEIGHT, *(SCALE if scale.is_freed else ()), *(TILT if tilt.is_freed else ()))
    return parameters, (scale, tilt)


def _judge_scale(control: ControlPoints, observations: Observations) -> tuple[float, Freeing]:
    """The scale, 1 when held, and why."""
    count = len(find_taped(control, control.find("control")))
    if count < FEWEST_FOR_SCALE:
        reason = _too_few("scale", "1", count, FEWEST_FOR_SCALE, "taped")
        return 1.0, Freeing("scale", False, None, None, reason)
    rows = observations.choose(~observations.is_height)
    freed = fit_parameters(rows, (*PLAN, *SCALE))
    statistic, limit = _compare(rows, PLAN, (*PLAN, *SCALE))
    found = f"{1000.0 * (freed.scale - 1.0):+.1f} mm in a metre"
    freeing = _decide("scale", "1", statistic, limit, found)
    return (freed.scale if freeing.is_freed else 1.0), freeing


def _judge_tilt(control: ControlPoints, observations: Observations, factor: float) -> Freeing:
    levelled = find_levelled(control, control.find("control"))
    count = len(levelled)
    if count < FEWEST_FOR_TILT:
        return Freeing("tilt", False, None, None, _too_few("tilt", "0", count, FEWEST_FOR_TILT, "levelled"))
    if measure_elongation(picks_in_plan(control, levelled)) > MOST_ELONGATED:
        reason = "The tilt stays 0: the levelled points lie in one line."
        return Freeing("tilt", False, None, None, reason)
    rows = observations.choose(observations.is_height)
    rows = replace(rows, scan_m=factor * rows.scan_m)  # else a wrong scale would pass for a tilt
    freed = fit_parameters(rows, (*HEIGHT, *TILT))
    statistic, limit = _compare(rows, HEIGHT, (*HEIGHT, *TILT))
    degrees = math.degrees(math.acos(min(1.0, float(freed.rotation[2, 2]))))
    return _decide("tilt", "0", statistic, limit, f"{degrees:.2f} degrees")


def _compare(
    rows: Observations, held: tuple[Parameter, ...], freed: tuple[Parameter, ...]
) -> tuple[float, float]:
    """F of the parameters that ``freed`` has more than ``held``, and its limit."""
    everything = rows.axes >= 0
    before, after = (fit_parameters(rows, names).misfit(everything) for names in (held, freed))
    more, rest = len(freed) - len(held), len(rows.axes) - len(freed)
    gain = max(0.0, before - after) / more
    statistic = gain / max(after / rest, _LEAST_VARIANCE)
    return statistic, f_limit(more, rest, CHANCE)


def _decide(freedom: Freedom, held: str, statistic: float, limit: float, found: str) -> Freeing:
    compared = f"F {statistic:.3g}, limit {limit:.3g} at 1 %"
    if statistic > limit:
        return Freeing(freedom, True, statistic, limit, f"The {freedom} is fitted, {found}: {compared}.")
    reason = f"The {freedom} stays {held}; {found} would not be significant: {compared}."
    return Freeing(freedom, False, statistic, limit, reason)


def _too_few(freedom: Freedom, held: str, count: int, fewest: int, how: str) -> str:
    return f"The {freedom} stays {held}: {count} {how} points, {fewest} are needed to fit it."
