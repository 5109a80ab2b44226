"""From the words of a telephone call to the rough answer."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from optimizer.brief.build_rules import build_facts
from optimizer.brief.rules_tables import FactsTable
from optimizer.brief.site import DisplayUnits
from optimizer.catalogue.demo_files import demo_catalogue_path, demo_rates_path
from optimizer.catalogue.read_catalogue import read_catalogue
from optimizer.catalogue.read_rates import read_rates
from optimizer.errors import Fault, InputError
from optimizer.rough.answer import find_rough_answer
from optimizer.rough.build_limits import build_rough_limits
from optimizer.rough.price_band import build_price_band
from optimizer.rough.question import (
    DISTANCE_WITHIN_M,
    DROP_M,
    FALL_WITHIN,
    RISE_WITHIN_M,
    Estimate,
    RoughLimits,
    RoughQuestion,
    build_rise_from_steps,
)
from optimizer.rough.rough_table import draw_rough_table
from optimizer.rulebook.facts import JobFacts
from optimizer.rulebook.read_rule_set import read_rule_set, rule_set_ids
from optimizer.toml_file import TomlFile
from optimizer.toml_model import check_model
from optimizer.units import parse_length, parse_slope


def answer_rough(
    rise: str | None,
    steps: int | None,
    riser: str,
    fall: str,
    fall_along: str,
    depth: str | None,
    width: str | None,
    rules: str,
    facts: Sequence[str] = (),
) -> str:
    """The rough answer as text; raises InputError for a word that cannot be read.

    ``facts``: answers that the rule set depends on, each as ``works=new``.
    """
    if (rise is None) == (steps is None):
        raise InputError(
            Fault("--rise", "either a rise or a number of steps is needed.", "Give --rise or --steps.")
        )
    if rise is not None:
        known_rise = Estimate(parse_length(rise, None, "--rise"), RISE_WITHIN_M)
    else:
        known_rise = build_rise_from_steps(int(steps or 0), parse_length(riser, None, "--riser"))
    is_metric = "m" in (rise or "") + (depth or "") + (width or "")
    question = RoughQuestion(
        rise_m=known_rise,
        fall_out=Estimate(parse_fall(fall, "--fall"), FALL_WITHIN),
        fall_along=Estimate(parse_fall(fall_along, "--fall-along"), FALL_WITHIN),
        depth_m=read_distance(depth, "--depth"),
        width_m=read_distance(width, "--width"),
        drop_m=DROP_M,
        display=DisplayUnits("mm", 0.001) if is_metric else DisplayUnits("ft-in", 0.0254 / 8),
    )
    limits = read_limits(rules, read_facts(facts))
    kind = "millimetre" if is_metric else "inch"
    catalogue = read_catalogue(demo_catalogue_path(f"demo-{kind}"))
    rates = read_rates(demo_rates_path("demo-rates-eur" if is_metric else "demo-rates-usd"))
    answer = find_rough_answer(question, limits, build_price_band(catalogue, rates, limits))
    return draw_rough_table(answer)


def parse_fall(text: str, where: str) -> float:
    """A fall as a ratio; a leading minus means that the ground rises."""
    stripped = text.strip()
    if stripped.startswith("-"):
        return -parse_fall(stripped[1:], where)
    if stripped.rstrip(" %") in ("0", "0.0"):
        return 0.0
    return parse_slope(stripped, where)


def read_distance(text: str | None, where: str) -> Estimate | None:
    """A distance as people pace it out, or nothing when it was not asked."""
    return None if text is None else Estimate(parse_length(text, None, where), DISTANCE_WITHIN_M)


def read_facts(words: Sequence[str]) -> JobFacts:
    """Answers such as ``works=new``; raises InputError for one that is no answer to a known question."""
    values: dict[str, object] = {}
    for word in words:
        name, mark, answer = word.partition("=")
        if not mark:
            raise InputError(Fault("--fact", f'"{word}" has no =.', "Write it as works=new."))
        values[name.strip()] = answer.strip()
    return build_facts(check_model(TomlFile(Path("--fact"), values, {}), FactsTable, None))


def read_limits(rules: str, facts: JobFacts) -> RoughLimits:
    """Limits of a rule set, or of ADA's landings with another slope."""
    if rules in rule_set_ids():
        return build_rough_limits(read_rule_set(rules, "--rules"), facts)
    slope = parse_slope(rules, "--rules")
    new_work = build_rough_limits(read_rule_set("ada-2010"), JobFacts(works="new"))
    return replace(new_work, rules=f"own slope {rules}", slope=slope, not_asked=())
