"""One candidate ready to be drawn: its meshes, its cameras, and the drawing without words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, Literal

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from optimizer.brief.site import Site
from optimizer.errors import InternalError
from optimizer.plan import Candidate
from viewer.cameras import (
    Camera,
    Frame,
    Subject,
    choose_clearest,
    choose_light,
    list_overviews,
    list_ramp_points,
    list_street_spots,
    list_street_views,
    project_points,
)
from viewer.facts import find_start
from viewer.figure import build_figure, list_figure_places
from viewer.house_meshes import CUT_ABOVE_SILL_M
from viewer.meshes import draw_scene
from viewer.shadows import draw_shadows
from viewer.solids import NamedMesh

if TYPE_CHECKING:
    from vtkmodules.vtkRenderingCore import vtkRenderWindow

View = Literal["overview", "street"]
VIEWS: Final[tuple[View, ...]] = ("overview", "street")
#: Drawn this many times as large and scaled down: smooth edges on every driver.
_OVERSAMPLE: Final = 2
_INK_PX: Final = 1.1 * _OVERSAMPLE
#: A point this little behind what is drawn there still counts as seen: a tube's own thickness.
SIGHT_SLACK_M: Final = 0.09
#: Part of the drawing that ramp and doors fill; the rest is for labels and surroundings.
_FRAMES: Final[dict[View, Frame]] = {
    "overview": Frame(0.13, 0.87, 0.11, 0.90),
    "street": Frame(0.11, 0.89, 0.15, 0.84),
}


@dataclass(frozen=True, slots=True)
class Scene:
    """Meshes of one candidate, where to look at them from, and where the figure may stand (n, 3)."""

    meshes: tuple[NamedMesh, ...]
    subject: Subject
    figure_places_m: NDArray[np.float64]
    street_ground_m: NDArray[np.float64]


def build_scene(site: Site, candidate: Candidate) -> Scene:
    """Meshes with the ramp's shadow, and the subject of the cameras."""
    start = find_start(site, candidate)
    meshes = draw_scene(site, candidate)
    door = np.array([*start.midpoint_m, start.threshold_m])
    along = np.array([start.outward[1], -start.outward[0], 0.0])
    # The house is to be seen up to where it is cut, on both sides of the door.
    lintel = door + np.array([0.0, 0.0, CUT_ABOVE_SILL_M])
    points = np.concatenate([list_ramp_points(meshes), [lintel - 1.2 * along, lintel + 1.2 * along]])
    subject = Subject(points, start.outward, door, np.array(candidate.toe.tip_m))
    shadow = draw_shadows(site, candidate, choose_light(subject).key)
    ground_m = site.ground.elevation(list_street_spots(subject))
    # Off the survey the person stands at the height of the ramp's foot.
    street_m = np.where(np.isfinite(ground_m), ground_m, candidate.toe.ground_elevation_m)
    shown = (*meshes, shadow) if len(shadow.faces) else meshes
    return Scene(shown, subject, list_figure_places(site, candidate), street_m)


def choose_camera(scene: Scene, view: View, size: tuple[int, int]) -> Camera:
    """The camera of one view for a drawing of ``size`` pixels: the first that is not much hidden."""
    aspect = size[0] / size[1]
    if view == "overview":
        cameras = list_overviews(scene.subject, aspect, _FRAMES[view])
    else:
        cameras = list_street_views(scene.subject, scene.street_ground_m, aspect, _FRAMES[view])
    walls = [m.vertices[m.faces] for m in scene.meshes if m.group in ("house", "obstacle", "ground", "step")]
    decks = [m.vertices[m.faces[:, 0]] for m in scene.meshes if m.group in ("deck", "landing", "plate")]
    seen = np.concatenate(decks)
    return choose_clearest(cameras, seen[:: max(1, len(seen) // 40)], np.concatenate(walls))


@dataclass(frozen=True, slots=True)
class Drawing:
    """A rendered view: the picture, and how far from the eye each pixel is (h, w), metres along the view."""

    picture: Image.Image
    depth_m: NDArray[np.float64]

    def shows(self, point_m: NDArray[np.float64], camera: Camera) -> bool:
        """Is a point (3,) inside the picture and not hidden behind something."""
        size = self.picture.size
        x, y = project_points(point_m[None], camera, size)[0]
        if not (0.0 <= x < size[0] and 0.0 <= y < size[1]):
            return False
        ahead = camera.target_m - camera.eye_m
        away = float((point_m - camera.eye_m) @ ahead / np.linalg.norm(ahead))
        around = self.depth_m[max(int(y) - 2, 0) : int(y) + 3, max(int(x) - 2, 0) : int(x) + 3]
        return bool(around.size and np.median(around) > away - SIGHT_SLACK_M)


class Canvas:
    """An off-screen plotter for drawings of one size, used again for every view.

    Opening one kills Python where OpenGL is missing: ask the probe first.
    """

    def __init__(self, size: tuple[int, int]) -> None:
        # Imported here: everything else in this module works, and is tested, without OpenGL.
        import pyvista as pv

        self.size = size
        large = [side * _OVERSAMPLE for side in size]
        self.plotter = pv.Plotter(off_screen=True, window_size=large, lighting="none")
        self.window.SetMultiSamples(0)

    @property
    def window(self) -> vtkRenderWindow:
        """The VTK window behind the plotter."""
        if self.plotter.render_window is None:
            raise InternalError("an off-screen plotter has lost its window")
        window: vtkRenderWindow = self.plotter.render_window
        return window

    def draw(self, scene: Scene, camera: Camera, figure_at: NDArray[np.float64] | None) -> Drawing:
        """The drawing alone, without words; the figure at ``figure_at`` (3,) faces the eye."""
        from viewer.stage import add_group, list_groups, set_background, set_camera, set_light

        meshes = scene.meshes
        if figure_at is not None:
            meshes = (*meshes, build_figure(figure_at, (camera.eye_m - figure_at)[:2]))
        self.plotter.clear_actors()
        for group, members in list_groups(meshes):
            add_group(self.plotter, group, members, _INK_PX)
        set_background(self.plotter)
        set_light(self.plotter, choose_light(scene.subject))
        set_camera(self.plotter, camera)
        self.plotter.render()
        picture = np.asarray(self.plotter.screenshot(None, return_img=True))
        return Drawing(Image.fromarray(picture).reduce(_OVERSAMPLE), self._read_depth())

    def _read_depth(self) -> NDArray[np.float64]:
        """Distance along the view (h, w) of what is seen, metres; the far end where nothing is."""
        from vtkmodules.util.numpy_support import vtk_to_numpy
        from vtkmodules.vtkCommonCore import vtkFloatArray

        wide, tall = (side * _OVERSAMPLE for side in self.size)
        stored = vtkFloatArray()
        self.window.GetZbufferData(0, 0, wide - 1, tall - 1, stored)
        flat: NDArray[np.float32] = vtk_to_numpy(stored)  # type: ignore[no-untyped-call]
        rows = flat.reshape(tall, wide)[::-1][::_OVERSAMPLE, ::_OVERSAMPLE]
        near, far = self.plotter.camera.clipping_range
        return np.asarray(near * far / (far - rows.astype(np.float64) * (far - near)))

    def close(self) -> None:
        """Give the window back."""
        self.plotter.close()
