from __future__ import annotations

import pytest

from optimizer.catalogue.leg_setting import format_setting
from optimizer.catalogue.parts import Leg, LowSupport


def build_leg(pitch_m: float) -> Leg:
    return Leg(
        id="leg",
        name="leg",
        weight_kg=4.0,
        price_cents=100,
        labour_min=1.0,
        min_m=0.2,
        max_m=0.6,
        reserve_m=0.025,
        lateral_offset_m=0.0,
        foot="foot",
        pin_pitch_m=pitch_m,
        screw_travel_m=0.06,
        least_overlap_m=0.05,
        stand_up_m=0.0,
        bracket_tilt_deg=0.0,
        rated_load_kg=300.0,
        brace_above_m=0.5,
        brace="brace",
    )


@pytest.mark.parametrize(
    ("height_m", "setting"),
    [
        (0.287, "hole 3, screw 12 mm"),
        (0.275, "hole 3, screw 0 mm"),
        (0.275 - 1e-9, "hole 3, screw 0 mm"),
        (0.2749, "hole 2, screw 25 mm"),
        (0.2, "hole 0, screw 0 mm"),
        (0.6, "hole 16, screw 0 mm"),
    ],
)
def test_a_pinned_leg_takes_the_highest_hole_that_fits_and_screws_the_rest(
    height_m: float, setting: str
) -> None:
    assert format_setting(build_leg(0.025), height_m) == setting


def test_a_continuous_leg_is_screwed_from_its_shortest() -> None:
    assert format_setting(build_leg(0.0), 0.4116) == "screw 212 mm"


def test_a_low_support_is_set_by_its_height() -> None:
    low = LowSupport("low", "low", 1.0, 100, 1.0, 0.0, 0.09, 0.0, "foot", 300.0)
    assert format_setting(low, 0.0314) == "height 31 mm"
