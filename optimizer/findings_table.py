"""Findings as text, every clause looked at."""

from __future__ import annotations

import io
import json

from rich.console import Console
from rich.table import Table

from optimizer.check_again import Checked
from optimizer.plan_table import PAGE_WIDTH, length, shape_words
from optimizer.standards.verdict import describe_verdict


def draw_findings(checked: Checked) -> str:
    """One table a candidate, one row a finding, failures first."""
    buffer = io.StringIO()
    console = Console(file=buffer, width=PAGE_WIDTH, highlight=False, color_system=None)
    order = {"fails": 0, "cannot tell": 1, "meets": 2, "does not apply": 3}
    for candidate in checked.candidates:
        console.print(
            f"{candidate.name}: {shape_words(candidate)}, rise {length(checked.site, candidate.rise_m)}"
        )
        table = Table(box=None, pad_edge=False)
        for name in ("verdict", "rules", "clause", "of", "finding"):
            table.add_column(name, overflow="fold")
        for finding in sorted(candidate.findings, key=lambda f: order[f.verdict]):
            table.add_row(finding.verdict, finding.rules, finding.clause, finding.subject, finding.text)
        console.print(table)
        console.print(describe_verdict(candidate.findings, checked.site.rules))
        console.print()
    console.print("Not checked by this program:")
    for words in checked.site.rules.not_checked:
        console.print(f"- {words}")
    return buffer.getvalue().rstrip("\n")


def format_findings(checked: Checked) -> str:
    """Findings as JSON text."""
    return json.dumps(
        [
            {"name": c.name, "findings": [f.model_dump(mode="json") for f in c.findings]}
            for c in checked.candidates
        ],
        indent=1,
    )
