"""A layout typed by hand: ``LAYOUT.toml``, the same choices the search makes."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TypeVar

from optimizer.brief.read_site import read_site
from optimizer.brief.site import Site
from optimizer.catalogue.parts import Part
from optimizer.errors import Fault, InputError
from optimizer.layout.landing_edges import check_offset
from optimizer.layout.layout_entries import EdgeWord, LayoutFile, TurnEntry
from optimizer.layout.spec import LayoutSpec, RunSpec, TurnSpec
from optimizer.toml_file import KeyPath, TomlFile, read_toml
from optimizer.toml_model import check_model, format_schema, in_file_order, nearest_remedy

P = TypeVar("P", bound=Part)


def read_layout(path: Path) -> tuple[LayoutSpec, Site]:
    """Read a typed layout and the site it stands on, its names and places made definite there.

    Raises InputError with every fault of the file, each with line, value and remedy; names and
    places are looked at once the file and its site are sound.
    """
    file = read_toml(path)
    found = check_model(file, LayoutFile, str(file.values.get("unit")) if "unit" in file.values else None)
    if len(found.turn) != len(found.run) - 1:
        raise InputError(
            file.fault(
                ("turn",),
                f"{len(found.turn)} turns for {len(found.run)} runs.",
                "Give one [[turn]] between every two runs.",
            )
        )
    place = path.parent / found.site
    if not place.exists():
        raise InputError(
            Fault(file.where(("site",)), f'site = "{found.site}" is not there.', "Name the site's folder.")
        )
    site = read_site(place)
    return _Reader(file, found, site).read(), site


def measure_offset(place: float | EdgeWord, edge_m: float, width_m: float) -> float:
    """Metres to the right of the edge's middle at which a run of ``width_m`` has its own middle."""
    match place:
        case "left":
            return -(edge_m - width_m) / 2.0
        case "centre":
            return 0.0
        case "right":
            return (edge_m - width_m) / 2.0
        case _:
            return place


class _Reader:
    """Turns the file's names and words into a layout on its site, keeping every fault; used once."""

    def __init__(self, file: TomlFile, found: LayoutFile, site: Site) -> None:
        self.file = file
        self.found = found
        self.site = site
        self.faults: list[Fault] = []

    def read(self) -> LayoutSpec:
        """The layout; raises InputError with all faults in file order."""
        found, catalogue = self.found, self.site.catalogue
        self._find_start()
        widths_m: list[float] = []
        for n, run in enumerate(found.run):
            for k, name in enumerate(run.sections):
                section = self._find(("run", n, "sections", k), name, catalogue.sections, "section")
                widths_m += [] if section is None else [section.overall_width_m]
        self._find(("plate",), found.plate, catalogue.transition_plates, "transition plate")
        # A ramp is as wide as its first section; without any known section no edge can be judged.
        width_m = widths_m[0] if widths_m else 0.0
        attach_m = self._read_attach(width_m)
        turns = tuple(self._read_turn(n, turn, width_m) for n, turn in enumerate(found.turn))
        if self.faults:
            raise InputError(*in_file_order(self.file, self.faults))
        return LayoutSpec(
            start=found.start,
            slide_m=found.slide,
            door_landing=found.door_landing,
            exit=found.exit,
            attach_m=attach_m,
            runs=tuple(RunSpec(run.sections, run.slope) for run in found.run),
            turns=turns,
            plate=found.plate,
            supports=None,
        )

    def _read_attach(self, width_m: float) -> float:
        name = self.found.door_landing
        if name is None:
            if "attach" in self.found.model_fields_set:
                self.faults.append(
                    self.file.fault(
                        ("attach",),
                        "attach is given, but the layout has no door_landing to fix the run to.",
                        "Name the door_landing, or move the run along the existing edge with slide.",
                    )
                )
            return 0.0
        landing = self._find(("door_landing",), name, self.site.catalogue.landings, "landing")
        if landing is None:
            return 0.0
        edge_m = landing.width_m if self.found.exit == "front" else landing.length_m
        return self._place(("attach",), self.found.attach, edge_m, width_m)

    def _read_turn(self, number: int, turn: TurnEntry, width_m: float) -> TurnSpec:
        keys: KeyPath = ("turn", number)
        landing = self._find((*keys, "landing"), turn.landing, self.site.catalogue.landings, "landing")
        if landing is None or turn.kind in ("half_left", "half_right"):
            return TurnSpec(turn.kind, turn.landing, 0.0, 0.0)
        leaving_edge_m = landing.width_m if turn.kind == "straight" else landing.length_m
        return TurnSpec(
            turn.kind,
            turn.landing,
            self._place((*keys, "arrive"), turn.arrive, landing.width_m, width_m),
            self._place((*keys, "leave"), turn.leave, leaving_edge_m, width_m),
        )

    def _place(self, keys: KeyPath, place: float | EdgeWord, edge_m: float, width_m: float) -> float:
        offset_m = measure_offset(place, edge_m, width_m)
        try:
            check_offset(self.file.where(keys), offset_m, edge_m, width_m)
        except InputError as error:
            self.faults += error.faults
        return offset_m

    def _find_start(self) -> None:
        names = tuple(start.name for start in self.site.yard.starts)
        if self.found.start not in names:
            self.faults.append(
                self.file.fault(
                    ("start",),
                    f'start = "{self.found.start}" is not a start of {self.site.name}.',
                    nearest_remedy(self.found.start, names),
                )
            )

    def _find(self, keys: KeyPath, name: str, parts: Sequence[P], kind: str) -> P | None:
        """The part of that id, or ``None`` with a fault noted."""
        for part in parts:
            if part.id == name:
                return part
        self.faults.append(
            self.file.fault(
                keys,
                f'"{name}" is no {kind} of the catalogue {self.site.catalogue.id!r}.',
                nearest_remedy(name, tuple(part.id for part in parts)),
            )
        )
        return None


def layout_schema() -> str:
    """The JSON Schema of a layout file, as text."""
    return format_schema(LayoutFile)
