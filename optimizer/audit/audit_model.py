"""The audit as drawn: read a GLB, measure it from its triangles, compare it with the plan.

What is measured comes from triangles.  From the marks come only which node is what, which triangles
are walked on and (from the scene) the lot's outline; ``drawn.openings`` and ``drawn.clear_face`` see to
it that what is marked as walked on covers the piece and lies on top of it.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np

from optimizer.audit.check_faces import check_face, check_steps
from optimizer.audit.check_legs import check_leg
from optimizer.audit.check_rails import check_rail
from optimizer.audit.check_room import check_apart, check_clearances, check_lot, find_underside
from optimizer.audit.check_rule_numbers import check_rule_numbers
from optimizer.audit.check_runs import check_runs, measure_runs, state_runs
from optimizer.audit.drawn_ground import build_ground, join_grounds
from optimizer.audit.drawn_model import build_model
from optimizer.audit.glb_file import read_glb
from optimizer.audit.judge import Words, build_words
from optimizer.audit.match_plan import Matched, match_model
from optimizer.audit.refuse_frame import refuse_frame
from optimizer.audit.report import CLAUSES, AuditFinding, AuditReport
from optimizer.audit.walking_face import measure_face
from optimizer.plan import Plan


def audit_model(plan: Plan, path: Path, number: int | None = None) -> AuditReport:
    """Measure the model in ``path`` against a candidate of ``plan``.

    ``number`` counts candidates from 1; ``None`` takes the one that the model names.  Raises
    InputError for a file that is no whole GLB by itself, is in other units or turned, or does not
    hold exactly the parts of the candidate.
    """
    model = build_model(read_glb(path))
    matched = match_model(model, plan, number)
    refuse_frame(model, matched)
    order = {clause: place for place, (clause, _) in enumerate(CLAUSES)}
    findings = sorted(_check(build_words(plan), matched), key=lambda finding: order[finding.clause])
    return AuditReport(str(path), plan.site.name, matched.candidate.name, tuple(findings))


def _check(words: Words, matched: Matched) -> Iterator[AuditFinding]:
    candidate = matched.candidate
    faces = {
        piece.id: measure_face(part.face, np.array(piece.corners_m))
        for piece, part in matched.pieces
        if piece.kind != "steps"
    }
    planes = {
        piece.id: find_underside(part, faces[piece.id]) for piece, part in matched.pieces if piece.id in faces
    }
    ground = build_ground(matched.ground.triangles)
    # A pad takes the ground's place; it is met as one face, whatever joints its stones have.
    tops = [build_ground(part.triangles) for part in matched.obstacles if part.kind == "standable"]
    tops += [
        build_ground(faces[piece.id].as_triangles())
        for piece, _ in matched.pieces
        if piece.kind == "bottom_pad"
    ]
    for piece, part in matched.pieces:
        if piece.kind == "steps":
            yield from check_steps(words, piece, part)
        else:
            yield from check_face(words, piece, part, faces[piece.id])
    way = tuple(piece for piece in candidate.pieces if piece.id in faces)
    runs, planned = measure_runs(way, faces), state_runs(way)
    yield from check_runs(words, runs, planned)
    standing = join_grounds(ground, tops)
    for drawn in matched.legs:
        yield from check_leg(words, drawn, planes[drawn.leg.piece], standing)
    for rail, rail_part in matched.rails:
        yield from check_rail(words, rail, rail_part)
    yield from check_clearances(words, matched, faces, ground)
    yield from check_apart(words, matched)
    yield from check_lot(words, matched)
    yield from check_rule_numbers(words, candidate, faces, runs, planned)
