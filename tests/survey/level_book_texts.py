"""Level books made up in whole millimetres, as CSV texts, with what a right booker writes down."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal

from hypothesis import strategies as st

from optimizer.survey.level_book import LevelBook
from optimizer.survey.level_reader import read_level_book

READINGS = st.integers(min_value=-900, max_value=4800)


@dataclass(frozen=True, slots=True)
class Entry:
    """One row in millimetres; ``level`` and ``change`` as a right booker would have them."""

    name: str
    backsight: int | None
    intermediate: int | None
    foresight: int | None
    level: int
    change: int | None
    height: int | None


@dataclass(frozen=True, slots=True)
class MadeUpBook:
    """Rows of one line of levels that begins on the mark ``P0``."""

    entries: tuple[Entry, ...]

    def raise_levels(self, first: int, by_mm: int) -> MadeUpBook:
        """With the levels from row ``first`` on shifted, as a slip that is carried on would."""
        moved = [
            replace(
                entry,
                level=entry.level + by_mm * (index >= first),
                height=None if entry.height is None else entry.height + by_mm * (index >= first),
            )
            for index, entry in enumerate(self.entries)
        ]
        return MadeUpBook(tuple(moved))

    def text(self, booking: Literal["height", "rise"], known: dict[str, int] | None = None) -> str:
        """As CSV; ``known``: levels of marks besides the first."""
        marks = {"P0": self.entries[0].level} | (known or {})
        booked = "hi_mm" if booking == "height" else "rise_mm,fall_mm"
        lines = [f"name,bs_mm,is_mm,fs_mm,known_elevation_mm,elevation_mm,{booked}"]
        seen: set[str] = set()
        for entry in self.entries:
            mark = marks.get(entry.name) if entry.name not in seen else None
            seen.add(entry.name)
            cells: list[int | None] = [
                entry.backsight,
                entry.intermediate,
                entry.foresight,
                mark,
                entry.level,
            ]
            if booking == "height":
                cells.append(entry.height)
            else:
                change = entry.change
                cells.append(None if change is None or change < 0 else change)
                cells.append(None if change is None or change >= 0 else -change)
            lines.append(",".join([entry.name, *("" if cell is None else str(cell) for cell in cells)]))
        return "\n".join(lines) + "\n"


@st.composite
def made_up_books(draw: st.DrawFn) -> MadeUpBook:
    """One to five set-ups with up to four intermediate sights each."""
    level = draw(st.integers(min_value=-5000, max_value=200_000))
    before = draw(READINGS)
    entries = [Entry("P0", before, None, None, level, None, level + before)]
    setups = draw(st.integers(min_value=1, max_value=5))
    for setup in range(setups):
        for _ in range(draw(st.integers(min_value=0, max_value=4))):
            reading = draw(READINGS)
            level += before - reading
            entries.append(Entry(f"P{len(entries)}", None, reading, None, level, before - reading, None))
            before = reading
        reading = draw(READINGS)
        level += before - reading
        onward = draw(READINGS) if setup < setups - 1 else None
        height = None if onward is None else level + onward
        entries.append(Entry(f"P{len(entries)}", onward, None, reading, level, before - reading, height))
        before = 0 if onward is None else onward
    return MadeUpBook(tuple(entries))


def read_text(folder: Path, text: str, unit: str | None = None) -> LevelBook:
    """Read a text as the file ``book.csv``."""
    path = folder / "book.csv"
    path.write_bytes(text.encode())
    return read_level_book(path, unit)
