"""Does the model show this candidate: every part of the plan once, under its name, and no other."""

from __future__ import annotations

from dataclasses import dataclass

from optimizer.audit.drawn_model import DrawnModel, DrawnPart, Ring
from optimizer.audit.glb_file import AGAIN
from optimizer.errors import Fault, InputError
from optimizer.plan import Candidate, Piece, Plan, Rail, SupportLeg

#: What a model may hold beside the parts of the plan and the ground.
_ANY = ("ground", "house", "obstacle", "lot", "picture")


@dataclass(frozen=True, slots=True)
class DrawnLeg:
    """A support as planned and as drawn."""

    leg: SupportLeg
    shaft: DrawnPart
    foot: DrawnPart


@dataclass(frozen=True, slots=True)
class Matched:
    """A candidate with the part that shows each of its pieces and legs, in the plan's order."""

    candidate: Candidate
    pieces: tuple[tuple[Piece, DrawnPart], ...]
    legs: tuple[DrawnLeg, ...]
    rails: tuple[tuple[Rail, DrawnPart], ...]
    ground: DrawnPart
    lot_m: Ring
    lot_lines: tuple[DrawnPart, ...]
    houses: tuple[DrawnPart, ...]
    obstacles: tuple[DrawnPart, ...]


@dataclass(frozen=True, slots=True)
class _Wanted:
    node: str
    role: str
    id: str
    kind: str
    catalogue_id: str


def match_model(model: DrawnModel, plan: Plan, number: int | None) -> Matched:
    """Pair the parts; ``number`` counts candidates from 1, ``None`` takes the one the model names.

    Raises InputError naming every node that is missing, renamed, of another part, or too many.
    """
    candidate = _choose_candidate(model, plan, number)
    wanted = _list_wanted(candidate)
    by_node = {part.node: part for part in model.parts}
    faults = [*_find_missing(model, wanted, by_node), *_find_extra(model, wanted)]
    found = len(model.having("ground"))
    if found != 1:
        faults.append(Fault(model.file, f"has {found} nodes of the ground, not one.", AGAIN))
    faults = faults or _count_parts(model)
    if faults:
        raise InputError(*faults)
    by_key = {(part.role, part.id): part for part in model.parts}
    return Matched(
        candidate,
        tuple((piece, by_key["piece", piece.id]) for piece in candidate.pieces),
        tuple(DrawnLeg(leg, by_key["support", leg.id], by_key["foot", leg.id]) for leg in candidate.legs),
        tuple((rail, by_key["rail", rail.id]) for rail in candidate.rails),
        model.having("ground")[0],
        model.lot_m,
        model.having("lot"),
        model.having("house"),
        model.having("obstacle"),
    )


def _count_parts(model: DrawnModel) -> list[Fault]:
    """The plan names no house and no obstacle: that none of them is gone, only their number tells."""
    here = len(model.parts)
    if model.drawn_parts == here:
        return []
    left = [repr(part.node) for part in model.parts if part.role in _ANY]
    what = (
        f"was drawn with {model.drawn_parts} parts and has {here}; every part of the ramp is there, so one "
        f"of the yard is missing or was added. Of the yard it has {', '.join(left)}."
    )
    return [Fault(f"{model.file}: scene", what, AGAIN)]


def _choose_candidate(model: DrawnModel, plan: Plan, number: int | None) -> Candidate:
    if model.site != plan.site.name:
        raise InputError(
            Fault(
                f"{model.file}: scene",
                f"shows the site {model.site!r}; the plan is of {plan.site.name!r}.",
                "Name the model that was drawn from this plan with --as-drawn.",
            )
        )
    if number is not None and not 1 <= number <= len(plan.candidates):
        has = f"The plan has 1 to {len(plan.candidates)}." if plan.candidates else "The plan has no layout."
        raise InputError(Fault("--candidate", f"{number} is not a candidate.", has))
    chosen = plan.candidates if number is None else plan.candidates[number - 1 : number]
    for candidate in chosen:
        if candidate.name == model.candidate:
            return candidate
    names = ", ".join(repr(candidate.name) for candidate in chosen) or "none"
    raise InputError(
        Fault(
            f"{model.file}: scene",
            f"shows {model.candidate!r}; looked for in the plan: {names}.",
            "Name the model that was drawn from this plan, or leave --candidate out.",
        )
    )


def _list_wanted(candidate: Candidate) -> tuple[_Wanted, ...]:
    """Nodes by the names that a plan's parts have in a model."""
    wanted = [
        _Wanted(
            f"{piece.kind.replace('_', ' ')} {piece.id}", "piece", piece.id, piece.kind, piece.catalogue_id
        )
        for piece in candidate.pieces
    ]
    for leg in candidate.legs:
        word = leg.kind.replace("_", " ")
        wanted.append(_Wanted(f"{word} {leg.id} ({leg.leg_type})", "support", leg.id, leg.kind, leg.leg_type))
        wanted.append(_Wanted(f"foot {leg.id} ({leg.foot})", "foot", leg.id, "foot", leg.foot))
        if leg.brace is not None:
            wanted.append(_Wanted(f"brace {leg.id} ({leg.brace})", "brace", leg.id, "brace", leg.brace))
    for rail in candidate.rails:
        node = f"rail {rail.id} ({rail.kind})"
        wanted.append(_Wanted(node, "rail", rail.id, rail.kind, rail.catalogue_id))
    return tuple(wanted)


def _find_missing(
    model: DrawnModel, wanted: tuple[_Wanted, ...], by_node: dict[str, DrawnPart]
) -> list[Fault]:
    faults = []
    for one in wanted:
        part = by_node.get(one.node)
        if part is None:
            faults.append(Fault(model.file, f"has no node {one.node!r}, which the plan has.", AGAIN))
            continue
        for word, drawn, stated in (
            ("role", part.role, one.role),
            ("id", part.id, one.id),
            ("kind", part.kind, one.kind),
            ("part", part.catalogue_id, one.catalogue_id),
        ):
            if drawn != stated:
                what = f"its {word} is {drawn!r}, in the plan {stated!r}."
                faults.append(Fault(f"{model.file}: node {one.node!r}", what, AGAIN))
        if one.role == "piece" and part.walking == 0:
            faults.append(Fault(f"{model.file}: node {one.node!r}", "no walking face is marked.", AGAIN))
    return faults


def _find_extra(model: DrawnModel, wanted: tuple[_Wanted, ...]) -> list[Fault]:
    nodes = {one.node for one in wanted}
    return [
        Fault(
            f"{model.file}: node {part.node!r}",
            f"is not in the plan (role {part.role!r}, id {part.id!r}).",
            "Take it out of the model, or name the model that was drawn from this plan.",
        )
        for part in model.parts
        if part.node not in nodes and part.role not in _ANY
    ]
