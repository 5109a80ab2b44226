"""A desktop window: turn the plan about, pick parts, change between candidates."""

from __future__ import annotations

import functools
import os
import sys
from collections.abc import Callable, Sequence
from typing import Any, Final, Literal

import numpy as np
import pyvista as pv
from pyvista.plotting.render_window_interactor import RenderWindowInteractor
from vtkmodules.vtkRenderingCore import vtkCellPicker

from optimizer.brief.site import Site
from optimizer.errors import DrawingError, InternalError
from optimizer.fit_words import show_rise
from optimizer.plan import Plan
from optimizer.units import Slope, format_money
from viewer.cameras import Frame, choose_light, list_overviews, list_street_views
from viewer.facts import build_words, describe_shape
from viewer.look import INK, PICKED
from viewer.probe import find_drawing_fault
from viewer.render import Scene, build_scene
from viewer.sheet import find_font
from viewer.solids import MeshGroup, NamedMesh, Solid
from viewer.stage import add_group, build_surface, list_groups, set_background, set_camera, set_light

_Corner = Literal["upper_left", "upper_right", "lower_left"]
WINDOW_SIZE: Final = (1500, 940)
_INK_PX: Final = 1.2
_FRAME: Final = Frame(0.12, 0.92, 0.10, 0.90)
#: A press and release further apart than this turn the view; nearer, they pick.
_DRAG_PX: Final = 4

#: What the keys do, as shown in the window.
KEYS: Final = (
    ("right, left", "next, previous candidate"),
    ("click", "name a part and its facts"),
    ("drag, wheel", "turn, come nearer"),
    ("o, d", "overview, from the street"),
    ("g", "ground on and off"),
    ("h", "house on and off"),
    ("l", "rails on and off"),
    ("z", "zones and lines on and off"),
    ("q", "close"),
)
_GROUND: Final[frozenset[MeshGroup]] = frozenset(
    ("ground", "step", "earth", "contour", "contour_index", "shadow")
)
_HOUSE: Final[frozenset[MeshGroup]] = frozenset(("house", "house_cut", "door", "trim"))
_RAILS: Final[frozenset[MeshGroup]] = frozenset(("rail",))
_LINES: Final[frozenset[MeshGroup]] = frozenset(("zone", "arrival", "lot", "walking_line"))
_TOGGLES: Final = (("g", _GROUND), ("h", _HOUSE), ("l", _RAILS), ("z", _LINES))


def show_window(plan: Plan, site: Site, candidate_index: int) -> None:
    """Open a window on one candidate (counted from 0) and wait until it is closed.

    Raises DrawingError when there is no screen, or no OpenGL, and says what would mend it.
    """
    fault = find_screen_fault(sys.platform, dict(os.environ)) or find_drawing_fault()
    if fault is not None:
        raise DrawingError(fault)
    window = PlanWindow(plan, site, candidate_index)
    window.plotter.show()


def find_screen_fault(platform: str, environment: dict[str, str]) -> str | None:
    """``None`` when a window can be opened, else why not."""
    has_screen = environment.get("DISPLAY") or environment.get("WAYLAND_DISPLAY")
    if platform.startswith("linux") and not has_screen:
        return (
            "There is no screen: neither DISPLAY nor WAYLAND_DISPLAY is set. Run it on a desktop, "
            "or look at the pictures that 'evenfall plan' draws."
        )
    return None


