"""Single changes to a site: what could be granted, bought or wished otherwise, each as another site.

A trial is a question, not a permission: whoever may grant the change is named where that is
known.  ``list_trials`` is asked when nothing fits, ``list_constraints`` when something does.

```python
from optimizer.search.trials import list_trials

for family in list_trials(site).families:
    print(family.steps[0].reason, [step.change for step in family.steps])
```
"""

from __future__ import annotations

from dataclasses import dataclass

from optimizer.brief.site import Site
from optimizer.search.trial_records import Family, Trial
from optimizer.search.trials_of_parts import list_part_families, list_stock_trials
from optimizer.search.trials_of_wishes import (
    list_dropped_wishes,
    list_slope_families,
    list_wish_families,
)
from optimizer.search.trials_of_yard import list_dropped_places, list_lot_families, list_yard_families


@dataclass(frozen=True, slots=True)
class TrialList:
    """Every change worth trying, and in words what cannot be tried and what it would take."""

    families: tuple[Family, ...]
    cannot_try: tuple[str, ...]


def list_trials(site: Site) -> TrialList:
    """The changes to try when there is no layout: what stands there first, then wishes, room, parts."""
    lot, cannot_try = list_lot_families(site)
    return TrialList(
        (
            *list_yard_families(site),
            *list_wish_families(site),
            *list_slope_families(site),
            *lot,
            *list_part_families(site),
        ),
        cannot_try,
    )


def list_constraints(site: Site) -> tuple[Trial, ...]:
    """Every constraint that can be dropped alone, each as the site without it."""
    return (*list_dropped_places(site), *list_dropped_wishes(site), *list_stock_trials(site))


def list_groups(site: Site, trials: tuple[Trial, ...]) -> tuple[tuple[Trial, ...], ...]:
    """Constraints in groups that may be dropped together: all loosenings of the yard, the others alone."""
    places = tuple(
        one
        for one in trials
        if one.nature == "loosening"
        and one.changed.wishes is site.wishes
        and one.changed.catalogue is site.catalogue
    )
    alone = tuple((one,) for one in trials if not any(one is place for place in places))
    return (places, *alone) if places else alone
