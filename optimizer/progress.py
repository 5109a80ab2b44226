"""Progress of a plan, told in lines."""

from __future__ import annotations

import time
from collections.abc import Callable

from optimizer.search.shape_search import SearchEvent


class Progress:
    """Tells what is going on, at most a line a class, with seconds since the start."""

    def __init__(self, say: Callable[[str], None]) -> None:
        self._say = say
        self._began = time.monotonic()

    @property
    def seconds(self) -> float:
        """Seconds since the start."""
        return time.monotonic() - self._began

    def note(self, text: str) -> None:
        """Say one thing."""
        self._say(f"{self.seconds:5.1f} s  {text}")

    def tell(self, event: SearchEvent) -> None:
        """Say what is proven by now."""
        parts = [f"{event.phase}, lattice {event.lattice_m * 1000:.0f} mm"]
        if event.bound_cents is None:
            parts.append("nothing is left to search")
        else:
            parts.append(f"nothing below {event.bound_cents / 100:,.2f}")
        if event.incumbent_cents is not None:
            gap = "" if not event.gap else f", gap {100 * event.gap:.0f} %"
            parts.append(f"best {event.incumbent_cents / 100:,.2f}{gap}")
        self.note("; ".join(parts))
