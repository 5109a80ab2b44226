"""What a mesh of the model is, for programs that read it again: role, id, part, walking face.

``viewer/glb.py`` tells where a mark stands in the file.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

MeshRole = Literal[
    "piece", "support", "foot", "brace", "rail", "ground", "house", "obstacle", "lot", "picture"
]

#: A four-cornered prism has twelve triangles, of which the last two are its upper face.
_PRISM_FACES: Final = 12
_UPPER_FACES: Final = (10, 11)


@dataclass(frozen=True, slots=True)
class Mark:
    """``id`` is the plan's (of a support, its foot and its brace: the leg's; of an obstacle its name).

    ``kind`` as in the plan (pieces, supports, rails); of an obstacle ``solid`` (not to be passed
    over), ``passable`` or ``standable``.  ``part``: catalogue id.  ``piece``: what a support
    carries or a rail stands on.  ``boards``: the mesh begins with this many four-cornered prisms
    whose upper faces are the walking face.
    """

    role: MeshRole
    id: str
    kind: str = ""
    part: str = ""
    piece: str = ""
    boards: int = 0


def list_walking_faces(mark: Mark) -> NDArray[np.int64]:
    """Numbers of the triangles that are walked on."""
    firsts = _PRISM_FACES * np.arange(mark.boards, dtype=np.int64)[:, None]
    return np.asarray((firsts + np.array(_UPPER_FACES)).reshape(-1))
