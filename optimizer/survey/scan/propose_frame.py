"""Propose unit and upward axis of a scan with the evidence for them; nothing is taken until confirmed."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimizer.survey.scan.file_frame import ScanUnit, UpAxis, metres_in
from optimizer.survey.scan.patches import find_patches, sample_points
from optimizer.survey.scan.scan import RawScan
from optimizer.survey.scan.size_prior import Sizes, measure_sizes, weigh_units
from optimizer.survey.scan.upright import Uprightness, judge_up

#: Odds at which sizes speak against what a file states.
_DOUBT_ODDS: Final = 8.0
#: Coarser rounding than this is told.
_FINE_STEP_M: Final = 0.001


@dataclass(frozen=True, slots=True)
class FrameProposal:
    """What the scan most likely is, for a person to confirm.

    ``unit`` and ``up`` are ``None`` where nothing tells.  ``is_unit_certain``: the file states the
    unit and the sizes agree; sizes alone never make it certain.  ``is_up_certain``: the
    shape leaves no doubt and the file states nothing else.  ``evidence``: sentences, what the file
    states first.
    """

    unit: ScanUnit | None
    up: UpAxis | None
    is_unit_certain: bool
    is_up_certain: bool
    evidence: tuple[str, ...]

    @property
    def is_certain(self) -> bool:
        """Whether both are."""
        return self.is_unit_certain and self.is_up_certain


def propose_frame(scan: RawScan) -> FrameProposal:
    """Weigh what the file states against the shape and the sizes of what was scanned."""
    points = sample_points(scan.local)
    patches = find_patches(points)
    shape = judge_up(points, patches)
    evidence = [*scan.told.because, _tell_shape(shape)]
    up, is_up_certain = _choose_up(scan.told.up, shape)
    if scan.told.up is not None and shape.up not in (None, scan.told.up):
        evidence.append(
            f"The file has {scan.told.up} up, its shape {shape.up}: look at the scan before you confirm."
        )
    if up is None:
        return FrameProposal(scan.told.unit, None, False, False, tuple(evidence))
    sizes = measure_sizes(points, patches, up_vector(up))
    weights = weigh_units(sizes)
    likeliest = weights[0][0]
    unit, is_unit_certain = likeliest, False
    evidence.extend(_tell_sizes(sizes, unit_names(scan.told.unit, weights)))
    step_m = scan.step * metres_in(unit)
    if step_m > _FINE_STEP_M:
        evidence.append(
            f"Its coordinates were rounded to single precision, in steps of up to {step_m:.2g} m."
        )
    told = scan.told.unit
    if told is not None:
        # The two feet have the same size for this purpose.
        as_size: ScanUnit = "ft" if told == "us-ft" else told
        odds = math.exp(min(700.0, weights[0][1] - dict(weights)[as_size]))
        if odds < _DOUBT_ODDS:
            unit, is_unit_certain = told, True
        else:
            evidence.append(
                f"The sizes speak for {likeliest} and against {told}, which the file states: measure "
                "something you know before you confirm."
            )
    else:
        evidence.append(f"The unit {likeliest} is judged by size alone: measure something you know.")
    return FrameProposal(unit, up, is_unit_certain, is_up_certain, tuple(evidence))


def up_vector(up: UpAxis) -> NDArray[np.float64]:
    """Unit vector (3,) of an axis."""
    vector = np.zeros(3)
    vector["xyz".index(up[-1])] = -1.0 if up.startswith("-") else 1.0
    return vector


def unit_names(told: ScanUnit | None, weights: tuple[tuple[ScanUnit, float], ...]) -> tuple[ScanUnit, ...]:
    """Units worth telling the sizes in: the one stated and the two likeliest."""
    names = [] if told is None else [told]
    names += [unit for unit, _ in weights[:2] if unit not in names]
    return tuple(names)


def _choose_up(told: UpAxis | None, shape: Uprightness) -> tuple[UpAxis | None, bool]:
    if shape.up is None:
        return told, False
    if told is None or told == shape.up:
        return shape.up, shape.is_clear
    return (shape.up if shape.is_clear else told), False


def _tell_shape(shape: Uprightness) -> str:
    if shape.up is None:
        return "There are no flat patches by which to tell what is level."
    x, y, z = shape.areas
    axis = shape.up[-1]
    return (
        f"Flat patches lie across x on {x}, across y on {y} and across z on {z} columns; the widest, the "
        f"ground, lies across {axis}, and {shape.side_ratio:.3g} times as many points stand on its "
        f"{'lower' if shape.up.startswith('-') else 'upper'} side along {axis} as on the other."
    )


def _tell_sizes(sizes: Sizes, units: tuple[ScanUnit, ...]) -> list[str]:
    lines = []
    for unit in units:
        metres = metres_in(unit)
        wall = "" if sizes.wall is None else f", walls stand {sizes.wall * metres:.3g} m high"
        lines.append(
            f"Read as {unit}, the scan is {sizes.width * metres:.3g} m wide and "
            f"{sizes.height * metres:.3g} m high{wall}."
        )
    return lines
