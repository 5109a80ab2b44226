"""Follow one layout along its walking line with any slopes, and see whether it may lie there."""

from __future__ import annotations

import math

import numpy as np

from optimizer.catalogue.parts import Landing
from optimizer.layout.landing_edges import (
    EdgeRail,
    find_departure,
    list_door_landing_rails,
    list_landing_rails,
)
from optimizer.layout.spec import TurnKind, TurnSpec
from optimizer.search.geometry_kernel import (
    E,
    first_overhead,
    first_piece,
    first_violation,
    ground_elevation,
    lowest_ground,
    plate_reach,
    scratch,
)
from optimizer.search.kernel_tables import NEAR_EDGE, NEVER, Floats
from optimizer.search.law_kernel import allows_last, allows_run
from optimizer.search.openings import HEADINGS
from optimizer.search.support_kernel import needs_rails, write_rectangle
from optimizer.search.toe_kernel import toe_cost
from optimizer.search.trace import Pose, Trace, TracedLanding, TracedRun, TraceQuestion


def is_turn(kind: TurnKind | None) -> bool:
    """Whether the way turns there."""
    return kind is not None and kind != "straight"


def is_half_turn(kind: TurnKind | None) -> bool:
    """Whether a turn is a half turn."""
    return kind in ("half_left", "half_right")


def trace_layout(question: TraceQuestion) -> Trace | None:
    """Follow a layout; ``None`` when some rule other than supports stands against it."""
    return _Tracer(question).follow()


