"""Several shots of one point: their mean and how they spread.

Standard deviation over n - 1, standard error of the mean = standard deviation / sqrt(n).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from optimizer.units import is_at_most

#: Largest spread of the shots of one point that passes unmarked: what one set-up may miss by
#: (``level_limits``), 5 mm.  Common practice, no source.
DEFAULT_SPREAD_M: Final = 0.005


@dataclass(frozen=True, slots=True)
class ShotAverage:
    """Mean of ``count`` elevations of one point, in metres.

    ``range_m`` is highest less lowest.  ``deviation_m`` and ``standard_error_m`` are ``None`` for a
    single shot: it says nothing of its own error.  ``is_flagged``: the range is above ``limit_m``.
    """

    name: str
    count: int
    mean_m: float
    range_m: float
    deviation_m: float | None
    standard_error_m: float | None
    limit_m: float
    rows: tuple[int, ...]

    @property
    def is_flagged(self) -> bool:
        """Do the shots lie further apart than the limit."""
        return not is_at_most(self.range_m, self.limit_m)


def average_shots(
    name: str, elevations_m: Sequence[float], rows: tuple[int, ...], limit_m: float
) -> ShotAverage:
    """Average the shots of one point; ``rows`` are their lines.  ``ValueError`` without a shot."""
    count = len(elevations_m)
    if count == 0:
        msg = f"no shot of {name}"
        raise ValueError(msg)
    # From the first shot: elevations far above the datum keep their tenths of a millimetre.
    first = elevations_m[0]
    offsets = [elevation - first for elevation in elevations_m]
    mean = math.fsum(offsets) / count
    deviation = error = None
    if count > 1:
        deviation = math.sqrt(math.fsum((offset - mean) ** 2 for offset in offsets) / (count - 1))
        error = deviation / math.sqrt(count)
    spread = max(offsets) - min(offsets)
    return ShotAverage(name, count, first + mean, spread, deviation, error, limit_m, rows)
