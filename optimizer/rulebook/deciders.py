"""Who has the last word on a rule set, in the one name that every report uses."""

from __future__ import annotations

import re
from typing import Final

from optimizer.rulebook.bound import DecidedBy, Role
from optimizer.rulebook.own_limits import OWN_LIMITS_ID

WHO: Final[dict[DecidedBy, str]] = {
    "authority": "the authority having jurisdiction",
    "funder": "the funder",
    "utility": "the utility",
    "landlord": "the landlord",
    "client": "the client",
}
#: How a rule set's statement ends on its own country's name for who decides.
_DECIDES: Final = re.compile(r"\s*The\s[^.]*\sdecides\.\s*$")


def is_for_the_authority(rules: str, role: Role, decided_by: DecidedBy) -> bool:
    """Whether the client may only choose to follow it: a published document that does not bind.

    Where it applies after all, no client can waive it.
    """
    return role != "binding" and decided_by == "client" and rules != OWN_LIMITS_ID


def name_decider(rules: str, role: Role, decided_by: DecidedBy) -> str:
    """Who decides on what is open in it."""
    if is_for_the_authority(rules, role, decided_by):
        return f"{WHO['authority']}, where the code applies,"
    return WHO[decided_by]


def say_decides(rules: str, role: Role, decided_by: DecidedBy) -> str:
    """Who decides, as a sentence without its stop."""
    if is_for_the_authority(rules, role, decided_by):
        return f"{WHO['authority']} decides where the code applies, the client whether to follow it"
    return f"{WHO[decided_by]} decides"


def name_confirmer(decided_by: DecidedBy) -> str:
    """Who confirms facts of the job: a client's word alone settles none of them."""
    return WHO["authority"] if decided_by == "client" else WHO[decided_by]


def restate(statement: str, rules: str, role: Role, decided_by: DecidedBy) -> str:
    """The statement of a rule set, ending on who decides on this job."""
    says = say_decides(rules, role, decided_by)
    return f"{_DECIDES.sub('', statement)} {says[:1].upper()}{says[1:]}."
