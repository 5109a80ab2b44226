"""What a candidate is judged against: the files of the job, nothing the search has said."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from optimizer.catalogue.parts import Catalogue
from optimizer.catalogue.rates import Rates
from optimizer.rulebook.bound import Rulings
from optimizer.terrain.ground import Ground
from optimizer.terrain.yard import Points, Start, Yard


@dataclass(frozen=True, slots=True)
class CheckCase:
    """One job as the checker sees it (site frame, metres, z up).

    ``rulings``: every rule set, as the site names them, with the facts of the job.
    ``start_name`` is the start the candidate must begin at.  ``bedding_m`` is how far a
    loaded foot sinks, ``total_mass_kg`` the rider with device.  ``guard_above_m`` and
    ``rail_landings_above_m`` are the job's own triggers for rails on runs and landings.
    ``must_pass_m`` and ``landing_at_m`` are places (2,) where the walking surface and a
    landing were asked to lie.  ``steps``: whether steps beside the ramp were asked for;
    ``survey_error_m``: how far a level may be wrong, which their range of rise must bear.
    """

    yard: Yard
    ground: Ground
    bedding_m: float
    catalogue: Catalogue
    rates: Rates
    rulings: Rulings
    start_name: str
    total_mass_kg: float
    guard_above_m: float
    rail_landings_above_m: float
    must_pass_m: tuple[Points, ...]
    landing_at_m: tuple[Points, ...]
    steps: Literal["none", "wanted"]
    survey_error_m: float

    def start(self) -> Start | None:
        """The start named ``start_name``, or ``None`` when the yard has none of that name."""
        for start in self.yard.starts:
            if start.name == self.start_name:
                return start
        return None
