"""A flight of steps in the parts list: a group of its own, its panels with the rails."""

from __future__ import annotations

import io
from dataclasses import replace

from optimizer.catalogue.parts import RailPanel, StepFlight
from optimizer.plan import PriceLine
from optimizer.schedule_tables import build_console, draw_parts
from tests.viewer import sample

FLIGHT = StepFlight(
    "flight-4", "flight of four", 33.0, 41000, 0.0, 4, 0.28, 1.0, 0.4, 0.9, 0.06, 0.05, "side", 210.0
)
SIDE = RailPanel("side", "side of the flight", 3.0, 5000, 0.0, 0.9, 0.9, 0.04, 0.1)


def line(part: StepFlight | RailPanel, *items: str) -> PriceLine:
    return PriceLine(
        group="direct",
        part=part.id,
        name=part.name,
        count=len(items),
        unit_cents=part.price_cents,
        total_cents=len(items) * part.price_cents,
        items=items,
    )


def test_a_flight_is_listed_under_steps_and_its_panels_under_rails() -> None:
    site = sample.build_site()
    parts = replace(site.catalogue, step_flights=(FLIGHT,), rail_panels=(*site.catalogue.rail_panels, SIDE))
    plan = sample.build_plan(site)
    candidate = plan.candidates[0].model_copy(
        update={"price_lines": (line(SIDE, "R38", "R39"), line(FLIGHT, "F1"))}
    )
    buffer = io.StringIO()
    build_console(buffer, 120).print(draw_parts(plan, candidate, replace(site, catalogue=parts), 2))
    rows = [" ".join(row.split()) for row in buffer.getvalue().splitlines() if row.strip()]
    assert rows[1:5] == [
        "[ ] 2 side of the flight 50.00 100.00 R38-R39",
        "2 rails 100.00",
        "[ ] 1 flight of four 410.00 410.00 F1",
        "1 steps 410.00",
    ]
