"""The tables behind the drawings: pieces, legs, findings by clause, and what was not checked."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from optimizer.brief.site import Site
from optimizer.drawings.levels import show_level, show_slope
from optimizer.finding_numbers import find_tightest, show_limit, show_measured
from optimizer.findings_report import ReportedFinding, build_report
from optimizer.fit_words import TWO, list_near_ends, show_plus_minus
from optimizer.plan import Candidate, SupportLeg, Verdict
from optimizer.schedule_tables import show_length, show_setting
from optimizer.terrain.yard import Start

#: Edges of a piece that may have a rail, and the rail parts that make it one.
_EDGES: Final[tuple[Literal["left", "right", "start", "end"], ...]] = ("left", "right", "start", "end")
_HIGH: Final = ("panel", "infill", "inner_loop")


@dataclass(frozen=True, slots=True)
class SheetTable:
    """``shares``: how the page's width is divided; ``notes`` stand below."""

    title: str
    heads: tuple[str, ...]
    shares: tuple[float, ...]
    rows: tuple[tuple[str, ...], ...]
    notes: tuple[str, ...]


def list_tables(site: Site, start: Start, candidate: Candidate) -> tuple[SheetTable, ...]:
    """All tables of one candidate, in the order they are set."""
    return (
        _list_pieces(site, start, candidate),
        _list_legs(site, start, candidate),
        _list_rails(site, candidate),
        *_list_findings(site, candidate),
        _list_not_checked(site, candidate),
    )


def _list_pieces(site: Site, start: Start, candidate: Candidate) -> SheetTable:
    rows = []
    for one in candidate.pieces:
        corners = np.array(one.corners_m)
        top, bottom = (corners[edge].mean(axis=0) for edge in ([0, 1], [2, 3]))
        rows.append(
            (
                one.id,
                site.catalogue.part(one.catalogue_id).name,
                "" if one.run is None else str(one.run),
                show_slope(one.slope) if one.slope else "level",
                show_length(site, float(np.hypot(*(bottom - top)[:2]))),
                show_level(site, float(top[2]) - start.threshold_m),
                show_level(site, float(bottom[2]) - start.threshold_m),
            )
        )
    heads = ("no", "part", "run", "slope", "in plan", "upper edge", "lower edge")
    notes = ("Levels count from the sill, ±0; in plan: from edge to edge along the way down.",)
    return SheetTable("Pieces", heads, (0.9, 3.6, 0.6, 1.1, 1.4, 1.5, 1.5), tuple(rows), notes)


def _list_legs(site: Site, start: Start, candidate: Candidate) -> SheetTable:
    rows = tuple(
        (
            one.id,
            one.piece,
            one.station.replace("-", " "),
            site.catalogue.part(one.leg_type).name,
            show_length(site, one.height_m),
            _show_error(site, one),
            show_setting(site, one),
            "yes" if one.brace else "",
            show_level(site, one.ground_elevation_m - start.threshold_m),
        )
        for one in candidate.legs
    )
    heads = ("no", "under", "where", "type", "height", "±", "setting", "brace", "ground")
    notes = [
        "Height: frame underside to underside of the foot. Ground: its level there, from the sill.",
        "Shoot every foot again before ordering.",
    ]
    near = list_near_ends(candidate)
    if near:
        notes.insert(0, near)
    if site.heights.warning:
        notes.insert(0, f"Do not order by these: {site.heights.warning}.")
    return SheetTable(
        "Legs and low supports", heads, (0.9, 0.9, 1.5, 2.4, 1.3, 1.0, 2.0, 0.8, 1.3), rows, tuple(notes)
    )


def _show_error(site: Site, leg: SupportLeg) -> str:
    """Two standard errors of a height, ``open`` over ground that was not surveyed."""
    return "open" if leg.height_error_m is None else show_plus_minus(site, TWO * leg.height_error_m)


def _list_rails(site: Site, candidate: Candidate) -> SheetTable:
    """One row a piece with rails: on which edges, and how high above the walking surface."""
    rows = []
    for piece in candidate.pieces:
        panels = [one for one in candidate.rails if one.piece == piece.id and one.kind in _HIGH]
        edges = {one.edge: max(r.height_m for r in panels if r.edge == one.edge) for one in panels}
        if edges:
            rows.append(
                (piece.id, *(show_length(site, edges[one]) if one in edges else "" for one in _EDGES))
            )
    notes = (
        "Height above the walking surface, at the edges of a piece seen going down; "
        "openings for door and runs are left in the rail of an edge.",
    )
    return SheetTable("Rails", ("piece", *_EDGES), (1.0, 1.0, 1.0, 1.0, 1.0), tuple(rows), notes)


def _list_findings(site: Site, candidate: Candidate) -> list[SheetTable]:
    """One table a rule set and one for our own checks: every failure and open question, then what is met."""
    report = build_report(site, (candidate,))
    (layout,) = report.layouts
    named = [(one.id, f"{one.title} ({one.edition}): {one.role}", one.statement) for one in report.rules]
    own = [
        one
        for one in dict.fromkeys(f.finding.rules for f in layout.findings)
        if one not in {n[0] for n in named}
    ]
    named += [(one, "Our own checks: do the pieces fit, stand and cost as stated", "") for one in own]
    told = {one.id: one.sentence for one in layout.sets}
    tables = []
    for id_, title, statement in named:
        findings = [one for one in layout.findings if one.finding.rules == id_]
        rows = [row for verdict in ("fails", "cannot tell") for row in _list_rows(findings, verdict)]
        rows += _list_met(findings)
        away = sum(one.finding.verdict == "does not apply" for one in findings)
        notes = [one for one in (statement, told.get(id_, layout.build.sentence)) if one]
        if away:
            notes.append(f"Looked at and not applying here: {away} findings.")
        heads = ("verdict", "clause", "what", "measured", "limit")
        tables.append(
            SheetTable(f"Findings. {title}", heads, (1.1, 1.5, 4.4, 1.4, 1.8), tuple(rows), tuple(notes))
        )
    return tables


def _list_rows(findings: list[ReportedFinding], verdict: Verdict) -> list[tuple[str, ...]]:
    return [
        (
            verdict,
            one.finding.clause,
            one.finding.text,
            show_measured(one.finding),
            show_limit(one.finding, one.quantity),
        )
        for one in findings
        if one.finding.verdict == verdict
    ]


def _list_met(findings: list[ReportedFinding]) -> list[tuple[str, ...]]:
    """One row a clause and limit: the finding nearest to it."""
    groups: dict[tuple[str, ...], list[ReportedFinding]] = {}
    for one in findings:
        if one.finding.verdict == "meets":
            limit = show_limit(one.finding, one.quantity)
            groups.setdefault((one.finding.clause, one.quantity, limit), []).append(one)
    rows: list[tuple[str, ...]] = []
    for (clause, quantity, limit), group in groups.items():
        nearest = find_tightest(tuple(one.finding for one in group))
        what = ": ".join(one for one in (quantity.replace("_", " "), nearest.subject) if one)
        more = f" (nearest of {len(group)})" if len(group) > 1 else ""
        rows.append(("meets", clause, what + more, show_measured(nearest), limit))
    return rows


def _list_not_checked(site: Site, candidate: Candidate) -> SheetTable:
    report = build_report(site, (candidate,))
    rows = [(rules.id, what) for rules in report.rules for what in rules.not_checked]
    rows += [("to decide", one) for one in report.layouts[0].to_decide]
    return SheetTable(
        "Not checked, and to be decided by others", ("rules", "what"), (1.4, 8.0), tuple(rows), ()
    )
