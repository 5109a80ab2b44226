"""What can go wrong, as one tree.

::

    EvenfallError
    |-- InputError        a file or an argument is wrong; carries every fault found   (exit 3)
    |-- OutputError       a folder or file cannot be written                          (exit 3)
    |-- DrawingError      a picture cannot be made on this machine                    (reported, plan goes on)
    `-- InternalError     a bug: two parts of the program disagree                    (exit 4)

A broken clause is a *finding* and 'no layout' a *status*; neither is an error.
"""

from __future__ import annotations

from dataclasses import dataclass

#: Faults of one file shown before the rest are only counted.
FAULTS_SHOWN = 10


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong in one place.

    ``where`` is ``file:line`` when a line is known, else ``file`` or an option name;
    ``what`` says what is wrong with the value and its unit; ``remedy`` what to do.
    """

    where: str
    what: str
    remedy: str

    def __str__(self) -> str:
        return f"{self.where}: {self.what} {self.remedy}"


class EvenfallError(Exception):
    """Base of every error that Evenfall raises on purpose."""


class InputError(EvenfallError):
    """Something given is wrong.  ``faults`` holds all of it, in file order."""

    def __init__(self, *faults: Fault) -> None:
        self.faults: tuple[Fault, ...] = faults
        super().__init__(str(self))

    def __str__(self) -> str:
        lines = [str(fault) for fault in self.faults[:FAULTS_SHOWN]]
        if len(self.faults) > FAULTS_SHOWN:
            lines.append(f"... {len(self.faults)} faults in all, the first {FAULTS_SHOWN} shown.")
        return "\n".join(lines)


class OutputError(EvenfallError):
    """A result cannot be written; nothing is left half-written."""


class DrawingError(EvenfallError):
    """A picture cannot be made here; the message names what would mend it."""


class InternalError(EvenfallError):
    """Two parts of the program disagree: a bug, never the user's fault."""
