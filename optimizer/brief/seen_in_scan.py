"""What a scan shows beside ground points, and what it cannot tell."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from optimizer.brief.found_things import FoundThing
from optimizer.brief.places import WallFrame
from optimizer.errors import Fault
from optimizer.ground_scan.sorted_scan import Hole, SortedScan
from optimizer.scan_ground.build_ground import ScanGround
from optimizer.terrain.ground import BreakLine


@dataclass(frozen=True, slots=True)
class SeenInScan:
    """Things, break lines and holes of a scan, survey's frame; ``wall``: that of the first start."""

    things: tuple[FoundThing, ...]
    lines: tuple[BreakLine, ...]
    holes: tuple[Hole, ...]
    wall: WallFrame | None


NOTHING_SEEN: Final = SeenInScan((), (), (), None)


def doubt_seen(found: SortedScan, seen: SeenInScan, ground: ScanGround) -> tuple[Fault, ...]:
    """What the sorting cannot tell, and how many things nobody has confirmed."""
    where = ground.path.name
    doubts = [Fault(where, one.what, one.remedy) for one in found.doubts]
    open_ones = sum(one.said == "unconfirmed" for one in seen.things)
    if open_ones:
        things = "thing is" if open_ones == 1 else "things are"
        what = f"{open_ones} {things} seen in the scan and taken as obstacles until you say otherwise."
        doubts.append(Fault(where, what, "evenfall ground lists them, ready for [[scan.thing]]."))
    return tuple(doubts)