class _Tracer:
    """Walks one layout down from its opening, laying rectangles as the kernel does; used once."""

    def __init__(self, question: TraceQuestion) -> None:
        self.question = question
        self.opening = question.opening
        self.tables = question.opening.prepared.tables
        self.parts = question.opening.prepared.parts
        self.numbers = self.tables.numbers[0]
        self.room = scratch()
        self.rectangles = np.zeros((2 * len(question.slopes) + 3, 4))
        self.pieces = 0
        self.runs: list[TracedRun] = []
        self.landings: list[TracedLanding] = []
        self.rail_ends = 0
        self.pose = Pose(self.opening.u, self.opening.v, *HEADINGS[self.opening.exit])
        self.deck_m = self.opening.deck_m

    def follow(self) -> Trace | None:
        """Lay everything in order; stop at the first thing that may not lie there."""
        self._take_door_landing()
        last = len(self.question.slopes) - 1
        for level in range(last):
            if not self._lay_run(level) or not self._lay_landing(self.question.turns[level]):
                return None
        return self._lay_last_run(last)

    # ---- looking ahead

    def _cover(self, pose: Pose, half_m: float, reach_m: float, slope: float, offset_m: float) -> float:
        """Plan distance at which something under a strip from the current deck comes too high."""
        return float(
            first_violation(
                self.tables.triangles,
                self.numbers.start,
                self.numbers.solid_end,
                pose.u,
                pose.v,
                pose.hu,
                pose.hv,
                half_m,
                reach_m,
                self.deck_m,
                slope,
                offset_m,
                self.room,
            )
        )

    def _overhead(self, pose: Pose, half_m: float, reach_m: float, slope: float, deck_m: float) -> float:
        """Plan distance at which a strip runs under something too low."""
        return float(
            first_overhead(
                self.tables.triangles,
                self.numbers.dig_end,
                self.numbers.overhead_end,
                pose.u,
                pose.v,
                pose.hu,
                pose.hv,
                half_m,
                reach_m,
                deck_m,
                slope,
                self.room,
            )
        )

    def _free(self, pose: Pose, half_m: float, reach_m: float, skipped: int) -> float:
        """Plan distance to the next earlier piece, each enlarged by the piece gap."""
        return float(
            first_piece(
                self.rectangles,
                self.pieces,
                skipped,
                self.numbers.gap,
                pose.u,
                pose.v,
                pose.hu,
                pose.hv,
                half_m,
                reach_m,
            )
        )

    def _rails(self, rectangle: Floats, rails: tuple[EdgeRail, ...]) -> tuple[EdgeRail, ...]:
        """The rails of a landing, when it stands high enough above the ground near it to carry any."""
        low = lowest_ground(
            self.tables.triangles,
            self.numbers.ground_end,
            rectangle[0] - NEAR_EDGE,
            rectangle[1] + NEAR_EDGE,
            rectangle[2] - NEAR_EDGE,
            rectangle[3] + NEAR_EDGE,
            self.room,
        )
        return rails if self.deck_m - low > self.numbers.landing_rail_above + E else ()

    def _is_railed(self, plan_m: float, drop_m: float, plate: tuple[float, float]) -> bool:
        pose = self.pose
        return bool(
            needs_rails(
                self.tables,
                pose.u,
                pose.v,
                pose.hu,
                pose.hv,
                plan_m,
                self.deck_m,
                drop_m,
                *plate,
                self.rectangles[self.pieces],
                self.room,
            )
        )

    # ---- laying

    def _find_landing(self, landing_id: str) -> tuple[int, Landing]:
        return next((n, one) for n, one in enumerate(self.parts.landings) if one.id == landing_id)

    def _take_door_landing(self) -> None:
        """The door landing as the opening has it (its place was judged when it was opened)."""
        opening = self.opening
        if opening.door_landing is None or opening.rectangle is None:
            return
        number, landing = self._find_landing(opening.door_landing)
        self.rectangles[0] = opening.rectangle
        self.pieces = 1
        rails = self._rails(
            self.rectangles[0], list_door_landing_rails(landing, opening.exit, self.parts.width_m)
        )
        pose = Pose(opening.slide_m, opening.prepared.start.gap_m, 0.0, 1.0)
        self.landings.append(TracedLanding(landing, number, False, pose, self.deck_m, rails))

    def _turned_before(self) -> int:
        level = len(self.runs)
        return int(level > 0 and is_turn(self.question.turns[level - 1].kind))

    def _add_run(
        self,
        level: int,
        plan_m: float,
        clear_m: float,
        next_turn: TurnKind | None,
        plate: tuple[float, float] = (0.0, 0.0),
    ) -> None:
        """Record a run; for the last one ``next_turn`` is ``None``, ``plate`` its fall and plan length."""
        slope, surface = self.question.slopes[level], self.question.surfaces_m[level]
        railed = self._is_railed(plan_m, plan_m * slope, plate)
        if railed:
            self.rail_ends += 4 - self._turned_before() - int(is_turn(next_turn))
        pose = self.pose
        write_rectangle(
            self.rectangles[self.pieces], pose.u, pose.v, pose.hu, pose.hv, self.parts.width_m / 2.0, plan_m
        )
        self.runs.append(
            TracedRun(pose, self.deck_m, slope, surface, plan_m, clear_m, railed, next_turn is None)
        )

    def _look_down_run(self, level: int) -> tuple[float, float, float, float]:
        """Plan length, and how far pieces, the low clearance and the full clearance allow a run."""
        slope = self.question.slopes[level]
        plan = self.question.surfaces_m[level] / math.sqrt(1.0 + slope * slope)
        half = self.parts.width_m / 2.0
        far = plan + float(self.numbers.longest_plate) + 1.0
        free = self._free(self.pose, half, far, self.pieces - 1)
        low = self._overhead(self.pose, half, free, slope, self.deck_m)
        low = self._cover(self.pose, half, low, slope, self.numbers.depth + self.numbers.low_clearance)
        clear = self._cover(self.pose, half, low, slope, self.numbers.depth + self.numbers.clearance)
        return plan, free, low, clear

    def _lay_run(self, level: int) -> bool:
        """Lay a run that ends on a landing; the pose moves to its lower end."""
        plan, _, _, clear = self._look_down_run(level)
        drop = plan * self.question.slopes[level]
        if plan > clear + E or not allows_run(self.tables.laws, drop, plan):
            return False
        self._add_run(level, plan, clear, self.question.turns[level].kind)
        self.pose = Pose(*self.pose.ahead(plan, 0.0), self.pose.hu, self.pose.hv)
        self.deck_m -= drop
        return True

    def _lay_landing(self, turn: TurnSpec) -> bool:
        """Lay the landing at the pose; the pose moves to where the next run leaves."""
        number, landing = self._find_landing(turn.landing)
        departure = find_departure(landing, turn.kind, turn.arrive_m, turn.leave_m, self.parts.width_m)
        pose = self.pose
        middle = Pose(*pose.ahead(0.0, departure.shift_m), pose.hu, pose.hv)
        half, long = landing.width_m / 2.0, landing.length_m
        depth = landing.frame_depth_m + self.numbers.clearance
        # The run just laid is not in the count yet: a landing may touch the run that arrives on it.
        lies = min(
            self._free(middle, half, long, -1),
            self._cover(middle, half, long, 0.0, depth),
            self._overhead(middle, half, long, 0.0, self.deck_m),
        )
        if lies < long - E:
            return False
        rectangle = self.rectangles[self.pieces + 1]
        write_rectangle(rectangle, middle.u, middle.v, middle.hu, middle.hv, half, long)
        rails = self._rails(rectangle, list_landing_rails(landing, turn.kind, self.parts.width_m))
        self.landings.append(
            TracedLanding(landing, number, is_half_turn(turn.kind), middle, self.deck_m, rails)
        )
        self.pieces += 2
        along, right = departure.heading
        self.pose = Pose(
            *pose.ahead(departure.along_m, departure.right_m),
            along * pose.hu + right * pose.hv,
            along * pose.hv - right * pose.hu,
        )
        return True

    def _lay_last_run(self, level: int) -> Trace | None:
        """Lay the run that carries the transition plate, and land."""
        plan, free, low, clear = self._look_down_run(level)
        if plan > low + E:
            return None
        plate_number = next(n for n, one in enumerate(self.parts.plates) if one.id == self.question.plate)
        pose = self.pose
        hinge = Pose(*pose.ahead(plan, 0.0), pose.hu, pose.hv)
        hinge_m = self.deck_m - plan * self.question.slopes[level]
        reach = float(
            plate_reach(
                self.tables,
                hinge.u,
                hinge.v,
                hinge.hu,
                hinge.hv,
                hinge_m,
                float(self.tables.plates[plate_number].length),
            )
        )
        if math.isnan(reach) or plan + reach > free + E:
            return None
        tip_u, tip_v = hinge.ahead(reach, 0.0)
        tip = float(ground_elevation(self.tables, tip_u, tip_v))
        laws, drop, fall = self.tables.laws, self.deck_m - hinge_m, hinge_m - tip
        if not (allows_run(laws, drop, plan) and allows_last(laws, drop, plan, fall, reach)):
            return None
        half = self.parts.width_m / 2.0
        if self._overhead(hinge, half, reach, (hinge_m - tip) / reach, hinge_m) < reach - E:
            return None
        self._add_run(level, plan, clear, None, (fall, reach))
        pad = toe_cost(
            self.tables,
            self.rectangles,
            self.pieces,
            tip_u,
            tip_v,
            pose.hu,
            pose.hv,
            hinge_m,
            self.numbers.steepest,
            reach,
            tip,
            self.room,
        )
        if pad >= NEVER:
            return None
        return Trace(
            self.opening,
            tuple(self.runs),
            tuple(self.landings),
            self.rail_ends,
            plate_number,
            reach,
            tip,
            hinge_m,
            int(pad),
        )
