"""Lines cut off at the edge of what a drawing shows."""

from __future__ import annotations

import numpy as np
import shapely

from optimizer.drawings.figure import Stroke


def cut_to(strokes: tuple[Stroke, ...], window: shapely.Geometry) -> list[Stroke]:
    """What of the strokes lies in the window; rings become open lines where they leave it."""
    kept: list[Stroke] = []
    for stroke in strokes:
        points = stroke.points_m
        whole = np.concatenate([points, points[:1]]) if stroke.shape == "ring" else points
        inside = shapely.intersection(shapely.LineString(whole), window)
        merged = shapely.line_merge(inside) if inside.geom_type != "LineString" else inside
        kept += [
            Stroke(stroke.layer, np.array(part.coords), "line")
            for part in shapely.get_parts(merged)
            if isinstance(part, shapely.LineString) and part.length > 0.0
        ]
    return kept
