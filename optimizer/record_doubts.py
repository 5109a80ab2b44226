"""Doubts about a survey as records."""

from __future__ import annotations

from collections.abc import Sequence

from optimizer.errors import Fault
from optimizer.plan import DoubtRecord


def record_doubts(doubts: Sequence[Fault]) -> tuple[DoubtRecord, ...]:
    """One record a doubt, in order."""
    return tuple(DoubtRecord(where=one.where, what=one.what, remedy=one.remedy) for one in doubts)
