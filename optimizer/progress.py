"""Progress of a plan, told in lines."""

from __future__ import annotations

import time
from collections.abc import Callable

from optimizer.search.find_layouts import SearchEvent


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
        """Say that a class of layouts is done."""
        turn = {"none": "straight", "half_left": "half turn left", "half_right": "half turn right"}.get(
            event.turn, f"turn {event.turn}"
        )
        found = "none fits" if event.cost_cents is None else f"direct cost {event.cost_cents / 100:,.2f}"
        proof = "proven" if event.proven else "not settled"
        self.note(f"{event.done:2d}/{event.of}  leaving {event.exit}, {turn}: {found}, {proof}")
