"""The price of the candidate: every line of the plan with what it counts, and the sums."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.documents.job import DocumentJob
from optimizer.plan import PriceLine
from optimizer.report.parts import Chapter, Part, Rows, Words
from optimizer.schedule_tables import shorten_items, show_cents


def list_price_parts(job: DocumentJob) -> Iterator[Part]:
    """One row a price line; what is added stands below the direct cost."""
    candidate, plan = job.candidate, job.plan
    yield Chapter(f"Price of {candidate.name}")
    yield Words("", (f"In {plan.currency}, rates {plan.site.rates} of {plan.site.rates_dated}. No offer.",))
    direct = [_show(line) for line in candidate.price_lines if line.group == "direct"]
    added = [
        (line.name, "", "", "", show_cents(line.total_cents), "")
        for line in candidate.price_lines
        if line.group == "added"
    ]
    rows = (
        *direct,
        ("direct cost", "", "", "", show_cents(candidate.direct_cost_cents), ""),
        *added,
        ("price", "", "", "", show_cents(candidate.price_cents), ""),
    )
    head = ("part", "named", "count", "each", "sum", "used by")
    yield Rows("", head, rows, (6, 5, 2, 3, 3, 6), right=(2, 3, 4), strong=(len(direct), len(rows) - 1))


def _show(line: PriceLine) -> tuple[str, ...]:
    return (
        line.name,
        line.part,
        str(line.count),
        show_cents(line.unit_cents),
        show_cents(line.total_cents),
        shorten_items(line.items),
    )
