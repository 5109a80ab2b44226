"""What to ask, shoot and photograph on a first visit.

Which facts are asked comes from the rule sets; the rest is common practice, no source.
"""

from __future__ import annotations

from typing import Final

from optimizer.brief.ask_facts import QUESTIONS, list_questions_of
from optimizer.brief.site import Site
from optimizer.rulebook.facts import JobFacts
from optimizer.terrain.yard import Start
from optimizer.units import format_length
from optimizer.visit.sheet import PlaceToShoot, Question, QuestionGroup

_CHOICES: Final = (
    ("egress_door", ("yes", "no")),
    ("works", ("new", "existing")),
    ("space_limited", ("no", "yes, because")),
    ("building", ("house", "dwelling unit", "other")),
    ("dwelling_category", ("1", "2", "3")),
    ("occupants", ("fewer than 50", "50 and more")),
    ("closer", ("yes", "no")),
    ("latch", ("yes", "no")),
)

PHOTOS: Final = (
    "the door from outside, whole, and the sill close up with the staff on it",
    "the door from inside, open",
    "both walls beside the door; what is overhead (balcony, lamp, wire, flue)",
    "meters, taps, downpipes, covers, vents, cellar windows",
    "the ground where it may land, and each corner of the way there",
    "the way from the van to the door, its narrowest place",
    "every mark a level was taken on, with the staff",
)

PLACES: Final = (
    PlaceToShoot("sill left", "top of the sill, left end looking out (the zero of the sheet)"),
    PlaceToShoot("sill right", "top of the sill, right end"),
    PlaceToShoot("wall left", "ground at the wall, as far left as a ramp may go"),
    PlaceToShoot("door", "ground before the door, at the wall"),
    PlaceToShoot("wall right", "ground at the wall, as far right as a ramp may go"),
    PlaceToShoot("out left", "ground 1.5 m (5 ft) out, left of the door"),
    PlaceToShoot("out right", "ground 1.5 m (5 ft) out, right of the door"),
    PlaceToShoot("turn 1", "where the way may turn, first corner"),
    PlaceToShoot("turn 2", "the same place, opposite corner"),
    PlaceToShoot("toe 1", "where it may land, left"),
    PlaceToShoot("toe 2", "where it may land, right"),
    PlaceToShoot("beyond", "1.5 m (5 ft) beyond the toe"),
    PlaceToShoot("top", "top of every kerb, wall or step that is crossed"),
    PlaceToShoot("foot", "foot of the same, below that very point"),
    PlaceToShoot("street", "joint with the path, drive or street"),
    PlaceToShoot("house corner", "corner of the house; lot line; things in the way: place only"),
)


def list_groups(site: Site | None) -> tuple[QuestionGroup, ...]:
    """Every question; ``None``: of any rule set, nothing answered yet."""
    start = None if site is None else site.yard.starts[0]
    return (
        QuestionGroup("The door", _ask_door(site, start)),
        QuestionGroup("What the rules depend on", _ask_facts(site)),
        QuestionGroup("Who rides", _ask_rider(site)),
        QuestionGroup("The house and its people", _ask_people()),
    )


def _ask_door(site: Site | None, start: Start | None) -> tuple[Question, ...]:
    def length(value_m: float | None) -> str:
        if value_m is None or site is None:
            return ""
        return format_length(value_m, site.display.system, site.display.step_m)

    is_door = start is not None and start.kind != "edge"
    swing = start.swing if start is not None and is_door else ""
    hinge = start.hinge_side if start is not None and is_door else ""
    return (
        Question("Swings", ("in", "out"), "room before it", swing),
        Question("Hinges, looking out", ("left", "right"), "room at the latch", hinge),
        Question(
            "Clear opening", (), "width of the way", length(None if start is None else start.clear_width_m)
        ),
        Question("Storm or screen door", ("none", "swings out"), "its underside counts as well", ""),
        Question("Old steps", ("none", "stay", "go"), "a landing may stand over them", ""),
        Question("Furthest projection of wall or sill", (), "gap that a plate bridges", ""),
    )


def _ask_facts(site: Site | None) -> tuple[Question, ...]:
    wanted = [fact for fact, _, _ in QUESTIONS]
    if site is not None:
        asked = {fact for one in site.rulings.sets for fact in list_questions_of(one.rules.limits)}
        wanted = [fact for fact in wanted if fact in asked]
    facts = JobFacts() if site is None else site.start_facts[0]
    why = "" if site is None else ", ".join(one.rules.id for one in site.rulings.sets)
    choices = dict(_CHOICES)
    return tuple(
        Question(question, choices[fact], why, str(getattr(facts, fact) or "").replace("_", " "))
        for fact, question, _ in QUESTIONS
        if fact in wanted
    )


def _ask_rider(site: Site | None) -> tuple[Question, ...]:
    if site is None:
        answers = ("", "", "", "")
    else:
        rider = site.rider
        size = " x ".join(
            format_length(side_m, site.display.system, site.display.step_m)
            for side_m in (rider.device_length_m, rider.device_width_m)
        )
        answers = (size, _show_mass(site, rider.total_mass_kg), rider.propulsion, rider.better_hand)
    return (
        Question("Chair, length x width", (), "turning, clear width", answers[0]),
        Question("Weight WITH rider (kg or lb)", (), "rated loads", answers[1]),
        Question("Moves", ("alone", "pushed", "powered"), "how steep", answers[2]),
        Question("Better hand", ("left", "right", "either"), "side of the rail", answers[3]),
    )


def _show_mass(site: Site, mass_kg: float) -> str:
    """``125 kg``, or ``276 lb`` where the site shows feet or inches (1 lb is 0.45359237 kg by definition)."""
    if site.display.system in ("ft-in", "in"):
        return f"{mass_kg / 0.45359237:.0f} lb"
    return f"{mass_kg:.0f} kg"


def _ask_people() -> tuple[Question, ...]:
    return (
        Question("Own or rent; who must agree", (), "papers", ""),
        Question("Needed by (date)", (), "stock, delivery", ""),
        Question("Others who walk here; bins, bicycles", (), "steps beside the ramp", ""),
        Question("Pipes, cables, roots marked", ("yes", "no"), "no stake before that", ""),
        Question("Narrowest place from van to door", (), "longest piece", ""),
    )
