"""Which model a plan is audited with when none is named: the one that lies beside it."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from optimizer.errors import Fault, InputError

MODEL_NAME: Final = "model.glb"


def find_model(plan: Path, named: str) -> Path:
    """``named``, or where that is empty ``model.glb`` beside ``plan``, or the one GLB there is.

    Raises InputError when none lies there, or several and none of that name.
    """
    if named:
        return Path(named)
    own = plan.parent / MODEL_NAME
    if own.exists():
        return own
    found = sorted(plan.parent.glob("*.glb"))
    if len(found) == 1:
        return found[0]
    what = (
        f"several models lie there: {', '.join(path.name for path in found)}."
        if found
        else "no model lies there."
    )
    raise InputError(
        Fault(
            str(plan.parent),
            what,
            "Name the model with --as-drawn MODEL.glb, or draw it with `evenfall plan`.",
        )
    )
