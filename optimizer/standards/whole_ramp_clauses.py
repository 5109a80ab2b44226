"""Clauses about the whole ramp: what its rise asks for beside it."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.plan import Finding
from optimizer.rulebook.rules import Limit
from optimizer.standards.chain import Chain
from optimizer.standards.findings import judge_need, locate
from optimizer.standards.open_findings import judge_open_need


def measure_total_rise(chain: Chain) -> float:
    """From the top of the first piece that is walked on to the tip."""
    return float(chain.walked()[0].start_m[2] - chain.plate.end_m[2])


def check_total_rise(limit: Limit, rules: str, chain: Chain) -> Iterator[Finding]:
    """A rise above which another way up is asked as well; whether there is one nobody has told us."""
    yield judge_open_need(
        limit,
        rules,
        "whole ramp",
        measure_total_rise(chain),
        locate(chain.walked()[0].start_m),
        "a rise of",
        "another way up as well, such as a lift: that is for the authority",
    )


def check_steps_rise(limit: Limit, rules: str, chain: Chain) -> Iterator[Finding]:
    """A rise above which steps are asked as well: those of the plan, or others that stand there."""
    rise, where = measure_total_rise(chain), locate(chain.walked()[0].start_m)
    if chain.steps:
        yield judge_need(limit, rules, "whole ramp", rise, where, "a rise of", None, "flight of steps")
        return
    need = "steps as well; the plan has none, and whether another way up will do is for the authority"
    yield judge_open_need(limit, rules, "whole ramp", rise, where, "a rise of", need)
