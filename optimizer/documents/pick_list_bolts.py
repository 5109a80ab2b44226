"""Places to bolt and the bolts that go there, counted so that a person can check: 12 places x 4."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from optimizer.assembly.bearings import list_bearings
from optimizer.catalogue.fasteners import ConnectionKind, Fastener
from optimizer.documents.job import DocumentJob
from optimizer.documents.step_words import show_weight
from optimizer.plan import Candidate


@dataclass(frozen=True, slots=True)
class Connection:
    """``count`` places of one kind that are bolted."""

    kind: ConnectionKind
    name: str
    count: int


@dataclass(frozen=True, slots=True)
class BoltLine:
    """``each`` of one fastener at every one of ``places`` places."""

    connection: Connection
    fastener: Fastener

    @property
    def count(self) -> int:
        """Of all places."""
        return self.connection.count * self.fastener.each


@dataclass(frozen=True, slots=True)
class BoltSize:
    """Fasteners of one size and name, wherever they are used; ``weight_kg`` of all, ``None``: not told."""

    size: str
    name: str
    lines: tuple[BoltLine, ...]

    @property
    def count(self) -> int:
        """Over every kind of connection."""
        return sum(line.count for line in self.lines)

    @property
    def weight_kg(self) -> float | None:
        """Not told unless the catalogue tells it for each line."""
        weight_kg = 0.0
        for line in self.lines:
            if line.fastener.weight_kg is None:
                return None
            weight_kg += line.count * line.fastener.weight_kg
        return weight_kg


@dataclass(frozen=True, slots=True)
class BoltSheet:
    """As text.  ``places``: place, count, bolts a place, bolts to load (both empty: to be filled in).

    ``sizes``: count, size, name, working, weight.
    """

    words: str
    places: tuple[tuple[str, str, str, str], ...]
    sizes: tuple[tuple[str, str, str, str, str], ...]
    weight: str


def list_connections(candidate: Candidate) -> tuple[Connection, ...]:
    """Places that are bolted, by kind; a joint's legs carry both sections, which is one joint."""
    bearings = list_bearings(candidate)
    kinds = {piece.id: piece.kind for piece in candidate.pieces}
    on_pieces = [one for one in bearings if one.carrier == "piece" and kinds[one.piece] != "steps"]
    at_house = sum(one.carrier == "house" for one in bearings)
    joints = [one for one in bearings if one.place == "upper end" and one.carrier == "legs"]
    on_legs = sum(kinds[one.piece] == "section" for one in joints)
    hinges = sum(kinds[one.piece] == "transition_plate" for one in joints)
    steps = sum(kind == "steps" for kind in kinds.values())
    brace_ends = 2 * sum(leg.brace is not None for leg in candidate.legs)
    panels = _count_rails(candidate, ("panel", "infill", "inner_loop"))
    found = (
        Connection("landing_edge", "section or plate at the edge of a landing", len(on_pieces)),
        Connection("house", "first section at the house or porch", at_house),
        Connection("section_joint", "section to section, on its legs", on_legs),
        Connection("plate_hinge", "plate at its hinge", hinges),
        Connection("steps", "steps at the edge of a landing", steps),
        Connection("support", "leg or low support to its frame", len(candidate.legs)),
        Connection("brace_end", "end of a brace", brace_ends),
        Connection("rail_panel", "rail panel, infill or loop", panels),
        Connection("rail_post", "rail post", _count_rails(candidate, ("post",))),
        Connection("rail_end", "rail end", _count_rails(candidate, ("end",))),
    )
    return tuple(one for one in found if one.count)


def list_bolts(connections: tuple[Connection, ...], fasteners: tuple[Fastener, ...]) -> tuple[BoltLine, ...]:
    """A line for each fastener that some place of ``connections`` needs, in the order of the places."""
    return tuple(BoltLine(place, one) for place in connections for one in fasteners if one.at == place.kind)


def sum_by_size(lines: tuple[BoltLine, ...]) -> tuple[BoltSize, ...]:
    """Lines of one size and name together, by size as text: a nut is never added to its bolt."""
    keys = sorted({(line.fastener.size, line.fastener.name) for line in lines})
    return tuple(
        BoltSize(
            size, name, tuple(one for one in lines if (one.fastener.size, one.fastener.name) == (size, name))
        )
        for size, name in keys
    )


def build_bolt_sheet(job: DocumentJob) -> BoltSheet:
    """Places, and bolts where the catalogue of the site has them."""
    connections = list_connections(job.candidate)
    lines = list_bolts(connections, job.site.catalogue.fasteners)
    sizes = sum_by_size(lines)
    return BoltSheet(
        words=_introduce(connections, lines),
        places=tuple(row for place in connections for row in _tell_place(place, lines)),
        sizes=tuple(_tell_size(job, one) for one in sizes),
        weight=_tell_weight(job, sizes),
    )


def _count_rails(candidate: Candidate, kinds: tuple[str, ...]) -> int:
    return sum(rail.kind in kinds for rail in candidate.rails)


def _introduce(connections: tuple[Connection, ...], lines: tuple[BoltLine, ...]) -> str:
    spares = "Count a few to spare."
    if not lines:
        return f"Bolts a place: the maker's instructions; the catalogue does not tell. Fill in. {spares}"
    if {place.kind for place in connections} - {line.connection.kind for line in lines}:
        return (
            "Bolts a place: from the catalogue. Blank: the catalogue has none for that place; look in the "
            f"maker's instructions and fill in. {spares}"
        )
    return f"Bolts a place: from the catalogue; the maker's instructions come first. {spares}"


def _tell_place(place: Connection, lines: tuple[BoltLine, ...]) -> Iterator[tuple[str, str, str, str]]:
    needed = [line for line in lines if line.connection == place]
    if not needed:
        yield place.name, str(place.count), "", ""
    for line in needed:
        fastener = line.fastener
        yield (
            place.name,
            str(place.count),
            f"{fastener.each} of {fastener.size}, {fastener.name}",
            f"{_tell_product(line)} = {line.count}",
        )


def _tell_product(line: BoltLine) -> str:
    places = "1 place" if line.connection.count == 1 else f"{line.connection.count} places"
    return f"{places} x {line.fastener.each}"


def _tell_size(job: DocumentJob, size: BoltSize) -> tuple[str, str, str, str, str]:
    working = " + ".join(_tell_product(line) for line in size.lines)
    weight = "" if size.weight_kg is None else show_weight(job, size.weight_kg, "tenths")
    return str(size.count), size.size, size.name, working, weight


def _tell_weight(job: DocumentJob, sizes: tuple[BoltSize, ...]) -> str:
    told = [one.weight_kg for one in sizes if one.weight_kg is not None]
    if not told:
        return ""
    missing = "" if len(told) == len(sizes) else ", without those of which the catalogue tells no weight"
    return f"Together {show_weight(job, sum(told), 'tenths')}{missing}; not in the weights above."
