"""What a scan shows beside ground points, and what it cannot tell."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from optimizer.brief.found_things import FoundThing
from optimizer.brief.places import WallFrame
from optimizer.errors import Fault
from optimizer.ground_scan.sorted_scan import Doubt, Hole
from optimizer.scan_ground.build_ground import ScanGround
from optimizer.terrain.ground import BreakLine

#: Shorter ends of steps are not worth a word.
LEAST_LEFT_OUT_M: Final = 0.7


@dataclass(frozen=True, slots=True)
class SeenInScan:
    """Things, break lines and holes of a scan, survey's frame; ``wall``: that of the first start.

    ``steps_left_out_m``: metres of steps that were found and are not among ``lines``; ``untold``: what the
    sorting cannot tell.
    """

    things: tuple[FoundThing, ...]
    lines: tuple[BreakLine, ...]
    holes: tuple[Hole, ...]
    wall: WallFrame | None
    steps_left_out_m: float
    untold: tuple[Doubt, ...]


NOTHING_SEEN: Final = SeenInScan((), (), (), None, 0.0, ())


def doubt_seen(seen: SeenInScan, ground: ScanGround) -> tuple[Fault, ...]:
    """What the sorting cannot tell, steps that are not in the ground, things nobody has confirmed."""
    where = ground.path.name
    doubts = [Fault(where, one.what, one.remedy) for one in seen.untold]
    if seen.steps_left_out_m >= LEAST_LEFT_OUT_M:
        what = (
            f"{seen.steps_left_out_m:.1f} m of steps (kerb, wall, terrace) reach the house, the rim, a "
            "levelled point or a drawn line, and are not in the ground."
        )
        doubts.append(Fault(where, what, "Level their top and foot and draw them as a break line."))
    open_ones = sum(one.said == "unconfirmed" for one in seen.things)
    if open_ones:
        things = "thing is" if open_ones == 1 else "things are"
        what = f"{open_ones} {things} seen in the scan and taken as obstacles until you say otherwise."
        doubts.append(Fault(where, what, "evenfall ground lists them, ready for [[scan.thing]]."))
    return tuple(doubts)
