"""A small catalogue of the tests' own invention."""

from __future__ import annotations

from optimizer.catalogue.parts import (
    BottomPad,
    Brace,
    Catalogue,
    Foot,
    Landing,
    LandingUse,
    Leg,
    LowSupport,
    RailEnd,
    RailPanel,
    RailPost,
    Section,
    ThresholdPlate,
    TransitionPlate,
)

FOOT_SIDE = 0.15


def _panel(name: str, length_m: float) -> RailPanel:
    return RailPanel(name, name, 6.1, 8000, 10.5, length_m, 0.9144, 0.04, 0.09)


def build_catalogue() -> Catalogue:
    """A small catalogue of this test's own invention."""
    legs = ("leg-short", "leg-long")
    panels = ("panel-wide", "panel-wide-half", "panel-infill", "panel-loop", "panel-section", "panel-plate")

    def leg(name: str, low: float, high: float, pitch: float) -> Leg:
        return Leg(
            name,
            name,
            4.3,
            3100,
            12.0,
            low,
            high,
            0.025,
            0.03,
            "foot",
            pitch,
            0.06,
            0.05,
            0.0,
            1.0,
            300.0,
            0.5,
            "brace",
        )

    def landing(name: str, uses: set[LandingUse], width: float) -> Landing:
        wide = "panel-wide" if width < 2.0 else "panel-wide-half"
        return Landing(
            name,
            name,
            55.0,
            90000,
            40.0,
            frozenset(uses),
            1.62,
            width,
            1.54,
            width - 0.08,
            0.05,
            0.11,
            0.12,
            legs,
            "panel-wide",
            wide,
            "panel-infill",
            "panel-loop",
            320.0,
        )

    section = Section(
        "section",
        "section",
        38.0,
        42000,
        25.0,
        2.0,
        0.95,
        1.05,
        0.05,
        0.02,
        0.11,
        (),
        legs,
        ("low",),
        "panel-section",
        300.0,
    )
    long_section = Section(
        "section-long",
        "long section",
        52.5,
        60000,
        31.0,
        3.1,
        0.95,
        1.05,
        0.05,
        0.02,
        0.11,
        (1.55,),
        legs,
        ("low",),
        "panel-section",
        300.0,
    )
    return Catalogue(
        id="test",
        name="test",
        currency="XTS",
        clearance_m=0.03,
        low_clearance_m=0.002,
        piece_gap_m=0.12,
        feet=(Foot("foot", "foot", 1.2, 900, 0.0, FOOT_SIDE, 0.02, 0.2),),
        braces=(Brace("brace", "brace", 1.7, 1300, 4.5),),
        legs=(leg("leg-short", 0.08, 0.32, 0.025), leg("leg-long", 0.25, 1.4, 0.0)),
        low_supports=(LowSupport("low", "low", 0.9, 700, 3.0, 0.0, 0.09, 0.0, "foot", 300.0),),
        rail_panels=tuple(_panel(name, 1.0) for name in panels),
        rail_posts=(RailPost("post", "post", 1.1, 1500, 2.5),),
        rail_ends=(RailEnd("rail-end", "rail end", 0.8, 1900, 3.5, 0.31),),
        sections=(section, long_section),
        landings=(
            landing("landing", {"door", "straight", "quarter"}, 1.62),
            landing("landing-half", {"half"}, 2.6),
        ),
        transition_plates=(
            TransitionPlate("plate", "plate", 14.0, 15000, 9.0, 0.9, 1.05, 0.005, "panel-plate", 300.0),
        ),
        threshold_plates=(ThresholdPlate("sill", "sill", 3.2, 4000, 6.0, 0.06, 0.95, 310.0),),
        bottom_pads=(BottomPad("pad", "pad", 210.0, 30000, 90.0, 1.6, 1.6, 0.08),),
        step_flights=(),
        stock=(),
    )
