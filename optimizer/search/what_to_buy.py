"""What the stock forces: which parts to buy when that makes a ramp possible or much cheaper.

```python
from optimizer.search.what_to_buy import find_what_to_buy

advice = find_what_to_buy(site, best)
if advice is not None:
    print([(one.count, one.part) for one in advice.parts], advice.saving_cents)
```
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from typing import Final

from optimizer.brief.site import Site
from optimizer.catalogue.rates import part_cost_cents
from optimizer.errors import InternalError
from optimizer.estimate.price import list_counted_parts
from optimizer.layout.build_layout import build_layout
from optimizer.search.answers import Skeleton
from optimizer.search.constraint_prices import Baseline
from optimizer.search.name_parts import NamedParts
from optimizer.search.solve import build_spec
from optimizer.search.solve_shapes import Effort, Stop, solve_with
from optimizer.search.stock_streams import name_skeleton

#: Stock that makes the ramp dearer by no more than this share is left as it is.
WORTH_BUYING: Final = 0.05
#: Time for the layout with every part at hand, seconds.
TRY_FOR_S: Final = 15.0


@dataclass(frozen=True, slots=True)
class PartToBuy:
    """``count`` of a part beyond the ``in_stock`` there are; ``unit_cents`` with its labour."""

    part: str
    name: str
    in_stock: int
    count: int
    unit_cents: int


@dataclass(frozen=True, slots=True)
class StockAdvice:
    """Buying these parts makes a layout of ``cost_cents`` possible (direct cost, all parts counted).

    ``saving_cents``: how much cheaper that is than the best under stock; ``None`` when stock allows
    no layout.  ``is_least``: no layout is cheaper, however many parts there are.
    """

    parts: tuple[PartToBuy, ...]
    cost_cents: int
    saving_cents: int | None
    is_least: bool


def find_what_to_buy(site: Site, best: Baseline | None) -> StockAdvice | None:
    """Compare the best layout under stock (``None``: there is none) with the best of all.

    ``None`` when nothing is limited, when nothing is found even with every part at hand, or when the
    stock makes the ramp dearer by ``WORTH_BUYING`` at most.
    """
    if not site.catalogue.stock:
        return None
    free = replace(
        site,
        catalogue=replace(site.catalogue, stock=()),
        search=replace(site.search, time_limit_s=min(TRY_FOR_S, site.search.time_limit_s)),
    )
    solved = solve_with(free, Effort(ceiling_cents=None if best is None else best.cost_cents), None, Stop())
    if not solved.shapes:
        return None
    skeleton = solved.shapes[0].skeletons[0]
    if best is not None and not is_worth_buying(best.cost_cents, skeleton.cost_cents):
        return None
    named = name_skeleton(free, skeleton)
    if named is None:
        raise InternalError("a layout the search found has no parts that fit")
    parts = list_short(site, count_parts(free, skeleton, named))
    if not parts:
        # Nothing has to be bought: then the layout is one of the stock's own that was overlooked.
        if best is not None and best.is_proven:
            raise InternalError(
                f"the stock suffices for {skeleton.cost_cents} cents, proven {best.cost_cents}"
            )
        return None
    saving = None if best is None else best.cost_cents - skeleton.cost_cents
    return StockAdvice(parts, skeleton.cost_cents, saving, solved.status == "optimal_on_lattice")


def is_worth_buying(in_stock_cents: int, free_cents: int) -> bool:
    """Whether the stock makes the ramp dearer by more than ``WORTH_BUYING``."""
    return in_stock_cents > (1.0 + WORTH_BUYING) * free_cents


def count_parts(site: Site, skeleton: Skeleton, named: NamedParts) -> Counter[str]:
    """How many of every part a layout takes, by part id; feet and braces too, steps not."""
    placed = build_layout(site, build_spec(skeleton, named, skeleton.slopes))
    return Counter({one.part.id: len(one.items) for one in list_counted_parts(placed, site.catalogue)})


def list_short(site: Site, used: Counter[str]) -> tuple[PartToBuy, ...]:
    """The parts of which more are used than there are, in catalogue order."""
    in_stock = {level.part: level.count for level in site.catalogue.stock}
    return tuple(
        PartToBuy(
            part.id,
            part.name,
            in_stock[part.id],
            used[part.id] - in_stock[part.id],
            part_cost_cents(part, site.rates),
        )
        for part in site.catalogue.parts()
        if part.id in in_stock and used[part.id] > in_stock[part.id]
    )
