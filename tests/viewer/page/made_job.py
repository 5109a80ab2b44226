"""A small job for the page's tests: a straight, an L-shaped and a folded ramp at one invented door.

Names hold markup, quotes, an emoji and what would end a script element.
"""

from __future__ import annotations

import io
from dataclasses import replace
from functools import cache

from PIL import Image

from optimizer.brief.site import Site
from optimizer.brief.site_in_code import (
    JobFacts,
    ObstacleAt,
    StartAt,
    build_site,
    default_search,
    default_wishes,
)
from optimizer.layout.spec import LayoutSpec, RunSpec, TurnSpec
from optimizer.pipeline import build_checked, make_plan
from optimizer.plan import Plan
from viewer.page.pictures import PAGE_VIEWS, Picture

WILD_NAME = '<img src=x onerror=alert(1)></script> & "Tree" \N{EVERGREEN TREE}'
SPOTS = (
    (-9, 0, 0.02),
    (0, 0, 0.00),
    (9, 0, -0.05),
    (-9, 6, -0.10),
    (0, 6, -0.14),
    (9, 6, -0.20),
    (-9, 12, -0.22),
    (0, 12, -0.26),
    (9, 12, -0.35),
)  # fmt: skip
#: Laid out by hand, because the search finds nothing folded here that is among the cheapest; the
#: checker finds fault with its landing at the door, which the page must tell.
FOLDED = LayoutSpec(
    start="door",
    slide_m=0.30,
    door_landing="landing-64",
    exit="right",
    attach_m=-0.2794,
    runs=(RunSpec(("section-72",), 0.078), RunSpec(("section-96", "section-72"), 0.078)),
    turns=(TurnSpec("half_left", "landing-half-94", 0.0, 0.0),),
    plate="plate-48",
    supports=None,
)


@cache
def made_plan() -> Plan:
    plan = make_plan(made_site())
    straight, turned = (
        next(one for one in plan.candidates if one.shape == shape) for shape in ("straight", "L")
    )
    folded = build_checked(made_site(), FOLDED, "folded", "typed by hand", None, "as typed")
    return plan.model_copy(update={"candidates": (straight, folded, turned)})


@cache
def made_site() -> Site:
    door = StartAt(
        name="door",
        midpoint_m=(0.4, 0),
        outward_deg=90,
        threshold_m=0.5,
        clear_width_m=0.92,
        swing="in",
        hinge_side="left",
    )
    return build_site(
        "The Nook of <b>Nobody</b>",
        spots=list(SPOTS),
        lot=[(-9, -6), (9, -6), (9, 12), (-9, 12)],
        house=[(-8, -5), (8, -5), (8, 0), (-8, 0)],
        starts=[door],
        rules="ada-2010",
        facts=JobFacts(works="new", closer="no"),
        obstacles=[ObstacleAt(name=WILD_NAME, outline_m=[(-6, 8), (-5, 8), (-5, 9), (-6, 9)], top_m=1.4)],
        wishes=replace(default_wishes(), shown=4),
        search=replace(default_search("m"), most_runs=2),
    )


def build_pictures(candidates: int) -> tuple[Picture, ...]:
    """Plain colours in place of drawings, for what does not depend on what is drawn."""
    pictures = []
    for number in range(candidates):
        for shade, view in enumerate(PAGE_VIEWS):
            content = io.BytesIO()
            Image.new("RGB", (120, 80), (40 + 60 * shade, 90, 200 - 50 * number)).save(content, "WEBP")
            pictures.append(Picture(number, view, content.getvalue()))
    return tuple(pictures)
