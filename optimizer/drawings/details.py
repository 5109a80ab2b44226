"""Details to scale: the sill, the plate with its low supports, a leg on its foot."""

from __future__ import annotations

from typing import Final

import numpy as np

from optimizer.brief.site import Site
from optimizer.catalogue.parts import Foot, Landing, Leg, LowSupport, Section, TransitionPlate
from optimizer.drawings.figure import Dimension, Figure, Note, Stroke, free_note, line
from optimizer.drawings.unfold import Stretch, stand_along, unfold
from optimizer.plan import Candidate, SupportLeg
from optimizer.schedule_tables import show_length, show_setting
from optimizer.terrain.yard import Points, Start

_WORDS_MM: Final = 2.2
_SHOWN_M: Final = 0.5
_WALL_M: Final = 0.2
#: Half as wide as a leg is drawn; the catalogue does not say how thick it is.
_TUBE_M: Final = 0.025


def draw_details(site: Site, start: Start, candidate: Candidate) -> tuple[Figure, ...]:
    """Those that the candidate has something to show of."""
    stretches = unfold(candidate)
    drawn = [_draw_sill(site, start, stretches)]
    if any(one.piece.kind == "transition_plate" for one in stretches):
        drawn.append(_draw_plate(site, candidate, stretches))
    legs = [one for one in candidate.legs if one.kind == "leg"]
    if legs:
        drawn.append(_draw_leg(site, sorted(legs, key=lambda one: (one.height_m, one.id))[len(legs) // 2]))
    return tuple(drawn)


def _draw_sill(site: Site, start: Start, stretches: tuple[Stretch, ...]) -> Figure:
    """Drawn with x out from the wall, y above the sill."""
    deep = max(0.35, start.drop_m + 0.3)
    wall = np.array([[-_WALL_M, 0.0], [0.0, 0.0], [0.0, -deep], [-_WALL_M, -deep]])
    strokes = [Stroke("house", wall, "ring")]
    notes = [_say("sill ±0", np.array([-_WALL_M / 2.0, 0.0]), np.array([0.0, 1.0]))]
    dimensions = []
    for one in stretches:
        if one.piece.kind == "threshold_plate":
            begin, end = one.way_m[0][2], one.way_m[-1][2]
            over = np.array([[-0.02, begin], [max(one.end_m, start.gap_m), end]])
            strokes.append(line("plate", *(over - np.array([0.0, start.threshold_m]))))
            notes.append(
                _say(
                    _describe(site, one),
                    over.mean(axis=0) - np.array([0.0, start.threshold_m]),
                    np.array([0.3, 1.0]),
                )
            )
            continue
        part = site.catalogue.part(one.piece.catalogue_id)
        if isinstance(part, Section | Landing):
            first_m = start.gap_m
            surface = one.way_m[0][2] - start.threshold_m
            fall = one.piece.slope * _SHOWN_M
            top = np.array([[first_m, surface], [first_m + _SHOWN_M, surface - fall]])
            under = top[::-1] - np.array([0.0, part.frame_depth_m])
            strokes.append(Stroke("deck", np.concatenate([top, under]), "line"))
            strokes.append(line("deck", top[0], under[1]))
            notes.append(_say(_describe(site, one), top.mean(axis=0), np.array([0.5, 1.0])))
            if start.drop_m > 0.0:
                x = first_m + 0.3
                dimensions.append(
                    _measure(site, np.array([x, 0.0]), np.array([x, -start.drop_m]), 0.0, "drop ")
                )
                strokes.append(line("band", np.array([0.0, 0.0]), np.array([x + 0.04, 0.0])))
            if start.gap_m > 0.0:
                y = surface - part.frame_depth_m
                dimensions.append(_measure(site, np.array([0.0, y]), np.array([first_m, y]), -7.0, "gap "))
            dimensions.append(_measure(site, top[1] - [0.0, part.frame_depth_m], top[1], -6.0, "frame "))
        break
    return Figure("Sill", tuple(strokes), (), tuple(notes), tuple(dimensions))


def _draw_plate(site: Site, candidate: Candidate, stretches: tuple[Stretch, ...]) -> Figure:
    """Drawn with x along the way from the hinge, y above the tip."""
    (number,) = (at for at, one in enumerate(stretches) if one.piece.kind == "transition_plate")
    plate, before = stretches[number], stretches[number - 1]
    part = site.catalogue.part(plate.piece.catalogue_id)
    above = site.catalogue.part(before.piece.catalogue_id)
    hinge, tip = plate.way_m[0], plate.way_m[-1]
    length = plate.end_m - plate.begin_m
    rise = float(hinge[2] - tip[2])
    strokes = [line("plate", np.array([0.0, rise]), np.array([length, 0.0]))]
    if isinstance(part, TransitionPlate):
        back = np.array([length, -part.tip_thickness_m])
        strokes.append(line("plate", np.array([length, 0.0]), back))
    if isinstance(above, Section):
        slope = before.piece.slope
        upper = np.array([[-_SHOWN_M, rise + slope * _SHOWN_M], [0.0, rise]])
        under = upper[::-1] - np.array([0.0, above.frame_depth_m])
        strokes += [Stroke("deck", np.concatenate([upper, under]), "line")]
        strokes.append(line("deck", upper[1], np.array([0.0, rise - above.hinge_depth_m])))
    strokes += _draw_ground(site, hinge, tip, length)
    notes = [
        _say(_describe(site, before), np.array([-_SHOWN_M / 2.0, rise]), np.array([0.0, 1.0])),
        _say(_describe(site, plate), np.array([length / 2.0, rise / 2.0]), np.array([0.3, 1.0])),
    ]
    for one in stand_along(candidate, stretches):
        x = one.along_m - plate.begin_m
        if -_SHOWN_M < x <= length:
            strokes += _draw_foot(site, one.support, x, float(one.support.frame_elevation_m - tip[2]))
            foot = np.array([x, float(one.support.frame_elevation_m - one.support.height_m - tip[2])])
            words = f"{one.support.id} {one.hand}: {show_length(site, one.support.height_m)}"
            notes.append(_say(words, foot, np.array([-0.5, -1.0])))
    if candidate.toe.pad:
        notes.append(_say("level pad", np.array([length + 0.15, 0.0]), np.array([0.0, -1.0])))
    dimensions = [
        _measure(site, np.array([0.0, rise]), np.array([length, rise]), 12.0, "in plan "),
        _measure(site, np.array([length, 0.0]), np.array([length, rise]), -9.0, ""),
    ]
    return Figure("Plate at the bottom", tuple(strokes), (), tuple(notes), tuple(dimensions))


def _draw_ground(site: Site, hinge: Points, tip: Points, length_m: float) -> list[Stroke]:
    ahead = (tip - hinge)[:2] / length_m
    along = np.arange(-_SHOWN_M, length_m + 0.4, 0.02)
    heights = site.ground.elevation(hinge[:2] + along[:, None] * ahead) - tip[2]
    known = ~np.isnan(heights)
    return [Stroke("ground", np.column_stack((along, heights))[known], "line")] if known.sum() > 1 else []


def _draw_leg(site: Site, leg: SupportLeg) -> Figure:
    """The leg of middle height, seen from the side; y above the underside of its foot."""
    part = site.catalogue.part(leg.leg_type)
    foot = site.catalogue.part(leg.foot)
    strokes = _draw_foot(site, leg, 0.0, leg.height_m)
    strokes += [
        Stroke(
            "deck",
            np.array(
                [
                    [-0.3, leg.height_m + 0.08],
                    [-0.3, leg.height_m],
                    [0.3, leg.height_m],
                    [0.3, leg.height_m + 0.08],
                ]
            ),
            "line",
        ),
        line("ground", np.array([-0.3, site.bedding_m]), np.array([0.3, site.bedding_m])),
    ]
    notes = [
        _say(
            f"{leg.id} under {leg.piece}\n{part.name}",
            np.array([_TUBE_M, 0.75 * leg.height_m]),
            np.array([1.0, 0.0]),
        ),
        _say(show_setting(site, leg), np.array([_TUBE_M, 0.5 * leg.height_m]), np.array([1.0, 0.0])),
        _say("frame underside", np.array([0.15, leg.height_m]), np.array([1.0, 0.3])),
        _say(foot.name, np.array([0.05, 0.0]), np.array([1.0, -0.5])),
    ]
    if site.bedding_m > 0.0:
        words = f"ground\nfoot sinks {show_length(site, site.bedding_m)}"
        notes.append(_say(words, np.array([0.25, site.bedding_m]), np.array([1.0, 0.3])))
    if isinstance(part, Leg):
        low, high = leg.range_m
        words = f"takes {show_length(site, low)} to {show_length(site, high)}"
        notes.append(_say(words, np.array([_TUBE_M, 0.3 * leg.height_m]), np.array([1.0, 0.0])))
    if leg.brace is not None:
        notes.append(_say("with brace", np.array([_TUBE_M, 0.6 * leg.height_m]), np.array([1.0, 0.0])))
    dimensions = [_measure(site, np.array([-0.3, 0.0]), np.array([-0.3, leg.height_m]), 7.0, "")]
    if isinstance(foot, Foot):
        half = foot.plate_m / 2.0
        dimensions.append(_measure(site, np.array([-half, 0.0]), np.array([half, 0.0]), -7.0, ""))
    return Figure("Leg of middle height on its foot", tuple(strokes), (), tuple(notes), tuple(dimensions))


def _draw_foot(site: Site, support: SupportLeg, x: float, top: float) -> list[Stroke]:
    """Tube and foot plate of a support whose frame underside is at ``top``."""
    foot = site.catalogue.part(support.foot)
    kind = site.catalogue.part(support.leg_type)
    half = foot.plate_m / 2.0 if isinstance(foot, Foot) else _TUBE_M
    below = top - support.height_m
    tube = _TUBE_M if isinstance(kind, Leg | LowSupport) else half
    return [
        Stroke(
            "support",
            np.array([[x - tube, top], [x - tube, below], [x + tube, below], [x + tube, top]]),
            "line",
        ),
        line("support", np.array([x - half, below]), np.array([x + half, below])),
    ]


def _describe(site: Site, stretch: Stretch) -> str:
    return f"{stretch.piece.id}\n{site.catalogue.part(stretch.piece.catalogue_id).name}"


def _say(words: str, at_m: Points, toward_m: Points) -> Note:
    return free_note("text-detail", words, at_m, _WORDS_MM, toward_m)


def _measure(site: Site, start_m: Points, end_m: Points, offset_mm: float, before: str) -> Dimension:
    length_m = float(np.hypot(*(end_m - start_m)))
    return Dimension("dimension", start_m, end_m, offset_mm, before + show_length(site, length_m))
