"""Every layout from one start, one choice after the other.

Written from DEVELOPERS.md, 'The discrete problem' ('The start', 'Runs', 'Landings between runs',
'Surfaces' as far as pieces meet, 'Locks'); shares nothing with the search but the data classes.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from optimizer.brief.site import Site
from optimizer.catalogue.parts import Landing, LandingUse
from optimizer.terrain.yard import Start
from tests.validation.brute_doors import Door
from tests.validation.brute_geometry import E, Lattice, Pose, Rect, is_overlapping, shrunk
from tests.validation.brute_layout import BruteLayout, BruteRun, BruteTurn, Shape, Sum
from tests.validation.brute_parts import RunChoice, UsableParts
from tests.validation.brute_pieces import Pieces
from tests.validation.brute_surroundings import Surroundings
from tests.validation.brute_toe import Toe, Toes

TURNS = ("left", "right", "half_left", "half_right")


@dataclass(frozen=True, slots=True)
class Placed:
    """A partial layout with where its pieces lie.

    ``pieces`` are the landings and runs so far, in order; the last one is the landing the
    next run leaves, unless the run hangs on an edge.  ``after_turn``: that landing is a turn.
    """

    door_landing_id: str | None
    slide: int
    exit: str
    attach_m: float | None
    runs: tuple[RunChoice, ...]
    turns: tuple[BruteTurn, ...]
    pieces: tuple[Rect, ...]
    landings: tuple[Rect, ...]
    after_turn: bool
    sum: Sum

    @property
    def shape(self) -> Shape:
        """Exit and turns so far, without straight landings."""
        return self.exit, tuple(turn.kind for turn in self.turns if turn.kind != "straight")


class Walk:
    """Every layout from one start; the best of every shape is kept in ``best``."""

    def __init__(self, site: Site, start: Start, parts: UsableParts, best: dict[Shape, BruteLayout]) -> None:
        self.site, self.start, self.parts, self.best = site, start, parts, best
        self.yard = Surroundings(site, start)
        self.door = Door(parts.design, start)
        self.pieces = Pieces(parts, self.yard)
        self.toes = Toes(parts, self.yard, self.pieces)
        self.lattice = Lattice(site.search.lattice_m, parts.width, start.gap_m + parts.width / 2)
        self.gap = site.catalogue.piece_gap_m
        self.z0 = start.threshold_m - start.drop_m
        self.most_runs = parts.most_runs(self.z0, self.yard.highest_on_lot())
        self.run_ends_tried = 0

    # The start

    def begin(self) -> None:
        """Walk all starts of the page: landings at the door, or the edge itself."""
        start, parts, pitch = self.start, self.parts, self.site.search.lattice_m
        plate = parts.cheapest(p for p in parts.thresholds if p.reach_m >= start.gap_m - E)
        if plate is None or not parts.sections:
            return
        threshold = Sum(parts.cents(plate))
        if start.kind == "edge":
            play = (start.clear_width_m - parts.width) / 2
            for k in self.lattice.whole_steps(-play, play):
                pose = Pose(k * pitch, start.gap_m, "front")
                self.run(Placed(None, k, "front", None, (), (), (), (), False, threshold), pose, self.z0)
            return
        for landing in dict.fromkeys(one for side in parts.at_door.values() for one in side):
            play = (landing.width_m - start.clear_width_m) / 2
            for k in self.lattice.whole_steps(-play, play):
                self._leave_door(k, landing, Pose(k * pitch, start.gap_m, "front"), threshold)

    def _leave_door(self, slide: int, landing: Landing, pose: Pose, threshold: Sum) -> None:
        stands = self.pieces.landing_stands(landing, pose, self.z0, "door")
        if stands is None:
            return
        rect = self.pieces.landing_rect(landing, pose)
        across, along = landing.width_m, landing.length_m
        sides = {
            "front": (pose.turned(along, 0, 0), across, "end"),
            "left": (pose.turned(along / 2, -across / 2, 3), along, "left"),
            "right": (pose.turned(along / 2, across / 2, 1), along, "right"),
        }
        for side in self.site.wishes.exits:
            if landing not in self.parts.at_door[side] or not self.door.has_room(landing, pose.u, side):
                continue
            edge, size, name = sides[side]
            rails = self.pieces.landing_rails(landing, pose, self.z0, "start", (name,), None)
            cost = threshold + stands + rails
            for offset, leaving in self.lattice.poses_on(edge, size):
                placed = Placed(landing.id, slide, side, offset, (), (), (rect,), (rect,), False, cost)
                self.run(placed, leaving, self.z0)

    # Runs

    def run(self, placed: Placed, pose: Pose, z: float) -> None:
        """Every run that leaves a pose, each ended in every way."""
        may_go_on = len(placed.runs) + 1 < self.most_runs
        parts, catalogue = self.parts, self.site.catalogue
        for run in parts.runs:
            if self.site.wishes.slopes == "equal" and placed.runs and placed.runs[0].level != run.level:
                continue
            rect = self.pieces.run_rect(pose, run)
            if self._meets(rect, placed.pieces[:-1]):
                continue
            self.run_ends_tried += 1
            if may_go_on:
                stands = self.pieces.run_stands(pose, z, run, catalogue.clearance_m)
                if stands is not None:
                    self._arrive(placed, pose, z, run, stands)
            for plate in parts.plates:
                toe = self.toes.find(pose, z, run, plate)
                if toe is not None:
                    self._touch_down(placed, pose, z, run, toe)

    def _meets(self, rect: Rect, earlier: tuple[Rect, ...]) -> bool:
        """Whether a later piece overlaps an earlier one enlarged by the gap between pieces."""
        inner = shrunk(rect, E)
        return any(is_overlapping(inner, shrunk(other, -self.gap)) for other in earlier)

    # Landings between runs

    def _arrive(self, placed: Placed, pose: Pose, z: float, run: RunChoice, stands: Sum) -> None:
        """End a run on every landing in every way, and go on from there."""
        most_turns = self.site.wishes.most_turns
        may_turn = most_turns is None or len(placed.shape[1]) < most_turns
        end = pose.turned(run.plan, 0, 0)
        for kind in ("straight", *(TURNS if may_turn else ())):
            use: LandingUse = "straight" if kind == "straight" else "half" if "half" in kind else "quarter"
            turns = placed.after_turn + (use != "straight")
            rails = self.pieces.run_rails(pose, z, run, turns, None)
            for landing in self.parts.landings[use]:
                for to_right in self._places(kind, landing.width_m):
                    pieces = (*placed.pieces, self.pieces.run_rect(pose, run))
                    before = Placed(
                        placed.door_landing_id, placed.slide, placed.exit, placed.attach_m,
                        (*placed.runs, run), placed.turns, pieces, placed.landings, use != "straight",
                        placed.sum + stands + rails,
                    )  # fmt: skip
                    turn = BruteTurn(kind, landing.id, -to_right, 0.0)
                    self._turn(before, landing, turn, end.turned(0, to_right, 0), z - run.drop)

    def _places(self, kind: str, width: float) -> Iterator[float]:
        """How far right of the arriving run's middle line the middle of the landing may lie."""
        longer = width - self.parts.width  # what the entry edge is longer than the run is wide
        flush_left, flush_right = longer / 2, -longer / 2
        if kind == "half_right":
            yield flush_left
        elif kind == "half_left":
            yield flush_right
        elif kind == "straight":
            yield flush_left
            if longer > E:
                yield flush_right
        else:
            # The side by which the next run leaves lies w/2 + m p from the arriving run's middle line.
            for m in self.lattice.whole_steps(0.0, longer):
                beyond = self.parts.width / 2 + m * self.lattice.pitch_m
                yield (beyond - width / 2) if kind == "right" else (width / 2 - beyond)

    def _turn(self, placed: Placed, landing: Landing, turn: BruteTurn, middle: Pose, z: float) -> None:
        """Place a landing with the middle of its entry edge at a pose and leave it in every way."""
        rect = self.pieces.landing_rect(landing, middle)
        if self._meets(rect, placed.pieces[:-1]):
            return
        use = "half" if "half" in turn.kind else turn.kind
        stands = self.pieces.landing_stands(landing, middle, z, use)
        if stands is None:
            return
        edge = {"straight": "end", "half_left": "start", "half_right": "start"}.get(turn.kind, turn.kind)
        shared = "start" if use == "half" else None
        rails = self.pieces.landing_rails(landing, middle, z, None, ("start", edge), shared)
        pieces, landings = (*placed.pieces, rect), (*placed.landings, rect)
        for offset, pose in self._leaving(landing, turn, middle):
            turns = (*placed.turns, BruteTurn(turn.kind, landing.id, turn.arrive_m, offset))
            after = Placed(
                placed.door_landing_id, placed.slide, placed.exit, placed.attach_m,
                placed.runs, turns, pieces, landings, placed.after_turn, placed.sum + stands + rails,
            )  # fmt: skip
            self.run(after, pose, z)

    def _leaving(self, landing: Landing, turn: BruteTurn, middle: Pose) -> Iterator[tuple[float, Pose]]:
        """Poses of the next run, with its offset to the right of the middle of the edge it leaves by."""
        half, along = landing.width_m / 2, landing.length_m
        play = half - self.parts.width / 2
        if turn.kind == "right":
            yield from self.lattice.poses_on(middle.turned(along / 2, half, 1), along)
        elif turn.kind == "left":
            yield from self.lattice.poses_on(middle.turned(along / 2, -half, 3), along)
        elif turn.kind == "half_right":  # heading reversed: the landing's right end is on the run's left
            yield -play, middle.turned(0, play, 2)
        elif turn.kind == "half_left":
            yield play, middle.turned(0, -play, 2)
        else:
            pitch, far = self.lattice.pitch_m, middle.turned(along, 0, 0)
            for m in self.lattice.whole_steps(-play - turn.arrive_m, play - turn.arrive_m):
                offset = turn.arrive_m + m * pitch
                yield offset, far.turned(0, offset, 0)

    # The low end

    def _touch_down(self, placed: Placed, pose: Pose, z: float, run: RunChoice, toe: Toe) -> None:
        """End the last run with a plate; keep the layout when it is the cheapest of its shape."""
        if self._meets(toe.plate_rect, placed.pieces[:-1]):
            return
        run_rect = self.pieces.run_rect(pose, run)
        earlier = (*placed.pieces, run_rect, toe.plate_rect)
        apron = shrunk(toe.apron_rect, E)
        if any(is_overlapping(apron, shrunk(piece, -self.parts.foot_room)) for piece in placed.pieces):
            return
        stands = self.pieces.run_stands(pose, z, run, self.site.catalogue.low_clearance_m)
        if stands is None or not self.yard.passes_locks(earlier, placed.landings):
            return
        rails = self.pieces.run_rails(pose, z, run, int(placed.after_turn), toe.laid_plate)
        is_in_setback = any(self.yard.is_in_setback(piece) for piece in earlier)
        relief = self.site.yard.relief_cents if is_in_setback else 0
        total = placed.sum + stands + rails + toe.sum + Sum(relief)
        shape = placed.shape
        if shape in self.best and self.best[shape].cost_cents <= total.cents:
            return
        self.best[shape] = BruteLayout(
            start=self.start.name,
            door_landing_id=placed.door_landing_id,
            slide=placed.slide,
            exit=placed.exit,
            attach_m=placed.attach_m,
            runs=tuple(
                BruteRun(tuple(section.id for section in one.sections), one.level, one.drop, one.plan)
                for one in (*placed.runs, run)
            ),
            turns=placed.turns,
            plate_id=toe.plate.id,
            pad_id=toe.pad_id,
            is_in_setback=is_in_setback,
            legs=total.legs,
            low_supports=total.low_supports,
            braces=total.braces,
            rails=total.rails,
            cost_cents=total.cents,
        )
