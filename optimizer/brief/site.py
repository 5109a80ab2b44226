"""What is asked: the site, the wishes, the rules, the parts and the rates of one job."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final, Literal

from optimizer.brief.height_errors import HeightErrors, SettingSpreads
from optimizer.catalogue.parts import Catalogue
from optimizer.catalogue.rates import Rates
from optimizer.errors import Fault, InternalError
from optimizer.rulebook.bound import Rulings
from optimizer.rulebook.design_limits import DesignLimits
from optimizer.rulebook.facts import JobFacts
from optimizer.terrain.ground import Ground
from optimizer.terrain.yard import Points, Start, Yard


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
    ``fit_at_least``: chance, 0 to 1, that every support fits as planned; candidates that reach it
    are shown first (``None``: by direct cost alone).
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
    fit_at_least: float | None = None


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
class Heights:
    """What the ground's heights may be used for.

    ``warning`` is empty where nothing speaks against ordering legs by them.  ``basis``: what the
    ground's rough error is; ``error_m``: that error where it is not told by the levels themselves.
    ``seen_m`` (n, 2), survey coordinates: where a scan shows ground, ``None`` without one.
    ``doubts``: what to look at again before the heights are relied on.
    """

    warning: str
    basis: str
    error_m: float | None
    seen_m: Points | None
    doubts: tuple[Fault, ...] = ()


#: Levels read off a staff or a board.
LEVELLED: Final = Heights("", "rough: each interior shot predicted from the others", None, None)
SCAN_BASIS: Final = "rough: cells of the scan predicted from those chosen, with the error of the placing"


@dataclass(frozen=True, slots=True)
class Site:
    """One job, read and checked.

    All coordinates are in the site frame; survey coordinates are
    ``site + origin_shift_m`` (x, y, z).  ``bedding_m`` is how far a loaded foot sinks.

    ``rulings``: every rule set and the facts of the whole job.  ``start_facts`` and ``designs`` hold one
    entry for each of ``yard.starts``, in order: the facts with what differs at that door, and what the
    binding sets ask there (``bind_rules.build_designs``).  ``heights``: whether legs may be ordered by
    the ground's heights.  ``height_errors`` and ``spreads``: how far ground and setting may be off;
    ``None``: not known, and no chances are told.
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
    rulings: Rulings
    start_facts: tuple[JobFacts, ...]
    designs: tuple[DesignLimits, ...]
    rider: Rider
    wishes: Wishes
    search: SearchSettings
    display: DisplayUnits
    heights: Heights = LEVELLED
    height_errors: HeightErrors | None = None
    spreads: SettingSpreads | None = None

    def rulings_of(self, start: Start) -> Rulings:
        """The rule sets with the facts of this door.  ``InternalError`` for a start of another yard."""
        return replace(self.rulings, facts=self.start_facts[self._index_of(start)])

    def design_of(self, start: Start) -> DesignLimits:
        """What binds a ramp from this door.  ``InternalError`` for a start of another yard."""
        return self.designs[self._index_of(start)]

    def _index_of(self, start: Start) -> int:
        for index, one in enumerate(self.yard.starts):
            if one.name == start.name:
                return index
        raise InternalError(f"{self.name} has no start {start.name!r}")
