"""What the grid of slopes and height steps costs against nearly continuous slopes.

Measured, not validated: no outside source.  Each small yard is solved with five levels and the
usual height step, then with four times as many levels and a fifth of the step.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from optimizer.search.solve_shapes import solve_shapes
from tests.benchmarks.generated_yards import build_yard

YARDS = [(family, seed) for family in ("small", "medium") for seed in range(6)]


@pytest.mark.slow
def test_the_loss_of_the_slope_grid_is_measured() -> None:
    losses = []
    for family, seed in YARDS:
        site = build_yard(family, seed)
        fine = replace(
            site,
            search=replace(
                site.search, slope_levels=17, height_step_m=site.search.height_step_m / 5.0, time_limit_s=60.0
            ),
        )
        coarse_cents, fine_cents = solve_shapes(site).best_cents, solve_shapes(fine).best_cents
        assert coarse_cents is not None
        assert fine_cents is not None
        losses.append(coarse_cents / fine_cents - 1.0)
        print(f"{family} {seed}: {coarse_cents} against {fine_cents} cents, loss {100 * losses[-1]:.2f} %")
    print(f"mean {100 * sum(losses) / len(losses):.2f} %, worst {100 * max(losses):.2f} %")
    assert max(losses) < 0.05
