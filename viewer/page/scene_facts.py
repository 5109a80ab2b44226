"""What the script of the page reads: words, colours, and of each way its parts, cards, labels and eyes.

JSON whose keys are those that ``source/*.js`` names; metres, site frame less the middle of all shapes.
"""

from __future__ import annotations

import json
import math
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimizer.brief.site import Site
from optimizer.fit_words import show_leg_height
from optimizer.plan import Candidate
from viewer.facts import build_words, find_start
from viewer.house_meshes import DOOR_HEIGHT_M
from viewer.look import BACKGROUND_TOP, FINISHES, INK, PICKED, mix_colours
from viewer.page.eyes import find_eyes
from viewer.page.key_figures import KeyFigures
from viewer.page.part_cards import PartCard, find_card_id, list_cards
from viewer.page.shapes import PackedShapes
from viewer.page.words import Words
from viewer.solids import MeshGroup, NamedMesh

_FLAT: Final[frozenset[MeshGroup]] = frozenset(
    ("contour", "contour_index", "walking_line", "zone", "lot", "arrival", "shadow")
)
#: Loose panels, seen from both sides.
_THIN: Final[frozenset[MeshGroup]] = frozenset((*_FLAT, "house", "house_cut", "step"))
#: Rails have many thin bars: a strong line on each would turn them into a dark mesh.
_RAIL_INK: Final = 0.36
_INK: Final = 0.6


def format_facts(
    words: tuple[Words, ...],
    shapes: PackedShapes,
    ways: tuple[tuple[Site, Candidate, tuple[NamedMesh, ...], KeyFigures], ...],
    north_deg: float | None,
) -> str:
    """The JSON text, safe inside a script element: no ``<`` is left in it."""
    middle = np.array(shapes.middle_m)
    facts = {
        "words": {one.language: dict(one.texts) for one in words},
        "shapes": {
            "points": shapes.points,
            "corners": shapes.corners,
            "step": shapes.step_m,
            "low": shapes.low_m,
        },
        "meshes": [
            {
                "group": mesh.group,
                "pointsAt": mesh.points_at,
                "points": mesh.points,
                "cornersAt": mesh.corners_at,
                "triangles": mesh.triangles,
            }
            for mesh in shapes.meshes
        ],
        "finishes": {group: _tell_finish(group) for group in FINISHES},
        "background": BACKGROUND_TOP,
        "around": mix_colours(FINISHES["ground"].colour, BACKGROUND_TOP, 0.6),
        "picked": PICKED,
        "north": math.radians(north_deg or 0.0),
        "ways": [
            _tell_way(site, candidate, meshes, figures, numbers, middle)
            for (site, candidate, meshes, figures), numbers in zip(ways, shapes.numbers, strict=True)
        ],
    }
    text = json.dumps(facts, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    return text.replace("<", "\\u003c")


def _tell_finish(group: MeshGroup) -> dict[str, object]:
    finish = FINISHES[group]
    ink = _RAIL_INK if group == "rail" else _INK
    return {
        "colour": finish.colour,
        "edge": mix_colours(finish.colour, INK, ink) if finish.has_ink else "",
        "flat": group in _FLAT,
        "thin": group in _THIN,
        "ground": group == "ground",
        "slender": group in ("rail", "leg", "foot"),
    }


def _tell_way(
    site: Site,
    candidate: Candidate,
    meshes: tuple[NamedMesh, ...],
    figures: KeyFigures,
    numbers: tuple[int, ...],
    middle: NDArray[np.float64],
) -> dict[str, object]:
    eyes = find_eyes(site, candidate, meshes)
    marks = tuple(mesh.mark for mesh in meshes if mesh.mark is not None)
    cards = list_cards(build_words(site, candidate), candidate, marks)
    return {
        "parts": [
            {"mesh": number, "card": find_card_id(mesh.mark)}
            for number, mesh in zip(numbers, meshes, strict=True)
        ],
        "cards": {card.id: _tell_card(card) for card in cards},
        "labels": _list_labels(site, candidate, figures, middle),
        "subject": [_tell(point - middle) for point in eyes.subject_m],
        "eyes": {
            "allAhead": _tell(eyes.all_ahead),
            "aboveAhead": _tell(eyes.above_ahead),
            "street": _tell(eyes.street),
            "streetHeight": round(eyes.street_height_m - float(middle[2]), 4),
            "door": _tell(eyes.door_m - middle),
            "doorAhead": _tell(eyes.door_ahead),
        },
        "light": _tell(eyes.light),
    }


def _tell_card(card: PartCard) -> dict[str, object]:
    numbers = [[number.label, number.value, number.pattern] for number in card.numbers]
    return {"kind": card.kind, "name": card.name, "numbers": numbers}


def _list_labels(
    site: Site, candidate: Candidate, figures: KeyFigures, middle: NDArray[np.float64]
) -> list[dict[str, object]]:
    """Words over the picture, the most wanted first."""
    start = find_start(site, candidate)
    is_porch = start.kind == "edge"
    above_m = 0.05 if is_porch else DOOR_HEIGHT_M + 0.1
    door = np.array([*(start.midpoint_m + 0.1 * start.outward), start.threshold_m + above_m])
    labels = [_tell_label("label_porch" if is_porch else "label_door", "", door - middle)]
    tip = np.array(candidate.toe.tip_m) + np.array([0.0, 0.0, 0.1])
    labels.append(_tell_label("label_foot", "", tip - middle))
    leg = figures.tallest
    if leg is not None:
        at = np.array([leg.x_m, leg.y_m, leg.frame_elevation_m - 0.4 * leg.height_m])
        labels.append(_tell_label("label_tallest", show_leg_height(site, leg), at - middle))
    for piece in candidate.pieces:
        if piece.kind == "landing" and piece.use != "door":
            at = np.array(piece.corners_m).mean(axis=0) + np.array([0.0, 0.0, 0.05])
            labels.append(_tell_label("label_landing", "", at - middle))
    for obstacle in site.yard.obstacles:
        if obstacle.top_m is not None:
            at = np.array([*obstacle.outline_m.mean(axis=0), obstacle.top_m + 0.05])
            labels.append(_tell_label("", obstacle.name, at - middle))
    return labels


def _tell_label(key: str, text: str, at: NDArray[np.float64]) -> dict[str, object]:
    return {"key": key, "text": text, "at": _tell(at)}


def _tell(point: NDArray[np.float64]) -> list[float]:
    return [round(float(part), 4) for part in point]
