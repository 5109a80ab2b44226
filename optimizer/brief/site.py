"""What is asked: the site, the wishes, the rules, the parts and the rates of one job."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from optimizer.catalogue.parts import Catalogue
from optimizer.catalogue.rates import Rates
from optimizer.rulebook.rules import RuleSet
from optimizer.terrain.ground import Ground
from optimizer.terrain.yard import Points, Yard


@dataclass(frozen=True, slots=True)
class DisplayUnits:
    """How lengths are shown: ``system`` and the step they are rounded to (1/8 in or 1 mm)."""

    system: Literal["ft-in", "in", "mm", "m"]
    step_m: float


@dataclass(frozen=True, slots=True)
class Rider:
    """Who uses the ramp: device size and total mass, alone or pushed, better hand."""

    device_length_m: float
    device_width_m: float
    total_mass_kg: float
    propulsion: Literal["alone", "pushed", "powered"]
    better_hand: Literal["left", "right", "either"]


@dataclass(frozen=True, slots=True)
class Wishes:
    """What the client asks beyond the rules.

    ``steepest`` is a ratio (rise over plan run) or ``None``; ``exits`` the sides of the
    first landing a run may leave by, seen looking out of the door; ``most_turns`` counts
    an L and a half turn as one each (``None``: any number).  ``guard_above_m``: runs whose
    edge lies higher than this above the lowest ground within 36 in get rails whatever their
    rise (default 30 in, the trigger of IRC R312.1.1 and IBC 1015.2).
    ``rail_landings_above_m``: the same for landings (default 6 in: common practice, no
    source).

    ``slopes``: ``free`` (a slope for each run) or ``equal`` (one for all).  ``prefer_side``:
    the way the ramp should go as seen looking out of the door; it decides between layouts of
    one price.  Locks, each point ``(2,)`` in plan: ``must_pass_m`` lie on the walking surface,
    ``landing_at_m`` on a landing.  ``longest_between_rests_m``: longest plan length between
    two landings.  ``survey_error_m``: how far a level may be wrong; every support must fit for
    ground that much higher or lower.  ``steps``: steps beside the ramp for those who walk.
    """

    steepest: float | None
    clear_width_m: float | None
    exits: tuple[Literal["front", "left", "right"], ...]
    most_turns: int | None
    guard_above_m: float
    rail_landings_above_m: float
    shown: int
    slopes: Literal["free", "equal"]
    prefer_side: Literal["left", "right", "either"]
    must_pass_m: tuple[Points, ...]
    landing_at_m: tuple[Points, ...]
    longest_between_rests_m: float | None
    survey_error_m: float
    steps: Literal["none", "wanted"]


@dataclass(frozen=True, slots=True)
class SearchSettings:
    """The lattice the search proves its answer on (DEVELOPERS.md, 'The discrete problem').

    ``lattice_m`` is a whole multiple of ``finest_lattice_m``, so that every lattice on the way
    from the one to the other can contain the coarser one.  ``most_runs`` is ``None`` when the
    site gives no number: the search then takes as many as the rise asks for.
    """

    lattice_m: float
    finest_lattice_m: float
    height_step_m: float
    slope_levels: int
    flattest_share: float
    most_runs: int | None
    longest_run_m: float
    time_limit_s: float
    seed: int


@dataclass(frozen=True, slots=True)
class Site:
    """One job, read and checked.

    All coordinates are in the site frame; survey coordinates are
    ``site + origin_shift_m`` (x, y, z).  ``bedding_m`` is how far a loaded foot sinks.
    """

    name: str
    path: Path
    dated: str
    origin_shift_m: Points
    yard: Yard
    ground: Ground
    bedding_m: float
    catalogue: Catalogue
    rates: Rates
    rules: RuleSet
    rider: Rider
    wishes: Wishes
    search: SearchSettings
    display: DisplayUnits
