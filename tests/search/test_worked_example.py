"""The example at the head of the search runs as it stands there."""

from __future__ import annotations

import re

import pytest

from optimizer.search import solve_shapes
from tests.benchmarks.generated_yards import build_yard


def test_the_example_of_the_search_runs_on_a_site(capsys: pytest.CaptureFixture[str]) -> None:
    assert solve_shapes.__doc__ is not None
    (example,) = re.findall(r"```python\n(.*?)```", solve_shapes.__doc__, flags=re.DOTALL)
    exec(compile(example, "example", "exec"), {"site": build_yard("tiny", 1)})  # noqa: S102  # our own text
    told = capsys.readouterr().out
    solved = solve_shapes.solve_shapes(build_yard("tiny", 1), wanted=5)
    assert told.startswith(f"{solved.status} {solved.best_cents}")
    assert len(solved.shapes) > 1
    for one in solved.shapes:
        for word in (one.exit, str(one.turns), str(one.cost_cents), one.proof):
            assert word in told
