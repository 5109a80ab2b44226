"""Read and write ``plan.json``."""

from __future__ import annotations

import json
from pathlib import Path

from pydantic import ValidationError

from optimizer.errors import Fault, InputError
from optimizer.plan import SCHEMA, Plan
from optimizer.written_files import write_whole

#: Key under which a plan names its schema.
SCHEMA_KEY = "schema"


def format_plan(plan: Plan) -> str:
    """A plan as JSON text, the same bytes for the same plan."""
    return json.dumps(plan.model_dump(mode="json", by_alias=True), indent=1, ensure_ascii=False) + "\n"


def write_plan(plan: Plan, path: Path) -> None:
    """Write a plan whole or not at all."""
    write_whole(path, format_plan(plan))


def read_plan(path: Path) -> Plan:
    """Read a plan; raises InputError naming the file, every faulty field and its value."""
    try:
        values = json.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise InputError(
            Fault(str(path), f"cannot be read ({error.strerror or error}).", "Name a plan.json.")
        ) from error
    except (json.JSONDecodeError, UnicodeDecodeError) as error:
        raise InputError(Fault(str(path), f"is not JSON ({error}).", "Make the plan again.")) from error
    found = values.get(SCHEMA_KEY) if isinstance(values, dict) else None
    if found != SCHEMA:
        raise InputError(
            Fault(
                str(path),
                f"is not a plan of this version: its {SCHEMA_KEY} is {found!r}, wanted {SCHEMA!r}.",
                "Make the plan again with this version.",
            )
        )
    try:
        return Plan.model_validate(values)
    except ValidationError as error:
        faults = [
            Fault(
                str(path),
                f"{'.'.join(str(key) for key in one['loc'])} = {one.get('input')!r}: {one['msg']}.",
                "Undo the edit or make the plan again.",
            )
            for one in error.errors()
        ]
        raise InputError(*faults) from error


def plan_schema() -> str:
    """JSON Schema of plan.json as text."""
    return json.dumps(Plan.model_json_schema(by_alias=True), indent=1) + "\n"
