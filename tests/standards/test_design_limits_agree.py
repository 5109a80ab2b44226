"""What the search is told to keep is what the checker asks, no more and no less, for landings.

Limits known from memory only count for the search and pass nothing here; they are taken as read, so
that both look at the same numbers.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from optimizer.plan import Candidate
from optimizer.rulebook.build_design_limits import build_design_limits
from optimizer.rulebook.facts import JobFacts
from optimizer.rulebook.own_limits import OWN_LIMITS_ID
from optimizer.rulebook.read_rule_set import read_rule_set, rule_set_ids
from optimizer.rulebook.rules import RuleSet
from optimizer.standards.check_candidate import CheckCase, check_candidate
from tests.standards.ramp_on_a_plane import build_ramp
from tests.standards.rulings_by_hand import with_rules

HAIR = 1e-5
FACTS = JobFacts(
    egress_door="yes",
    works="new",
    space_limited="no",
    building="other",
    dwelling_category="1",
    occupants="fewer_than_50",
    closer="no",
    latch="no",
)
PLACES: dict[str, tuple[tuple[Candidate, CheckCase], str]] = {
    "landing_straight": (build_ramp((("section",), ("section",) * 3), ("straight",)), "L1"),
    "landing_quarter": (build_ramp((("section",) * 2, ("section",) * 3), ("right",)), "L1"),
    "landing_half": (build_ramp((("section",) * 3, ("section",)), ("half_left",)), "L1"),
    "landing_door": (build_ramp(), "L0"),
    "landing_door_turn": (build_ramp((("section",) * 3,), leave="left"), "L0"),
}
IDS = tuple(name for name in rule_set_ids() if name != OWN_LIMITS_ID)


def as_read(name: str) -> RuleSet:
    """A shipped set of landing sizes alone, every one known from the text."""
    rules = read_rule_set(name)
    sizes = ("landing_length", "landing_width", "landing_turn")
    return replace(
        rules, limits=tuple(replace(one, how_known="text") for one in rules.limits if one.quantity in sizes)
    )


def breaks(sets: tuple[RuleSet, ...], place: str, length_m: float, width_m: float) -> bool:
    (candidate, case), subject = PLACES[place]
    landings = tuple(
        replace(part, clear_length_m=length_m, clear_width_m=width_m) for part in case.catalogue.landings
    )
    sized = replace(case, catalogue=replace(case.catalogue, landings=landings))
    found = check_candidate(candidate, with_rules(sized, *sets, facts=FACTS))
    names = {rules.id for rules in sets}
    return any(f.verdict == "fails" for f in found if f.rules in names and f.subject == subject)


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("names", [*((name,) for name in IDS), IDS], ids=[*IDS, "all of them"])
def test_a_landing_as_large_as_needed_breaks_nothing_and_a_hair_less_does(
    names: tuple[str, ...], place: str
) -> None:
    sets = tuple(as_read(name) for name in names)
    (_, case), _ = PLACES[place]
    rulings = with_rules(case, *sets, facts=FACTS).rulings
    need = getattr(build_design_limits(rulings, "in", 0.9), place)
    # As wide as the run at least, and no shorter than that where the next run leaves by the side.
    run_m = case.catalogue.sections[0].clear_width_m
    length_m, width_m = max(need.length_m, run_m), max(need.width_m, run_m)
    assert not breaks(sets, place, length_m, width_m)
    smaller = [(length_m - HAIR, width_m)] * (need.length_m > run_m)
    smaller += [(length_m, width_m - HAIR)] * (need.width_m > run_m)
    assert [size for size in smaller if not breaks(sets, place, *size)] == []
