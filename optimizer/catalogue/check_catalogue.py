"""Faults of a catalogue that concern more than one entry.

Works on the file as written, so that an entry with a fault of its own still counts as
named, and every fault comes out in one go.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Final

from optimizer.catalogue.catalogue_file import FASTENER_TABLE, PART_TABLES
from optimizer.catalogue.deck_entries import LandingEntry, SectionEntry
from optimizer.catalogue.support_entries import FootEntry, LegEntry, LowSupportEntry
from optimizer.errors import Fault, InputError
from optimizer.toml_file import KeyPath, TomlFile
from optimizer.toml_model import nearest_remedy, shown_value, sound_entry, subject_of
from optimizer.units import METRES_PER_UNIT, TOLERANCE_M, parse_length

#: Table, key in it, table that the named part must be in.
REFERENCES: Final = (
    ("leg", "foot", "foot"),
    ("leg", "brace", "brace"),
    ("low_support", "foot", "foot"),
    ("section", "legs", "leg"),
    ("section", "low_supports", "low_support"),
    ("section", "rail_panel", "rail_panel"),
    ("landing", "legs", "leg"),
    ("landing", "rail_length_edge", "rail_panel"),
    ("landing", "rail_width_edge", "rail_panel"),
    ("landing", "rail_infill", "rail_panel"),
    ("landing", "rail_inner_loop", "rail_panel"),
    ("transition_plate", "rail_panel", "rail_panel"),
    ("step_flight", "rail_panel", "rail_panel"),
)
#: Tables without which no ramp can be built, and what they hold.
NEEDED: Final = (
    ("leg", "leg"),
    ("low_support", "low support"),
    ("section", "section"),
    ("transition_plate", "transition plate"),
    ("threshold_plate", "threshold plate"),
    ("rail_post", "rail post"),
    ("rail_end", "rail end"),
)


def catalogue_faults(file: TomlFile, unit: str) -> list[Fault]:
    """Every fault between entries; ``unit`` is that of bare lengths."""
    if not any(True for _ in _tables(file)):
        return [file.fault((), "the catalogue is empty.", "Add sections, landings, legs and the rest.")]
    return [
        *_repeated_ids(file),
        *_references(file),
        *_missing_kinds(file),
        *_parallel_runs(file, unit),
        *_half_turns(file, unit),
        *_frame_depths(file, unit),
        *_stock(file),
    ]


def _tables(
    file: TomlFile, groups: tuple[str, ...] = PART_TABLES
) -> Iterator[tuple[KeyPath, Mapping[str, object]]]:
    """Every table of ``groups`` with its key path, group by group."""
    for group in groups:
        tables = file.values.get(group)
        if isinstance(tables, list):
            for index, table in enumerate(tables):
                if isinstance(table, Mapping):
                    yield (group, index), table


def _places(file: TomlFile, groups: tuple[str, ...] = PART_TABLES) -> dict[str, KeyPath]:
    """Key path of each part by its id (the first, when an id is repeated)."""
    places: dict[str, KeyPath] = {}
    for keys, table in _tables(file, groups):
        part_id = table.get("id")
        if isinstance(part_id, str):
            places.setdefault(part_id, keys)
    return places


def _repeated_ids(file: TomlFile) -> Iterator[Fault]:
    groups = (*PART_TABLES, FASTENER_TABLE)
    places = _places(file, groups)
    for keys, table in _tables(file, groups):
        part_id = table.get("id")
        if isinstance(part_id, str) and places[part_id] != keys:
            first = file.line((*places[part_id], "id"))
            yield file.fault(
                (*keys, "id"),
                f'{keys[0]} "{part_id}": the id is already that of the {places[part_id][0]} in line {first}.',
                "Give every part and fastener its own id.",
            )


def _references(file: TomlFile) -> Iterator[Fault]:
    places = _places(file)
    for group, key, wanted in REFERENCES:
        known = [part_id for part_id, keys in places.items() if keys[0] == wanted]
        for keys, table in _tables(file):
            if keys[0] != group:
                continue
            named = table.get(key)
            words = named if isinstance(named, list) else [named]
            for word in words:
                if not isinstance(word, str) or word in known:
                    continue
                is_a = (
                    f"a {places[word][0]}, not a {wanted}"
                    if word in places
                    else f"no {wanted} of this catalogue"
                )
                yield file.fault(
                    (*keys, key),
                    f"{subject_of(file, keys)}{key} refers to {shown_value(word)}, which is {is_a}.",
                    nearest_remedy(word, known) if known else f"Add a [[{wanted}]] with that id.",
                )


def _missing_kinds(file: TomlFile) -> Iterator[Fault]:
    present = {keys[0] for keys, _ in _tables(file)}
    for group, words in NEEDED:
        if group not in present:
            yield file.fault((), f"the catalogue has no {words}.", f"Add a [[{group}]].")
    landings = [table.get("uses") for keys, table in _tables(file) if keys[0] == "landing"]
    if not any(isinstance(uses, list) and "door" in uses for uses in landings):
        yield file.fault(
            (), "the catalogue has no landing for a door.", 'Add a [[landing]] with "door" in its uses.'
        )
    sections = [table.get("low_supports") for keys, table in _tables(file) if keys[0] == "section"]
    if sections and not any(sections):
        yield file.fault(
            ("section", 0),
            "no section may stand on a low support, so no ramp can come down to the ground.",
            "Name low_supports in at least one section.",
        )


def _piece_gap_m(file: TomlFile, unit: str) -> float | None:
    """The free width between parallel pieces; ``None`` when it has a fault of its own."""
    typed = file.values.get("piece_gap")
    if not isinstance(typed, (str, int, float)):
        return None
    try:
        return parse_length(typed, unit, "")
    except InputError:
        return None


def _in_unit(length_m: float, unit: str) -> str:
    return f"{length_m / float(dict(METRES_PER_UNIT)[unit]):.6g} {unit}"


def _parallel_runs(file: TomlFile, unit: str) -> Iterator[Fault]:
    """Feet at the joints of two parallel runs, ``piece_gap`` apart, must not collide."""
    gap_m = _piece_gap_m(file, unit)
    if gap_m is None:
        return
    places = _places(file)
    at_joints = set(_named_by_sections(file))
    for keys, table in _tables(file):
        if keys[0] not in ("leg", "low_support") or table.get("id") not in at_joints:
            continue
        entry = sound_entry(file, keys, LegEntry if keys[0] == "leg" else LowSupportEntry, unit)
        foot_keys = None if entry is None else places.get(entry.foot)
        foot = None if foot_keys is None else sound_entry(file, foot_keys, FootEntry, unit)
        if entry is None or foot is None:
            continue
        reach_m = max(0.0, entry.lateral_offset + foot.plate / 2.0)
        if gap_m < 2.0 * reach_m - TOLERANCE_M:
            yield file.fault(
                (*keys, "lateral_offset"),
                f"{subject_of(file, keys)}its foot reaches {_in_unit(reach_m, unit)} beyond the section's "
                f"edge, so feet of parallel runs collide at a piece_gap of {_in_unit(gap_m, unit)}.",
                f"Give a piece_gap of at least {_in_unit(2.0 * reach_m, unit)}, or a smaller lateral_offset.",
            )


def _named_by_sections(file: TomlFile) -> Iterator[str]:
    """Ids of the legs and low supports that sections refer to."""
    for keys, table in _tables(file):
        for key in ("legs", "low_supports") if keys[0] == "section" else ():
            named = table.get(key)
            if isinstance(named, list):
                yield from (word for word in named if isinstance(word, str))


def _half_turns(file: TomlFile, unit: str) -> Iterator[Fault]:
    """A half turn must hold two lanes of the narrowest section and the gap between them."""
    gap_m = _piece_gap_m(file, unit)
    sections = [
        section
        for keys, _ in _tables(file)
        if keys[0] == "section" and (section := sound_entry(file, keys, SectionEntry, unit)) is not None
    ]
    if gap_m is None or not sections:
        return
    least_m = 2.0 * min(section.overall_width for section in sections) + gap_m
    for keys, _ in _tables(file):
        landing = sound_entry(file, keys, LandingEntry, unit) if keys[0] == "landing" else None
        if landing is not None and "half" in landing.uses and landing.width < least_m - TOLERANCE_M:
            yield file.fault(
                (*keys, "width"),
                f"{subject_of(file, keys)}a width of {_in_unit(landing.width, unit)} does not hold two "
                f"sections and the piece_gap, {_in_unit(least_m, unit)} together.",
                'Make it wider, or take "half" out of its uses.',
            )


def _frame_depths(file: TomlFile, unit: str) -> Iterator[Fault]:
    """Sections of one overall width bolt to each other, so their frames must be equally deep."""
    first: dict[int, SectionEntry] = {}
    for keys, _ in _tables(file):
        section = sound_entry(file, keys, SectionEntry, unit) if keys[0] == "section" else None
        if section is None:
            continue
        other = first.setdefault(round(section.overall_width / TOLERANCE_M), section)
        if abs(other.frame_depth - section.frame_depth) > TOLERANCE_M:
            yield file.fault(
                (*keys, "frame_depth"),
                f"{subject_of(file, keys)}a frame depth of {_in_unit(section.frame_depth, unit)} does not "
                f'meet the {_in_unit(other.frame_depth, unit)} of "{other.id}", which is as wide.',
                "Give sections of one overall width one frame depth.",
            )


def _stock(file: TomlFile) -> Iterator[Fault]:
    stock = file.values.get("stock")
    if not isinstance(stock, Mapping):
        return
    places = _places(file)
    fasteners = _places(file, (FASTENER_TABLE,))
    for part_id in stock:
        if part_id in places:
            continue
        if part_id in fasteners:
            yield file.fault(
                ("stock", part_id),
                f'stock: "{part_id}" is a fastener, and fasteners are counted, not limited.',
                "Take it out of the stock.",
            )
        else:
            yield file.fault(
                ("stock", part_id),
                f'stock: "{part_id}" is no part of this catalogue.',
                nearest_remedy(part_id, tuple(places)),
            )
