"""A second program for the discrete problem: every choice, one after the other.

Validates: the search, by being written from our own page alone (DEVELOPERS.md, 'The
discrete problem') and sharing only the data classes.  Source: that page; no outside source.
Tolerance: none, costs must agree to the cent.  Why it may differ: a layout that breaks a
rule by less than the page's 1e-6 m may be judged differently by two ways of computing.

No bounds, no dominance: a partial layout is dropped only when it breaks a rule.  What was
worked out for a piece at a place is kept, and bounding boxes save work on things that are
nowhere near.

brute_walk.py makes the choices; brute_laws.py, brute_doors.py, brute_parts.py, brute_pieces.py,
brute_toe.py and brute_surroundings.py say what may be used and stand where; brute_layout.py is the
answer.
"""

from __future__ import annotations

from optimizer.brief.site import Site
from tests.validation.brute_layout import BruteAnswer, BruteLayout, Shape
from tests.validation.brute_parts import UsableParts
from tests.validation.brute_walk import Walk


def find_cheapest(site: Site) -> BruteAnswer:
    """Try every layout of the page; least direct cost of every shape, in cents."""
    best: dict[Shape, BruteLayout] = {}
    tried = 0
    for start in site.yard.starts:
        walk = Walk(site, start, UsableParts(site, start), best)
        walk.begin()
        tried += walk.run_ends_tried
    return BruteAnswer(tuple(best[shape] for shape in sorted(best)), tried)
