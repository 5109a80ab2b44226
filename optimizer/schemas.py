"""The published JSON Schemas by the name of their file."""

from __future__ import annotations

from optimizer.brief.site_file import site_schema
from optimizer.catalogue.read_catalogue import catalogue_schema
from optimizer.catalogue.read_rates import rates_schema
from optimizer.errors import InternalError
from optimizer.findings_report import report_schema
from optimizer.ground_report import ground_schema
from optimizer.layout.layout_file import layout_schema
from optimizer.plan_file import plan_schema
from optimizer.rulebook.rule_file import rule_set_schema


def format_named_schema(name: str) -> str:
    """JSON Schema text of the file that ``SchemaName`` in ``cli`` calls so."""
    match name:
        case "site":
            return site_schema()
        case "catalogue":
            return catalogue_schema()
        case "rates":
            return rates_schema()
        case "rules":
            return rule_set_schema()
        case "layout":
            return layout_schema()
        case "plan":
            return plan_schema()
        case "ground":
            return ground_schema()
        case "report":
            return report_schema()
    raise InternalError(f"no schema is called {name!r}")
