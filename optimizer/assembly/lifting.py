"""How many people a lift takes, and when hands are no longer enough."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from optimizer.units import TOLERANCE_M

#: What one person lifts at most, under the best conditions: the load constant of the NIOSH lifting equation,
#: 23 kg or 51 lb (T. R. Waters, V. Putz-Anderson, A. Garg, Applications Manual for the Revised NIOSH Lifting
#: Equation, DHHS (NIOSH) 94-110, doi 10.26616/NIOSHPUB94110revised092021).  Reach, twisting and bad ground
#: make it less.
LIFT_PER_PERSON_KG: Final = 23.0
#: A piece that is bolted while it is held wants one at each end (common practice, no source); a plate is
#: laid down and then fixed.
FEWEST_TO_HOLD: Final = 2
FEWEST_TO_LAY: Final = 1
#: More do not find room round a section or a landing (common practice, no source): beyond them lifting gear,
#: or the legs put on after the bare piece lies on blocks.
MOST_AT_A_SECTION: Final = 4
MOST_AT_A_LANDING: Final = 6


@dataclass(frozen=True, slots=True)
class Lift:
    """What is lifted at once: kilograms, the people it takes, and how many find room."""

    weight_kg: float
    people: int
    most: int

    @property
    def needs_gear(self) -> bool:
        """More than hands can share."""
        return self.people > self.most


def count_lifters(weight_kg: float, fewest: int) -> int:
    """People for a lift, each with an equal share; at least ``fewest``."""
    # A lift that is the limit to within a thousandth of a gram is the limit.
    shares = math.ceil((weight_kg - TOLERANCE_M) / LIFT_PER_PERSON_KG)
    return max(fewest, shares)
