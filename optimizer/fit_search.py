"""Search on for a layout whose legs fit with the chance that is wished, where the cheapest does not.

Every support must then fit for ground so much higher or lower (``Wishes.survey_error_m``): the wider that
is, the surer the legs and the dearer the ramp.  The least such width whose cheapest layouts reach the wish is
found by halving.  Nothing is proven of what comes out but that width's own search: another layout may reach
the wish for less.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Final

from optimizer.brief.site import Site
from optimizer.plan import Candidate

#: Searches at most; each halves the width that is in question.
TRIES: Final = 5
#: The widest tried, in standard errors of the worst height: 3 keep all but one leg in a thousand.
WIDEST: Final = 3.0


@dataclass(frozen=True, slots=True)
class Searched:
    """``candidate``: the cheapest found that reaches the wish, ``None`` when none does.

    ``width_m``: how much higher or lower its search let the ground be; ``widest_m``: the widest tried.
    """

    candidate: Candidate | None
    width_m: float
    widest_m: float


#: Candidates of a site whose supports fit for ground that much off, with their chances, by direct cost;
#: ``None`` where the search was stopped: nothing more is tried.
FindCandidates = Callable[[Site], Sequence[Candidate] | None]


def search_for_fit(
    site: Site, candidates: Sequence[Candidate], wished: float, find: FindCandidates
) -> Searched:
    """Halve between no width and ``WIDEST`` standard errors of the worst height of ``candidates``."""
    errors = [leg.height_error_m for one in candidates for leg in one.legs if leg.height_error_m is not None]
    widest_m = WIDEST * max(errors, default=0.0)
    low_m, high_m = 0.0, widest_m
    best = Searched(None, 0.0, widest_m)
    width_m = widest_m
    for _ in range(TRIES):
        if width_m <= 0.0:
            break
        found = find(
            replace(site, wishes=replace(site.wishes, survey_error_m=site.wishes.survey_error_m + width_m))
        )
        if found is None:
            break
        reaching = [one for one in found if one.fit_chance is not None and one.fit_chance >= wished]
        if reaching:
            cheapest = min(reaching, key=lambda one: one.direct_cost_cents)
            if best.candidate is None or cheapest.direct_cost_cents < best.candidate.direct_cost_cents:
                best = Searched(cheapest, width_m, widest_m)
        # Too wide where nothing is left to build, too narrow where what is built does not reach it.
        if reaching or not found:
            high_m = width_m
        else:
            low_m = width_m
        if low_m == high_m:
            break
        width_m = 0.5 * (low_m + high_m)
    return best
