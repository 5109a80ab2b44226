"""Progress of a plan, told in lines."""

from __future__ import annotations

import time
from collections.abc import Callable

from optimizer.search.answers import SearchEvent

#: Seconds between lines that tell nothing new.
QUIET_S = 2.0


class Progress:
    """Tells what is going on, a line now and then, with seconds since the start."""

    def __init__(self, say: Callable[[str], None]) -> None:
        self._say = say
        self._began = time.monotonic()
        self._told_at_s = 0.0
        self._best_cents: int | None = None

    @property
    def seconds(self) -> float:
        """Seconds since the start."""
        return time.monotonic() - self._began

    def note(self, text: str) -> None:
        """Say one thing."""
        self._say(f"{self.seconds:5.1f} s  {text}")

    def tell(self, event: SearchEvent) -> None:
        """Say what is proven by now: at once when a better layout is found, else now and then."""
        news = event.incumbent_cents is not None and (
            self._best_cents is None or event.incumbent_cents < self._best_cents
        )
        if not news and self.seconds - self._told_at_s < QUIET_S:
            return
        self._told_at_s = self.seconds
        if news:
            self._best_cents = event.incumbent_cents
        parts = [f"{event.phase}, lattice {event.lattice_m * 1000:.0f} mm"]
        if event.bound_cents is None:
            parts.append("nothing is left to search")
        else:
            parts.append(f"nothing below {event.bound_cents / 100:,.2f}")
        if event.incumbent_cents is not None:
            gap = "" if not event.gap else f", gap {100 * event.gap:.0f} %"
            parts.append(f"best {event.incumbent_cents / 100:,.2f}{gap}")
        self.note("; ".join(parts))
