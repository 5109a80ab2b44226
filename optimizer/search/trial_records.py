"""One change to a site, and families of them in steps (see ``trials``)."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from optimizer.brief.site import Site

#: A ``loosening`` keeps every layout of the site as it is, at its price or below.  An ``exchange``
#: also takes something away (a slab to stand on, a width, slope levels), so it may help or not.
Nature = Literal["loosening", "exchange"]

AUTHORITY: Final = "the authority having jurisdiction"
CLIENT: Final = "the client"


@dataclass(frozen=True, slots=True)
class Trial:
    """One change, in words, and the site after it.

    ``subject``: what is changed; ``reason``: how it is in the way when nothing fits; ``change``:
    what to do; ``granted_by``: who may grant it, empty where that is not known.
    """

    subject: str
    reason: str
    change: str
    granted_by: str
    nature: Nature
    changed: Site


@dataclass(frozen=True, slots=True)
class Family:
    """One kind of change in steps, smallest first.

    ``is_nested``: a larger step allows all that a smaller one does, so when the largest does
    not help none does.
    """

    steps: tuple[Trial, ...]
    is_nested: bool
