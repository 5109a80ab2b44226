"""Where the client looks from: all of it, the street, the door, from above.  Metres, site frame, z up.

The page fits the distance to the screen it finds; here stand the directions and heights.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimizer.brief.site import Site
from optimizer.plan import Candidate
from viewer.cameras import (
    EYE_HEIGHT_M,
    Camera,
    Frame,
    Subject,
    choose_clearest,
    choose_light,
    list_overviews,
    list_ramp_points,
    list_street_spots,
    list_street_views,
)
from viewer.facts import find_start
from viewer.solids import NamedMesh

Vector = NDArray[np.float64]

#: The person in the doorway stands this far out from the sill, so that no door leaf is in the way.
_OUT_OF_DOOR_M: Final = 0.12
_DOOR_DOWN_DEG: Final = 24.0
_DOOR_OPENING_DEG: Final = 68.0
_WALL_ABOVE_SILL_M: Final = 2.2
_FRAME: Final = Frame(0.1, 0.9, 0.1, 0.9)
#: Telephones and desktops lie about between these two shapes.
_ASPECT: Final = 1.2


@dataclass(frozen=True, slots=True)
class Eyes:
    """``subject_m`` (n, 3) must be seen; ``all_ahead``, ``above_ahead``, ``door_ahead`` (3,) are unit vectors
    of sight; ``street`` (2,) leads from the ramp to the person in the street, whose eye is at
    ``street_height_m``; ``door_m`` (3,) is the eye in the doorway; ``light`` (3,) leads to the sun.
    """

    subject_m: Vector
    all_ahead: Vector
    above_ahead: Vector
    street: Vector
    street_height_m: float
    door_m: Vector
    door_ahead: Vector
    light: Vector


def find_eyes(site: Site, candidate: Candidate, meshes: tuple[NamedMesh, ...]) -> Eyes:
    """Directions from which least of the ramp is hidden; ``meshes`` are the candidate's scene."""
    subject = build_subject(site, candidate, meshes)
    walls = np.concatenate(
        [m.vertices[m.faces] for m in meshes if m.group in ("house", "obstacle", "ground", "step")]
    )
    decks = np.concatenate(
        [m.vertices[m.faces[:, 0]] for m in meshes if m.group in ("deck", "landing", "plate")]
    )
    seen = decks[:: max(1, len(decks) // 40)]
    above = choose_clearest(list_overviews(subject, _ASPECT, _FRAME), seen, walls)
    spots = list_street_spots(subject)
    ground_m = site.ground.elevation(spots)
    # Off the survey the person stands at the height of the ramp's foot.
    ground_m = np.where(np.isfinite(ground_m), ground_m, candidate.toe.ground_elevation_m)
    street = choose_clearest(list_street_views(subject, ground_m, _ASPECT, _FRAME), seen, walls)
    towards = street.eye_m[:2] - subject.points_m[:, :2].mean(axis=0)
    door = find_door_camera(site, candidate)
    down = -np.array([0.02 * subject.outward[0], 0.02 * subject.outward[1], 1.0])
    return Eyes(
        thin_points(subject.points_m),
        _unit(above.target_m - above.eye_m),
        _unit(down),
        _unit(towards),
        float(street.eye_m[2]),
        door.eye_m,
        _unit(door.target_m - door.eye_m),
        -_unit(choose_light(subject).key),
    )


def build_subject(site: Site, candidate: Candidate, meshes: tuple[NamedMesh, ...]) -> Subject:
    """Ramp, door and the wall beside it."""
    start = find_start(site, candidate)
    door = np.array([*start.midpoint_m, start.threshold_m])
    along = np.array([start.outward[1], -start.outward[0], 0.0])
    lintel = door + np.array([0.0, 0.0, _WALL_ABOVE_SILL_M])
    points = np.concatenate([list_ramp_points(meshes), [lintel - 1.2 * along, lintel + 1.2 * along]])
    return Subject(points, start.outward, door, np.array(candidate.toe.tip_m))


def find_door_camera(site: Site, candidate: Candidate) -> Camera:
    """What a person in the open door sees who looks along the ramp."""
    start = find_start(site, candidate)
    eye = np.array([*(start.midpoint_m + _OUT_OF_DOOR_M * start.outward), start.threshold_m + EYE_HEIGHT_M])
    decks = np.array([piece.corners_m for piece in candidate.pieces if piece.kind == "section"])
    to_ramp = decks.reshape(-1, 3).mean(axis=0)[:2] - eye[:2]
    # As much out of the door as along the ramp: along the wall alone one would see the wall.
    level = _unit(_unit(to_ramp) + 0.8 * start.outward)
    down = math.radians(_DOOR_DOWN_DEG)
    ahead = np.array([*(math.cos(down) * level), -math.sin(down)])
    return Camera(eye, eye + ahead, _DOOR_OPENING_DEG)


def thin_points(points_m: Vector) -> Vector:
    """Of many points (n, 3) those that reach furthest some way: they fill the same picture."""
    turns = np.linspace(0.0, 2.0 * np.pi, 24, endpoint=False)
    tilts = np.linspace(-0.5 * np.pi, 0.5 * np.pi, 9)
    ways = np.array(
        [
            [math.cos(tilt) * math.cos(turn), math.cos(tilt) * math.sin(turn), math.sin(tilt)]
            for tilt in tilts
            for turn in turns
        ]
    )
    return np.asarray(points_m[np.unique((points_m @ ways.T).argmax(axis=0))])


def _unit(vector: Vector) -> Vector:
    return np.asarray(vector / np.linalg.norm(vector))
