"""What it takes to make the plan again: files with their hashes, versions, seed, command."""

from __future__ import annotations

import importlib.metadata
import shlex
from collections.abc import Iterator
from typing import Final

from optimizer.documents.job import DocumentJob
from optimizer.plan import RoundRecord
from optimizer.report.parts import Chapter, Part, Rows, Words
from optimizer.report.source_files import SourceFile
from optimizer.schedule_tables import show_cents

_PROGRAM: Final = "evenfall"


def list_remake_parts(job: DocumentJob, files: tuple[SourceFile, ...]) -> Iterator[Part]:
    """The same files, versions and seed give the same plan, byte for byte, on any machine."""
    plan, search = job.plan, job.plan.search
    yield Chapter("To make the plan again")
    prices = " --price-constraints on" if plan.constraint_prices else ""
    yield Words("Command", (f"evenfall plan {shlex.quote(plan.site.file)} --out out{prices}",), "typed")
    yield Words("", tuple(_list_cautions(job)))
    rows = tuple((one.name, one.what, str(one.size), one.sha256) for one in files)
    hashed = ("file", "what", "bytes", "SHA-256, as the file lay when this report was made")
    yield Rows("Files", hashed, rows, (5, 3, 2, 13), right=(2,), typed=(3,))
    versions = (*plan.versions, ("plan format", plan.schema_id), ("this report's program", _name_program()))
    yield Rows("Versions", ("what", "version"), versions, (2, 5))
    settings = (
        ("seed", str(plan.seed)),
        ("search", search.engine),
        ("lattice", f"{search.lattice_m:g} m"),
        ("drops in steps of", f"{1000.0 * search.height_step_m:g} mm"),
        ("runs at most", str(search.most_runs)),
        ("longest run", f"{search.longest_run_m:g} m"),
        ("shapes found", str(search.shapes_found)),
    )
    yield Rows("Search", ("", ""), settings, (2, 5))
    head = ("lattice", "rounds", f"highest ceiling, {plan.currency}", "states", "arcs", "tried", "priced")
    rounds = tuple(_sum_rounds(search.rounds))
    if rounds:
        yield Rows("Work of the search", head, rounds, (2, 2, 4, 2, 2, 2, 2), right=(0, 1, 2, 3, 4, 5, 6))


def _name_program() -> str:
    return f"{_PROGRAM} {importlib.metadata.version(_PROGRAM)}"


def _sum_rounds(rounds: tuple[RoundRecord, ...]) -> Iterator[tuple[str, ...]]:
    """One row a lattice: the plan itself lists every round."""
    for lattice_m in dict.fromkeys(one.lattice_m for one in rounds):
        on_it = [one for one in rounds if one.lattice_m == lattice_m]
        yield (
            f"{lattice_m:g} m",
            str(len(on_it)),
            show_cents(max(one.ceiling_cents for one in on_it)),
            str(sum(one.states for one in on_it)),
            str(sum(one.arcs for one in on_it)),
            str(sum(one.tried for one in on_it)),
            str(sum(one.priced for one in on_it)),
        )


def _list_cautions(job: DocumentJob) -> Iterator[str]:
    yield (
        "Run it in the folder of the site file, with the files below unchanged. The plan itself keeps no "
        "hashes: those below are of the files as they lie there now."
    )
    if job.plan.status != "optimal_on_lattice":
        yield (
            "The search was stopped before it could prove its answer: another machine, or another limit of "
            "time, may come further."
        )
