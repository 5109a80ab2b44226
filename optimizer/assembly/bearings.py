"""What every place of a piece rests on once the ramp stands, read from the plan's own stations."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from optimizer.errors import Fault, InputError
from optimizer.plan import Candidate, Piece, SupportLeg

Place = Literal["upper end", "lower end", "middle", "corners"]
Carrier = Literal["house", "ground", "piece", "legs"]

#: Pieces that are walked over, in the order in which the plan lists them: from the door down.
_WALKED: Final = ("landing", "section", "transition_plate")


@dataclass(frozen=True, slots=True)
class Bearing:
    """One place of ``piece`` and what carries it: ``ids`` of pieces or legs, none for house and ground."""

    piece: str
    place: Place
    carrier: Carrier
    ids: tuple[str, ...] = ()


def list_walked(candidate: Candidate) -> tuple[Piece, ...]:
    """Landings, sections and plate from the door down."""
    return tuple(piece for piece in candidate.pieces if piece.kind in _WALKED)


def list_bearings(candidate: Candidate) -> tuple[Bearing, ...]:
    """Every bearing from the door down; that of steps after that of the landing they hang on.

    Raises ``InputError`` naming each place of a piece that nothing carries.
    """
    walked = list_walked(candidate)
    found: list[Bearing] = []
    faults: list[Fault] = []
    for i, piece in enumerate(walked):
        above = walked[i - 1] if i else None
        below = walked[i + 1] if i + 1 < len(walked) else None
        for bearing in _list_of_piece(candidate, piece, above, below):
            found.append(bearing)
            if not bearing.ids and bearing.carrier in ("piece", "legs"):
                remedy = "Make the plan again: every end needs legs or a piece to lie on."
                faults.append(Fault(piece.id, f"nothing carries its {bearing.place}.", remedy))
    for flight in candidate.pieces:
        if flight.kind == "steps":
            found += [
                Bearing(flight.id, "upper end", "piece", (find_landing_of(candidate, flight).id,)),
                Bearing(flight.id, "lower end", "ground"),
            ]
    if faults:
        raise InputError(*faults)
    return tuple(found)


def list_legs_under(candidate: Candidate, piece: str, station: str) -> tuple[SupportLeg, ...]:
    """Legs of a piece whose station begins with ``station`` (all: an empty one)."""
    return tuple(leg for leg in candidate.legs if leg.piece == piece and leg.station.startswith(station))


def find_landing_of(candidate: Candidate, flight: Piece) -> Piece:
    """The landing whose outline lies nearest to the upper edge of a flight of steps.

    Raises ``InputError`` for steps in a plan without landings.
    """
    landings = [piece for piece in candidate.pieces if piece.kind == "landing"]
    if not landings:
        raise InputError(Fault(flight.id, "these steps hang on no landing.", "Make the plan again."))
    (x0, y0, _), (x1, y1, _) = flight.corners_m[0], flight.corners_m[1]
    middle = (0.5 * (x0 + x1), 0.5 * (y0 + y1))
    return min(landings, key=lambda landing: _measure_to_outline(landing, middle))


def _list_of_piece(
    candidate: Candidate, piece: Piece, above: Piece | None, below: Piece | None
) -> tuple[Bearing, ...]:
    if piece.kind == "landing":
        return (Bearing(piece.id, "corners", "legs", _ids(list_legs_under(candidate, piece.id, ""))),)
    upper = _list_upper(candidate, piece, above)
    if piece.kind == "transition_plate":
        return (upper, Bearing(piece.id, "lower end", "ground"))
    own = _ids(list_legs_under(candidate, piece.id, "joint") + list_legs_under(candidate, piece.id, "hinge"))
    middle = _ids(list_legs_under(candidate, piece.id, "mid"))
    on_landing = (below.id,) if below is not None and below.kind == "landing" else ()
    lower = (
        Bearing(piece.id, "lower end", "legs", own)
        if own
        else Bearing(piece.id, "lower end", "piece", on_landing)
    )
    return (upper, *((Bearing(piece.id, "middle", "legs", middle),) if middle else ()), lower)


def _list_upper(candidate: Candidate, piece: Piece, above: Piece | None) -> Bearing:
    """The edge of house or porch, the landing above, or the joint's legs, which carry both sections."""
    if above is None:
        return Bearing(piece.id, "upper end", "house")
    if above.kind == "landing":
        return Bearing(piece.id, "upper end", "piece", (above.id,))
    joint = _ids(
        list_legs_under(candidate, above.id, "joint") + list_legs_under(candidate, above.id, "hinge")
    )
    return Bearing(piece.id, "upper end", "legs", joint)


def _ids(legs: tuple[SupportLeg, ...]) -> tuple[str, ...]:
    return tuple(leg.id for leg in legs)


def _measure_to_outline(landing: Piece, point: tuple[float, float]) -> float:
    corners = landing.corners_m
    return min(
        _measure_to_line(point, start[:2], end[:2])
        for start, end in zip(corners, (*corners[1:], corners[0]), strict=True)
    )


def _measure_to_line(
    point: tuple[float, float], start: tuple[float, float], end: tuple[float, float]
) -> float:
    """Distance in plan, metres."""
    along = (end[0] - start[0], end[1] - start[1])
    away = (point[0] - start[0], point[1] - start[1])
    length2 = along[0] ** 2 + along[1] ** 2
    share = min(1.0, max(0.0, (away[0] * along[0] + away[1] * along[1]) / length2)) if length2 else 0.0
    return float(((away[0] - share * along[0]) ** 2 + (away[1] - share * along[1]) ** 2) ** 0.5)
