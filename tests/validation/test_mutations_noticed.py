"""A rule dropped from the search is noticed by the brute force.

Validates: that the comparison with the brute force (test_brute_force_agrees.py) would see a rule
that the search forgets.  Source: our own page.  Tolerance: none.
Every mutation changes the search's sources in the memory of a process of its own, one at a time;
kernels that are changed are compiled there into a cache of their own.  Slow: some seconds a
mutation, a minute for one of a kernel.

Recorded: every mutation of ``mutations.MUTATIONS`` was noticed on the yard it names.  Not in the
list, because none of the small yards 0 to 199 changed its costs: half-turn landings too narrow for
two lanes (the second lane then overlaps the first, which another rule forbids), the lot line for
feet and the house for pieces (the same places are closed by the rules for pieces and for feet);
these have yards of their own in tests/search; nor, on seventeen of them, the evenness of the bottom
(``uneven`` of toe_kernel.py), which still wants a yard that it alone decides.  A slope level kept
that drops as a steeper one does is no fault: it lays the same layouts again.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.validation.bound_yards import Yard, build_named_yard
from tests.validation.brute_force import find_cheapest
from tests.validation.mutated_costs import change
from tests.validation.mutations import MUTATIONS, Mutation

TOP = Path(__file__).parents[2]

Costs = dict[tuple[str, tuple[str, ...]], int]


def costs_with(changes: tuple[tuple[str, str, str], ...], yard: Yard, cache: Path) -> Costs:
    """What the changed search says of a small yard."""
    env = os.environ | {"PYTHONPATH": str(TOP)}
    if any(name.endswith("_kernel.py") for name, _, _ in changes):
        env["NUMBA_CACHE_DIR"] = str(cache)
    command = [
        sys.executable,
        "-m",
        "tests.validation.mutated_costs",
        json.dumps(changes),
        json.dumps([yard]),
    ]
    done = subprocess.run(command, cwd=TOP, env=env, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    ((told, rows),) = json.loads(done.stdout)
    assert told == yard
    return {(leaves, tuple(turns)): cents for leaves, turns, cents in rows}


@pytest.mark.slow
@pytest.mark.parametrize("mutation", MUTATIONS, ids=lambda one: one.rule)
def test_a_rule_the_search_forgets_is_noticed(mutation: Mutation, tmp_path: Path) -> None:
    truth = dict(find_cheapest(build_named_yard(mutation.yard)).costs)
    assert costs_with(mutation.changes, mutation.yard, tmp_path) != truth


@pytest.mark.slow
def test_the_search_as_it_is_agrees_in_a_process_of_its_own(tmp_path: Path) -> None:
    for yard in (1, 2, "law", "door"):
        assert costs_with((), yard, tmp_path) == dict(find_cheapest(build_named_yard(yard)).costs)


def test_every_text_that_is_changed_is_in_its_file_exactly_once() -> None:
    assert len(MUTATIONS) > 40
    assert len({mutation.rule for mutation in MUTATIONS}) == len(MUTATIONS)
    for mutation in MUTATIONS:
        for name, text in change(mutation.changes).items():
            assert compile(text, name, "exec")


def test_a_text_that_is_not_there_or_there_twice_is_refused() -> None:
    for text in ("no such text", "import"):
        with pytest.raises(SystemExit, match="1 wanted"):
            change((("tables.py", text, ""),))
