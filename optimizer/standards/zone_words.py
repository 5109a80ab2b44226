"""How a finding speaks of a zone: by name and kind, why it is there, on whose word, who may waive it."""

from __future__ import annotations

from optimizer.terrain.yard import Zone


def name_zone(zone: Zone) -> str:
    """``the zone "meter" (no_cover: it must stay open; size: common practice; may be waived by ...)``."""
    return (
        f'the zone "{zone.name}" ({zone.kind}: {zone.reason}; size: {zone.source}; '
        f"may be waived by: {zone.waived_by})"
    )
