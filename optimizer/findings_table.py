"""Findings as text, every clause looked at."""

from __future__ import annotations

import io
import json

from optimizer.check_again import Checked
from optimizer.plan_table import describe_shape
from optimizer.schedule_tables import build_console, build_table, choose_gap, show_length
from optimizer.standards.verdict import summarise_findings

#: What is read first.
ORDER = {"fails": 0, "cannot tell": 1, "meets": 2, "does not apply": 3}


def draw_findings(checked: Checked, width: int) -> str:
    """One table a candidate, one row a finding, failures first; ``width`` in characters."""
    buffer = io.StringIO()
    console = build_console(buffer, width)
    for candidate in checked.candidates:
        rise = show_length(checked.site, candidate.rise_m)
        console.print(f"{candidate.name}: {describe_shape(candidate)}, rise {rise}\n")
        table = build_table(("verdict", "rules", "clause", "finding"), (), choose_gap(width))
        for finding in sorted(candidate.findings, key=lambda one: ORDER[one.verdict]):
            table.add_row(finding.verdict, finding.rules, finding.clause, finding.text)
        console.print(table)
        found = summarise_findings(candidate.findings, checked.site.rules)
        console.print(
            f"\n{found.looked_at} findings: {found.met} met, {found.failed} failed, "
            f"{found.open} cannot be told, {found.inapplicable} do not apply"
        )
        console.print(f"{found.sentence}\n{found.build_sentence}\n")
    console.print("Not checked by this program:")
    for words in checked.site.rules.not_checked:
        console.print(f"- {words}")
    return "\n".join(line.rstrip() for line in buffer.getvalue().splitlines())


def format_findings(checked: Checked) -> str:
    """Findings as JSON text."""
    return json.dumps(
        [
            {"name": one.name, "findings": [finding.model_dump(mode="json") for finding in one.findings]}
            for one in checked.candidates
        ],
        indent=1,
        ensure_ascii=False,
    )
