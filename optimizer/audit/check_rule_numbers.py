"""The numbers that rules are about, as drawn, beside those of the plan.

No limit is applied here: whether a number is allowed is the checker's business.
"""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.audit.check_runs import RunMeasure
from optimizer.audit.judge import Words, judge_length, judge_slope, judge_unknown
from optimizer.audit.report import AuditFinding
from optimizer.audit.walking_face import WalkingFace, state_face
from optimizer.plan import Candidate, Piece


def check_rule_numbers(
    words: Words,
    candidate: Candidate,
    faces: dict[str, WalkingFace],
    runs: tuple[RunMeasure, ...],
    planned: tuple[RunMeasure, ...],
) -> Iterator[AuditFinding]:
    """Steepest faces, smallest landing, narrowest section, largest rise of a run."""
    stated = {piece.id: state_face(piece) for piece in candidate.pieces}
    sloping = _pick(candidate, "section", "transition_plate")
    steepest = max(sloping, key=lambda piece: abs(faces[piece.id].slope))
    yield judge_slope(
        "rule.steepest",
        steepest.id,
        "steepest walking face",
        faces[steepest.id].slope,
        candidate.steepest_slope,
        stated[steepest.id].length_m,
    )
    walked = [piece for piece in candidate.pieces if piece.id in faces]
    across = max(walked, key=lambda piece: abs(faces[piece.id].cross_slope))
    yield judge_slope(
        "rule.cross_slope",
        across.id,
        "steepest cross slope",
        abs(faces[across.id].cross_slope),
        max(abs(stated[piece.id].cross_slope) for piece in walked),
        stated[across.id].width_m,
    )
    landings = _pick(candidate, "landing")
    if landings:
        smallest = min(landings, key=lambda piece: _side(faces[piece.id]))
        least = min(_side(stated[piece.id]) for piece in landings)
        what = "smallest side of a landing"
        yield judge_length(words, "rule.landing", smallest.id, what, _side(faces[smallest.id]), least)
    sections = _pick(candidate, "section")
    narrow = min(sections, key=lambda piece: faces[piece.id].width_m)
    yield judge_length(
        words,
        "rule.width",
        narrow.id,
        "narrowest section",
        faces[narrow.id].width_m,
        min(stated[piece.id].width_m for piece in sections),
    )
    what = "largest rise of a run"
    if not runs:
        yield judge_unknown("rule.run_rise", candidate.name, what, "no piece of the plan names its run")
        return
    highest = max(runs, key=lambda run: run.rise_m)
    most = max(run.rise_m for run in planned)
    yield judge_length(words, "rule.run_rise", highest.name, what, highest.rise_m, most)


def _pick(candidate: Candidate, *kinds: str) -> list[Piece]:
    return [piece for piece in candidate.pieces if piece.kind in kinds]


def _side(face: WalkingFace) -> float:
    return min(face.length_m, face.width_m)
