"""The plan: the frozen bundle that checker, drawings, viewer and people read.

Saved as versioned JSON; ``Plan.model_json_schema()`` is the published schema.  Metres,
z up, site frame; ``origin_shift_m`` leads back to the survey's own coordinates.
Corners of a piece run start-left, start-right, end-right, end-left, looking along the
way down.
"""

from __future__ import annotations

from typing import Final, Literal

from pydantic import BaseModel, ConfigDict, Field

from optimizer.rulebook.bound import DecidedBy, Role
from optimizer.rulebook.facts import YesNo

#: What the price line for relief from the setback has in place of a part.
SETBACK_RELIEF: Final = "setback-relief"
SCHEMA: Final = "evenfall-plan-2"

XYZ = tuple[float, float, float]
Verdict = Literal["meets", "fails", "cannot tell", "does not apply"]
PriceVerdict = Literal[
    "saves", "saves at least", "costs nothing", "costs more", "costs at most", "no layout", "not settled"
]
PieceKind = Literal["threshold_plate", "landing", "section", "transition_plate", "bottom_pad", "steps"]


class Record(BaseModel):
    """Read-only record; a key that the schema does not know is refused."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False, populate_by_name=True)


class Finding(Record):
    """One clause looked at once.  ``measured`` and ``limit`` in ``unit``.

    ``how_known`` is how the limit is known (``build``: our own check, no document's).
    """

    rules: str
    clause: str
    measured: float | None
    operator: str
    limit: float | None
    unit: str
    where_m: XYZ | None
    subject: str
    verdict: Verdict
    text: str
    how_known: Literal["text", "restated", "memory", "own", "build"]


class Piece(Record):
    """One placed piece.  ``run`` counts from 1 at the door; ``use`` is set for landings.

    ``corners_m`` lie on the walking surface.  ``slope`` is rise over plan run along the
    way down (0 for level pieces).  Of ``steps`` they are the landing's edge at the deck and the
    nosing of the lowest tread, one riser above the ground; its slope is riser over going.
    """

    id: str
    catalogue_id: str
    kind: PieceKind
    use: Literal["door", "straight", "left", "right", "half_left", "half_right"] | None
    run: int | None
    corners_m: tuple[XYZ, XYZ, XYZ, XYZ]
    slope: float


class SupportLeg(Record):
    """One leg or low support.  ``station`` says where on its piece: a landing corner, or the
    joint below a section (``joint-left`` ...), its middle (``mid-left`` ...), or the hinge.

    ``ground_elevation_m`` is what the foot stands on before bedding;
    ``height_m = frame_elevation_m - (ground_elevation_m - bedding)``.

    ``fit_chance``: that this type takes the height that the ground will ask for, its reserve kept, and
    ``fit_standard_error`` of counting it on so many grounds (``Plan.fit``).  ``height_error_m``: root
    mean square of what the height may be off; ``is_near_end``: the height expected lies within two
    standard errors of an end of the range.  ``None`` where the ground was left open or is not known.
    """

    id: str
    piece: str
    station: str
    kind: Literal["leg", "low_support"]
    leg_type: str
    foot: str
    brace: str | None
    x_m: float
    y_m: float
    ground_elevation_m: float
    frame_elevation_m: float
    height_m: float
    range_m: tuple[float, float]
    reserve_m: float
    setting: str
    fit_chance: float | None
    fit_standard_error: float | None = None
    height_error_m: float | None = None
    is_near_end: bool = False


class Rail(Record):
    """One rail part on one edge.  ``line_m``: its two ends on the walking surface."""

    id: str
    catalogue_id: str
    kind: Literal["panel", "post", "end", "infill", "inner_loop"]
    piece: str
    edge: Literal["left", "right", "start", "end"]
    line_m: tuple[XYZ, XYZ]
    height_m: float


class Toe(Record):
    """Where the ramp lands: the middle of the plate's lower edge and what lies beyond."""

    tip_m: XYZ
    ground_elevation_m: float
    plate_slope: float
    tip_corner_gap_m: float
    bottom_space_m: tuple[XYZ, XYZ, XYZ, XYZ]
    bottom_slope: float
    pad: bool
    to_destination_m: float | None


class PriceLine(Record):
    """One line of the price.  ``items`` names the pieces, legs or rails counted; sums
    (delivery, overhead, tax) and relief from the setback have ``count`` 1 and no items.
    """

    group: Literal["direct", "added"]
    part: str
    name: str
    count: int
    unit_cents: int
    total_cents: int
    items: tuple[str, ...]


class HoldChance(Record):
    """The chance that one kind of condition holds everywhere as planned."""

    kind: Literal["plate", "clearance", "bottom"]
    chance: float


class Candidate(Record):
    """One layout, closed, priced and checked.

    ``fit_chance``: that all legs and low supports fit as planned, on the same grounds.  ``holds_chance``:
    that clearance, plate and the place at the bottom hold as planned as well; ``hold_chances`` each of
    these alone.  ``reaches_fit``: whether that is as much as the site
    wishes, ``None`` where it wishes nothing.
    """

    name: str
    shape: Literal["straight", "L", "switchback"]
    start: str
    exit: Literal["front", "left", "right"]
    turns: tuple[Literal["straight", "left", "right", "half_left", "half_right"], ...]
    proof: str
    bound_cents: int
    direct_cost_cents: int
    price_cents: int
    price_lines: tuple[PriceLine, ...]
    walking_length_m: float
    footprint_m2: float
    weight_kg: float
    rise_m: float
    steepest_slope: float
    closing: str
    pieces: tuple[Piece, ...]
    legs: tuple[SupportLeg, ...]
    rails: tuple[Rail, ...]
    toe: Toe
    findings: tuple[Finding, ...]
    fit_chance: float | None
    fit_standard_error: float | None = None
    reaches_fit: bool | None = None
    holds_chance: float | None = None
    holds_standard_error: float | None = None
    hold_chances: tuple[HoldChance, ...] = ()


class RoundRecord(Record):
    """One ceiling of the search: what grew under it (see ``SearchRecord``)."""

    lattice_m: float
    ceiling_cents: int
    states: int
    arcs: int
    tried: int
    priced: int


class SearchRecord(Record):
    """The certificate: what the proof is about and how it was reached.

    ``rounds`` in order: every layout within a round's ceiling on its lattice was looked at.
    ``not_settled``: shapes (exit, then turns) neither found nor ruled out.  ``guard_m`` is what
    pieces and heights are rounded by: nothing.
    """

    engine: str
    lattice_m: float
    slopes: tuple[float, ...]
    height_step_m: float
    guard_m: float
    most_runs: int
    longest_run_m: float
    statement: str
    rounds: tuple[RoundRecord, ...]
    shapes_found: int
    not_settled: tuple[str, ...]


class DoubtRecord(Record):
    """Something of the survey to look at again: where, what, and what to do."""

    where: str
    what: str
    remedy: str


class GroundRecord(Record):
    """What the heights rest on.

    ``warning``: why legs may not be ordered by them, empty where they may.  ``doubts``: what to look at
    again before they are relied on.
    """

    points_used: int
    leave_one_out_m: float | None
    label: str
    thin_places_m: tuple[XYZ, ...]
    warning: str = ""
    doubts: tuple[DoubtRecord, ...] = ()


class FitRecord(Record):
    """How chances were counted, and what the wish for one costs.

    ``grounds`` possible grounds drawn with ``seed``; ``reading_m``, ``bedding_m``, ``frame_m``: standard
    errors beside the ground's own.  ``at_least``: the wish; ``extra_cents``: price of the cheapest
    candidate that reaches it less that of the cheapest of all, among the candidates of this plan alone;
    ``None`` where none reaches it or nothing is wished.  Where the cheapest does not reach it, layouts
    were searched whose supports fit for ground up to ``widest_m`` higher or lower; one that reaches it
    was found with ``width_m`` (``None``: none, or none cheaper than those of the first search).
    """

    grounds: int
    seed: int
    reading_m: float
    bedding_m: float
    frame_m: float
    at_least: float | None
    extra_cents: int | None
    widest_m: float | None = None
    width_m: float | None = None


class Conflict(Record):
    """Why there is no layout, and a change that makes one possible.

    ``granted_by`` is empty where it is not known.  ``cost_cents``: direct cost of the cheapest layout
    found after the change (``None``: no such layout was looked for); ``cost_is_least``: it is proven.
    """

    reason: str
    remedy: str
    granted_by: str = ""
    cost_cents: int | None = None
    cost_is_least: bool = False


class ConstraintPrice(Record):
    """What one constraint costs: the site solved again without it (or with one door alone).

    ``cost_cents``: direct cost of the cheapest layout found then; ``saving_cents``: how much less that
    is than the cheapest candidate's ramp, below zero when it is more.  ``not settled`` says nothing.
    """

    subject: str
    change: str
    granted_by: str
    verdict: PriceVerdict
    saving_cents: int | None
    cost_cents: int | None


class PartToBuy(Record):
    """``count`` of a part beyond the ``in_stock`` there are; ``unit_cents`` with its labour."""

    part: str
    name: str
    in_stock: int
    count: int
    unit_cents: int


class StockAdvice(Record):
    """Parts to buy for the cheapest layout of all, and its direct cost with all its parts.

    ``saving_cents`` against the cheapest candidate's ramp, ``None`` when stock allows no layout.
    ``is_least``: no layout is cheaper, however many parts there are.
    """

    parts: tuple[PartToBuy, ...]
    cost_cents: int
    saving_cents: int | None
    is_least: bool


class SiteRecord(Record):
    """Which files the plan was made from (paths as given, relative where they were)."""

    name: str
    file: str
    catalogue: str
    rates: str
    rates_dated: str
    dated: str
    origin_shift_m: XYZ


class RuleSetRecord(Record):
    """One rule set the job was judged by, and what of its document is not looked at."""

    id: str
    title: str
    edition: str
    role: Role
    decided_by: DecidedBy
    statement: str
    not_checked: tuple[str, ...]


class FactsRecord(Record):
    """What was answered about one door (``start``) and its job; ``None`` where nothing depends on it."""

    start: str
    egress_door: YesNo | None
    works: Literal["new", "existing"] | None
    space_limited: YesNo | None
    space_limited_reason: str
    building: Literal["house", "dwelling_unit", "other"] | None
    dwelling_category: Literal["1", "2", "3"] | None
    occupants: Literal["fewer_than_50", "50_and_more"] | None
    closer: YesNo | None
    latch: YesNo | None


class Plan(Record):
    """A whole plan.  ``candidates`` is empty when ``status`` says that none was found.

    ``rules``: every rule set in the order of the site file; ``facts``: one record for each start.
    ``trials``: sentences on changes that would not do, or that were not settled or not tried.
    """

    schema_id: Literal["evenfall-plan-2"] = Field(alias="schema")
    site: SiteRecord
    rules: tuple[RuleSetRecord, ...]
    facts: tuple[FactsRecord, ...]
    currency: str
    display_units: Literal["ft-in", "in", "mm", "m"]
    display_step_m: float
    status: Literal["optimal_on_lattice", "feasible", "infeasible_on_lattice", "unknown"]
    bound_cents: int | None
    gap: float | None
    search: SearchRecord
    versions: tuple[tuple[str, str], ...]
    seed: int
    ground: GroundRecord
    conflicts: tuple[Conflict, ...]
    trials: tuple[str, ...] = ()
    constraint_prices: tuple[ConstraintPrice, ...] = ()
    to_buy: StockAdvice | None = None
    fit: FitRecord | None = None
    candidates: tuple[Candidate, ...]
