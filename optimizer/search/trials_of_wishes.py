"""Trials of what was asked: locks, slopes, walks, exits, turns, runs, the survey's error."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, Final

from optimizer.brief.bind_rules import bind_site
from optimizer.brief.site import Site
from optimizer.rulebook.rules import Limit, RuleSet
from optimizer.rulebook.run_law import RunLaw
from optimizer.search.prepared import prepare
from optimizer.search.slope_levels import steepest_slope
from optimizer.search.trial_records import AUTHORITY, CLIENT, Family, Nature, Trial
from optimizer.units import Slope, format_length

#: Slopes tried when the slope is in the way, plan run per unit of rise.
STEEPER: Final = (10.0, 8.0, 6.0)
SURVEYOR: Final = "whoever surveys"


def list_dropped_wishes(site: Site) -> tuple[Trial, ...]:
    """The site without one lock, one wish, or with levels known exactly."""
    trials = _list_dropped_locks(site)
    wishes = site.wishes
    if wishes.slopes == "equal":
        trials.append(
            _drop(
                site,
                "equal slopes",
                "One slope must serve all runs.",
                "a slope for each run",
                "loosening",
                slopes="free",
            )
        )
    if wishes.longest_between_rests_m is not None:
        length = _show(site, wishes.longest_between_rests_m)
        trials.append(
            _drop(
                site,
                "the longest walk between landings",
                f"At most {length} may lie between two landings.",
                f"walking further than {length} between landings",
                "loosening",
                longest_between_rests_m=None,
            )
        )
    if len(wishes.exits) < 3:
        trials.append(
            _drop(
                site,
                "the sides to leave by",
                f"The first run must leave {' or '.join(wishes.exits)}.",
                "leaving the door's landing by any side",
                "loosening",
                exits=("front", "left", "right"),
            )
        )
    if wishes.most_turns is not None:
        trials.append(
            _drop(
                site,
                "the number of turns",
                f"At most {wishes.most_turns} {'turn is' if wishes.most_turns == 1 else 'turns are'} wished.",
                "as many turns as it takes",
                "loosening",
                most_turns=None,
            )
        )
    if wishes.steepest is not None and any(wishes.steepest < one.steepest for one in site.designs):
        # Other slope levels: those of the flatter wish need not be among them.
        trials.append(
            _drop(
                site,
                "the wish about the slope",
                f"The wish is a slope of at most {Slope.from_ratio(wishes.steepest)}.",
                "the steepest slope that the rules allow",
                "exchange",
                steepest=None,
            )
        )
    if wishes.clear_width_m is not None:
        trials.append(
            _drop(
                site,
                "the wish about the width",
                f"The wish is a clear width of {_show(site, wishes.clear_width_m)}.",
                "the clear width that the rules ask for",
                "exchange",
                clear_width_m=None,
            )
        )
    if wishes.survey_error_m > 0.0:
        trials.append(
            Trial(
                "the error of the survey",
                _say_error(site),
                "levels without error",
                SURVEYOR,
                "loosening",
                _with_wishes(site, survey_error_m=0.0),
            )
        )
    return tuple(trials)


def list_wish_families(site: Site) -> tuple[Family, ...]:
    """The above for a site without a layout: half the survey's error, and one run more."""
    found = [
        Family((one,), is_nested=True) for one in list_dropped_wishes(site) if one.granted_by != SURVEYOR
    ]
    if site.wishes.survey_error_m > 0.0:
        half_m = site.wishes.survey_error_m / 2.0
        trial = Trial(
            "the error of the survey",
            _say_error(site),
            f"levels good to {_show(site, half_m)}",
            SURVEYOR,
            "loosening",
            _with_wishes(site, survey_error_m=half_m),
        )
        found.append(Family((trial,), is_nested=True))
    runs = prepare(site).most_runs if site.search.most_runs is None else site.search.most_runs
    trial = Trial(
        "the number of runs",
        f"{runs} {'run is' if runs == 1 else 'runs are'} too few.",
        f"a layout of {runs + 1} runs",
        "",
        "loosening",
        replace(site, search=replace(site.search, most_runs=runs + 1)),
    )
    found.append(Family((trial,), is_nested=True))
    return tuple(found)


def list_slope_families(site: Site) -> tuple[Family, ...]:
    """Steeper than now, smallest first; each has slope levels of its own, so none contains another."""
    limit = max(steepest_slope(site, start) for start in site.yard.starts)
    steps = tuple(
        Trial(
            "the slope",
            f"At most {Slope.from_ratio(limit)} the ramp is too long for the lot.",
            f"a slope of 1:{run:g}, if the rules and the rider allow it",
            AUTHORITY,
            "exchange",
            with_slope(site, 1.0 / run),
        )
        for run in STEEPER
        if 1.0 / run > limit + 1e-12
    )
    return (Family(steps, is_nested=False),) if steps else ()


def with_slope(site: Site, slope: float) -> Site:
    """The site with another limit on running slope in every binding set; a trial, not a permission.

    Slopes by length or rise are raised to it where they are flatter.
    """
    sets = tuple(
        replace(one, rules=_with_slope(one.rules, slope)) if one.role == "binding" else one
        for one in site.rulings.sets
    )
    raised = bind_site(site, replace(site.rulings, sets=sets))
    return _with_wishes(raised, steepest=slope)


def _with_slope(rules: RuleSet, slope: float) -> RuleSet:
    return replace(rules, limits=tuple(_raise_slope(limit, slope) for limit in rules.limits))


def _raise_slope(limit: Limit, slope: float) -> Limit:
    if limit.quantity == "running_slope":
        return replace(limit, value_si=max(limit.value_si, slope))
    if limit.law is None:
        return limit
    rows = tuple(
        replace(
            row,
            slope_at_above=max(row.slope_at_above, slope),
            slope_at_longest=max(row.slope_at_longest, slope),
        )
        for row in limit.law.allowances
    )
    return replace(limit, law=RunLaw(rows, limit.law.widens))


def _list_dropped_locks(site: Site) -> list[Trial]:
    trials = []
    for n in range(len(site.wishes.must_pass_m)):
        kept = site.wishes.must_pass_m[:n] + site.wishes.must_pass_m[n + 1 :]
        trials.append(
            _drop(
                site,
                f"must_pass, point {n + 1}",
                f"The way must pass point {n + 1} of must_pass.",
                f"a way that leaves out point {n + 1} of must_pass",
                "loosening",
                must_pass_m=kept,
            )
        )
    for n in range(len(site.wishes.landing_at_m)):
        kept = site.wishes.landing_at_m[:n] + site.wishes.landing_at_m[n + 1 :]
        trials.append(
            _drop(
                site,
                f"landing_at, point {n + 1}",
                f"A landing must lie at point {n + 1} of landing_at.",
                f"no landing at point {n + 1} of landing_at",
                "loosening",
                landing_at_m=kept,
            )
        )
    return trials


def _drop(
    site: Site,
    subject: str,
    reason: str,
    change: str,
    nature: Nature,
    **wishes: Any,  # noqa: ANN401
) -> Trial:
    return Trial(subject, reason, change, CLIENT, nature, _with_wishes(site, **wishes))


def _with_wishes(site: Site, **wishes: Any) -> Site:  # noqa: ANN401  # dataclasses.replace checks the names
    return replace(site, wishes=replace(site.wishes, **wishes))


def _say_error(site: Site) -> str:
    return f"Levels may be wrong by {_show(site, site.wishes.survey_error_m)}, which all supports must bear."


def _show(site: Site, length_m: float) -> str:
    return format_length(length_m, site.display.system, site.display.step_m)
