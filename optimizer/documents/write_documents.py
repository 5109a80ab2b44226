"""Write the documents of one candidate: all are built before the first is written."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from optimizer.chance.spare_sets import SpareSet
from optimizer.documents.job import Paper, SpareLegs, read_job
from optimizer.documents.registered import Document, choose_documents
from optimizer.errors import Fault, InputError
from optimizer.fit_plans import ask_plan, find_plan_spares
from optimizer.written_files import prepare_folder, write_whole_bytes


@dataclass(frozen=True, slots=True)
class DocumentOrder:
    """What is asked for.  ``spares_for``: load spare legs for this share of days, ``None`` for none."""

    plan: Path
    site: Path | None
    candidate: int
    paper: Paper
    names: tuple[str, ...]
    spares_for: float | None


def write_documents(order: DocumentOrder, folder: Path) -> tuple[Path, ...]:
    """Write each document whole, named for its candidate; returns the files.

    Raises ``InputError`` for a faulty plan, name or number, ``OutputError`` when a file cannot be written.
    """
    chosen = choose_documents(order.names)
    job = read_job(order.plan, order.site, order.candidate, order.paper)
    if order.spares_for is not None:
        job = replace(job, spares=_find_spares(order, order.spares_for))
    prepare_folder(folder)
    built = [(folder / name_file(one, order.candidate), one.build(job)) for one in chosen]
    for path, content in built:
        write_whole_bytes(path, content)
    return tuple(path for path, _ in built)


def name_file(document: Document, candidate: int) -> str:
    """Such as ``candidate-1-field-sheet.pdf``."""
    return f"candidate-{candidate}-{document.name}{document.suffix}"


def _find_spares(order: DocumentOrder, share: float) -> tuple[SpareLegs, ...]:
    found = find_plan_spares(ask_plan(order.plan, order.site, order.candidate), share).found
    if not isinstance(found, SpareSet):
        what = f"no spare legs serve {share:g} of days, at most {found.best_share:.3f}."
        raise InputError(Fault("--spares", what, "Ask for a smaller share, or level again first."))
    return tuple(SpareLegs(one.type_id, one.count) for one in found.spares)
