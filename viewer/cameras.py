"""Where to look from, and where the light comes from."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from viewer.solids import MeshGroup, NamedMesh

Vector = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Camera:
    """Eye and target (3,) in metres, vertical opening in degrees."""

    eye_m: Vector
    target_m: Vector
    opening_deg: float


@dataclass(frozen=True, slots=True)
class Frame:
    """Part of the picture that the subject must fill: shares of width and height, from bottom left."""

    left: float
    right: float
    bottom: float
    top: float


def fit_distance(
    points_m: Vector, direction: Vector, opening_deg: float, aspect: float, frame: Frame
) -> Camera:
    """Camera that looks along ``direction`` (3,) from where every point (n, 3) just fills ``frame``.

    ``aspect``: width over height of the picture.
    """
    ahead, right, up = _build_axes(direction)
    tall = math.tan(math.radians(opening_deg) / 2.0)
    wide = tall * aspect
    reach = 50.0
    eye = points_m.mean(axis=0) - reach * ahead
    for _ in range(40):
        x, y = _project(points_m, eye, (ahead, right, up), wide, tall)
        off_x, off_y, grow = _measure_fill(x, y, frame)
        reach = float(np.median((points_m - eye) @ ahead))
        nearest = float(((points_m - eye) @ ahead).min())
        eye = eye + right * off_x * reach * wide + up * off_y * reach * tall
        # Never so near that a point comes behind the eye.
        eye = eye - ahead * max((grow - 1.0) * reach, 0.6 - nearest) * 0.7
    return Camera(eye, eye + ahead * reach, opening_deg)


def fit_opening(points_m: Vector, eye_m: Vector, aspect: float, frame: Frame) -> Camera:
    """Camera at ``eye_m`` (3,) that turns and opens until every point (n, 3) just fills ``frame``."""
    ahead = points_m.mean(axis=0) - eye_m
    tall = math.tan(math.radians(20.0))
    for _ in range(40):
        ahead, right, up = _build_axes(ahead)
        x, y = _project(points_m, eye_m, (ahead, right, up), tall * aspect, tall)
        off_x, off_y, grow = _measure_fill(x, y, frame)
        ahead = ahead + right * off_x * tall * aspect + up * off_y * tall
        tall = min(tall * (1.0 + 0.7 * (grow - 1.0)), WIDEST_HALF_TANGENT)
    ahead, _, _ = _build_axes(ahead)
    reach = float(np.median((points_m - eye_m) @ ahead))
    return Camera(eye_m, eye_m + ahead * reach, math.degrees(2.0 * math.atan(tall)))


def _build_axes(direction: Vector) -> tuple[Vector, Vector, Vector]:
    """Unit vectors ahead, right and up of a camera that holds its horizon level."""
    ahead = direction / np.linalg.norm(direction)
    right = np.cross(ahead, [0.0, 0.0, 1.0])
    right = right / np.linalg.norm(right)
    return ahead, right, np.cross(right, ahead)


def _project(
    points_m: Vector, eye_m: Vector, axes: tuple[Vector, Vector, Vector], wide: float, tall: float
) -> tuple[Vector, Vector]:
    """Places in the picture, -1 to 1 across and up, of points in front of the eye."""
    ahead, right, up = axes
    seen = points_m - eye_m
    depth = np.maximum(seen @ ahead, 0.05)
    return (seen @ right) / (depth * wide), (seen @ up) / (depth * tall)


def _measure_fill(x: Vector, y: Vector, frame: Frame) -> tuple[float, float, float]:
    """How far the subject's middle is off the frame's, and how many times it is too large."""
    off_x = float(x.max() + x.min()) / 2.0 - (frame.left + frame.right - 1.0)
    off_y = float(y.max() + y.min()) / 2.0 - (frame.bottom + frame.top - 1.0)
    grow_x = float(x.max() - x.min()) / 2.0 / (frame.right - frame.left)
    grow_y = float(y.max() - y.min()) / 2.0 / (frame.top - frame.bottom)
    return off_x, off_y, max(grow_x, grow_y)


def project_points(points_m: Vector, camera: Camera, size_px: tuple[int, int]) -> Vector:
    """Pixel places (n, 2), from the top left, of points (n, 3)."""
    tall = math.tan(math.radians(camera.opening_deg) / 2.0)
    axes = _build_axes(camera.target_m - camera.eye_m)
    x, y = _project(points_m, camera.eye_m, axes, tall * size_px[0] / size_px[1], tall)
    return np.column_stack([(x + 1.0) / 2.0 * size_px[0], (1.0 - y) / 2.0 * size_px[1]])


def list_ramp_points(meshes: tuple[NamedMesh, ...]) -> Vector:
    """Vertices (n, 3) of what the picture is about: the ramp and the doors."""
    shown: tuple[MeshGroup, ...] = ("deck", "landing", "plate", "leg", "rail", "pad", "door")
    return np.concatenate([mesh.vertices for mesh in meshes if mesh.group in shown])


#: Eye height of a person standing in the street, metres.
EYE_HEIGHT_M: Final = 1.6
OVERVIEW_OPENING_DEG: Final = 24.0
#: Half the vertical opening of the widest lens, as a tangent (about 64 degrees).
WIDEST_HALF_TANGENT: Final = 0.62
_OVERVIEW_DOWN_DEG: Final = 30.0
#: Turns of the overview and the street view from the ones liked best, tried in this order.
_OVERVIEW_TURNS_DEG: Final = (33.0, 18.0, 48.0, -25.0, -45.0)
_STREET_TURNS_DEG: Final = (0.0, 16.0, -16.0, 32.0, -32.0)
_STREET_BACK_M: Final = 5.5


@dataclass(frozen=True, slots=True)
class Subject:
    """What the cameras are chosen for.

    ``points_m`` (n, 3) must be seen; ``outward`` (2,) leads from the house into the yard;
    ``door_m`` and ``tip_m`` (3,) are the two ends of the way.
    """

    points_m: Vector
    outward: Vector
    door_m: Vector
    tip_m: Vector

    @property
    def side(self) -> float:
        """1 when the ramp lands to the right looking out of the door, else -1."""
        right = np.array([self.outward[1], -self.outward[0]])
        return 1.0 if float((self.tip_m[:2] - self.door_m[:2]) @ right) >= 0.0 else -1.0


def list_overviews(subject: Subject, aspect: float, frame: Frame) -> tuple[Camera, ...]:
    """Three-quarter views from above and in front of the house, the one liked best first:
    from the side where the ramp lands.
    """
    down = math.radians(_OVERVIEW_DOWN_DEG)
    cameras = []
    for turn_deg in _OVERVIEW_TURNS_DEG:
        towards = _turn(subject.outward, -subject.side * turn_deg)
        direction = np.array([*(-math.cos(down) * towards), -math.sin(down)])
        cameras.append(fit_distance(subject.points_m, direction, OVERVIEW_OPENING_DEG, aspect, frame))
    return tuple(cameras)


def list_street_spots(subject: Subject) -> Vector:
    """Where a person may stand (n, 2) who comes up to the house: beyond the tip, facing the door."""
    way = subject.tip_m[:2] - subject.door_m[:2]
    straight = way / max(float(np.linalg.norm(way)), 1e-9) + 1.3 * subject.outward
    straight /= np.linalg.norm(straight)
    middle = subject.points_m[:, :2].mean(axis=0)
    spots = []
    for turn_deg in _STREET_TURNS_DEG:
        towards = _turn(straight, turn_deg)
        # Beyond every part of the ramp, however it turns.
        furthest = float((subject.points_m[:, :2] @ towards).max())
        spots.append(middle + (furthest - float(middle @ towards) + _STREET_BACK_M) * towards)
    return np.array(spots)


def list_street_views(subject: Subject, ground_m: Vector, aspect: float, frame: Frame) -> tuple[Camera, ...]:
    """What that person sees from each spot, the one liked best first; ``ground_m`` (n,): elevation of
    the ground under each spot.
    """
    eyes = np.column_stack([list_street_spots(subject), ground_m + EYE_HEIGHT_M])
    return tuple(fit_opening(subject.points_m, eye, aspect, frame) for eye in eyes)


def choose_clearest(cameras: tuple[Camera, ...], seen_m: Vector, triangles: Vector) -> Camera:
    """The camera from which least of ``seen_m`` (n, 3) is hidden behind ``triangles`` (t, 3, 3).

    Each further camera must show 2 % more of the points than the one before to be preferred.
    """
    hidden = [measure_hidden(camera.eye_m, seen_m, triangles) + 0.02 * n for n, camera in enumerate(cameras)]
    return cameras[int(np.argmin(hidden))]


def measure_hidden(eye_m: Vector, seen_m: Vector, triangles: Vector) -> float:
    """Share of points (n, 3) whose line to the eye (3,) passes through a triangle (t, 3, 3)."""
    if len(triangles) == 0:
        return 0.0
    corner = triangles[:, 0] - eye_m
    first, second = triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0]
    normals = np.cross(first, second)
    size = np.maximum((normals * normals).sum(axis=1), 1e-18)
    rays = seen_m - eye_m
    across = rays @ normals.T
    with np.errstate(divide="ignore", invalid="ignore"):
        at = (normals * corner).sum(axis=1) / across
        # Where a line meets each plane, in shares u, v of the triangle's two edges:
        # u = ((at ray - corner) x second) . normal / size, by the box product's turns.
        u = (
            at * (rays @ np.cross(second, normals).T) - (corner * np.cross(second, normals)).sum(axis=1)
        ) / size
        v = (
            at * (rays @ np.cross(normals, first).T) - (corner * np.cross(normals, first)).sum(axis=1)
        ) / size
        hit = (at > 0.0) & (at < 0.999) & (u >= 0.0) & (v >= 0.0) & (u + v <= 1.0)
    return float(hit.any(axis=1).mean())


@dataclass(frozen=True, slots=True)
class Light:
    """Directions (3,) in which the two lights shine: a warm key light, a cool weak fill."""

    key: Vector
    fill: Vector


def choose_light(subject: Subject) -> Light:
    """Both from in front of the house; the key from the side away from the overview's eye."""
    aside = subject.side * np.array([subject.outward[1], -subject.outward[0]])
    key = np.array([*(-0.8 * subject.outward + 0.62 * aside), -1.3])
    fill = np.array([*(-0.35 * subject.outward - 1.0 * aside), -0.5])
    return Light(key, fill)


def _turn(vector: Vector, angle_deg: float) -> Vector:
    """A level vector (2,) turned counter-clockwise seen from above."""
    c, s = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    return np.array([c * vector[0] - s * vector[1], s * vector[0] + c * vector[1]])