class PlanWindow:
    """The window and what is shown in it.  ``plotter.show()`` hands it to the user."""

    def __init__(self, plan: Plan, site: Site, candidate_index: int) -> None:
        self.plan = plan
        self.site = site
        self.number = candidate_index
        self.picked: NamedMesh | None = None
        self.hidden: set[MeshGroup] = set()
        self.scene: Scene = build_scene(site, plan.candidates[candidate_index])
        self.parts: dict[Any, tuple[NamedMesh, ...]] = {}
        self.actors: dict[MeshGroup, list[pv.Actor]] = {}
        self._pressed_at: tuple[int, int] = (0, 0)
        self.plotter = pv.Plotter(
            window_size=list(WINDOW_SIZE), lighting="none", title=f"Evenfall: {site.name}"
        )
        set_background(self.plotter)
        self._add_keys()
        self.show_candidate(candidate_index)
        self.look_from_above()

    # ---- what is shown

    def show_candidate(self, number: int) -> None:
        """Show one candidate (counted from 0, round the end) without moving the eye."""
        self.number = number % len(self.plan.candidates)
        candidate = self.plan.candidates[self.number]
        self.scene = build_scene(self.site, candidate)
        for actors in self.actors.values():
            for actor in actors:
                self.plotter.remove_actor(actor, render=False)
        self.actors.clear()
        self.parts.clear()
        for group, members in list_groups(self.scene.meshes):
            added = add_group(self.plotter, group, members, _INK_PX)
            self.actors[group] = added
            self.parts[added[0]] = members
        set_light(self.plotter, choose_light(self.scene.subject))
        self._apply_hidden()
        self._write_title()
        self.pick(None)

    def toggle(self, groups: frozenset[MeshGroup]) -> None:
        """Hide these groups, or show them again."""
        if groups <= self.hidden:
            self.hidden -= groups
        else:
            self.hidden |= groups
        self._apply_hidden()
        self.plotter.render()

    def look_from_above(self) -> None:
        """The overview."""
        cameras = list_overviews(self.scene.subject, WINDOW_SIZE[0] / WINDOW_SIZE[1], _FRAME)
        set_camera(self.plotter, cameras[0])

    def look_from_street(self) -> None:
        """What a person sees who comes up to the house."""
        aspect = WINDOW_SIZE[0] / WINDOW_SIZE[1]
        cameras = list_street_views(self.scene.subject, self.scene.street_ground_m, aspect, _FRAME)
        set_camera(self.plotter, cameras[0])

    # ---- picking

    def find_part(self, x_px: int, y_px: int) -> NamedMesh | None:
        """The part under a place in the window (pixels from the bottom left)."""
        picker = vtkCellPicker()
        picker.SetTolerance(0.0008)
        picker.Pick(x_px, y_px, 0, self.plotter.renderer)
        actor, cell = picker.GetActor(), picker.GetCellId()
        members = self.parts.get(actor)
        if members is None or cell < 0:
            return None
        part = int(np.asarray(actor.mapper.dataset.cell_data["part"])[cell])
        return members[part]

    def pick(self, mesh: NamedMesh | None) -> None:
        """Outline a part and write its name and facts, or clear both."""
        self.picked = mesh
        self.plotter.remove_actor("picked", render=False)  # type: ignore[arg-type]
        self.plotter.remove_actor("facts", render=False)  # type: ignore[arg-type]
        if mesh is not None:
            outline = build_surface(Solid(mesh.vertices, mesh.faces)).extract_feature_edges(
                35.0, boundary_edges=True, non_manifold_edges=False, manifold_edges=False
            )
            if outline.n_points:
                self.plotter.add_mesh(
                    outline,
                    color=PICKED,
                    line_width=4,
                    lighting=False,
                    name="picked",
                    reset_camera=False,
                    pickable=False,
                    render=False,
                )
            wide = max((len(label) for label, _ in mesh.facts), default=0)
            lines = [mesh.name, "", *(f"{label.ljust(wide)}   {value}" for label, value in mesh.facts)]
            self._write(lines, "facts", "upper_right", 9)
        self.plotter.render()

    # ---- words and keys

    def _write(self, lines: Sequence[str], name: str, place: _Corner, size: int) -> None:
        # All lines equally long: then a text that VTK aligns to the right still reads in columns.
        wide = max(len(line) for line in lines)
        text = "\n".join(f" {line.ljust(wide)} " for line in lines)
        font = str(find_font("DejaVuSansMono.ttf"))
        actor = self.plotter.add_text(
            text, position=place, font_size=size, color=INK, font_file=font, name=name
        )
        prop = actor.GetTextProperty()
        prop.SetBackgroundColor(1.0, 0.992, 0.973)
        prop.SetBackgroundOpacity(0.82)
        prop.SetLineSpacing(1.25)

    def _write_title(self) -> None:
        candidate = self.plan.candidates[self.number]
        words = build_words(self.site, candidate)
        lines = (
            self.site.name,
            f"{candidate.name} of {len(self.plan.candidates)}: {describe_shape(candidate)}",
            "",
            f"price           {format_money(candidate.price_cents, self.plan.currency)}",
            f"rise at the tip {show_rise(self.plan, self.site, candidate)}",
            f"steepest slope  {Slope.from_ratio(candidate.steepest_slope)}",
            f"walking length  {words.length(candidate.walking_length_m)}",
        )
        self._write(lines, "title", "upper_left", 9)
        wide = max(len(key) for key, _ in KEYS)
        self._write([f"{key.ljust(wide)}  {what}" for key, what in KEYS], "keys", "lower_left", 8)

    def _apply_hidden(self) -> None:
        for group, actors in self.actors.items():
            for actor in actors:
                actor.SetVisibility(group not in self.hidden)

    def _add_keys(self) -> None:
        add: Callable[[str, Callable[[], None]], None] = self.plotter.add_key_event  # type: ignore[assignment]
        add("Right", lambda: self.show_candidate(self.number + 1))
        add("Left", lambda: self.show_candidate(self.number - 1))
        add("o", self._then_render(self.look_from_above))
        add("d", self._then_render(self.look_from_street))
        for key, groups in _TOGGLES:
            add(key, functools.partial(self.toggle, groups))
        pointer = self._find_interactor()
        pointer.add_observer("LeftButtonPressEvent", self._note_press)
        pointer.add_observer("LeftButtonReleaseEvent", self._pick_on_release)

    def _then_render(self, look: Callable[[], None]) -> Callable[[], None]:
        def act() -> None:
            look()
            self.plotter.render()

        return act

    def _note_press(self, *_: object) -> None:
        self._pressed_at = self._find_pointer()

    def _pick_on_release(self, *_: object) -> None:
        x, y = self._find_pointer()
        if abs(x - self._pressed_at[0]) + abs(y - self._pressed_at[1]) <= _DRAG_PX:
            self.pick(self.find_part(x, y))

    def _find_pointer(self) -> tuple[int, int]:
        x, y = self._find_interactor().get_event_position()  # type: ignore[no-untyped-call]
        return int(x), int(y)

    def _find_interactor(self) -> RenderWindowInteractor:
        if self.plotter.iren is None:
            raise InternalError("the window takes no keys or pointer")
        return self.plotter.iren
