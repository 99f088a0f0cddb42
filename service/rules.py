"""The dated rules of ``service/data``: read once, checked key by key, frozen, and asked by day.

``rules()`` is the book; ``jurisdiction(code).on(day)`` is what one jurisdiction holds on one day. A later
rule is an entry with a later ``since``; a proposal is kept for showing and never applied. A jurisdiction that
``extends`` another takes its rules, kind by kind and key by key, unless it has its own. One that holds no
food rules has a ``fallback``: the list of allergens, the sulphites threshold, the energy factors and the menu
wording shown are those of the fallback, ``rules_held`` is false, and no exemption is taken over, so that
nothing is left unsaid on a rule not read.
"""

import difflib
import functools
from datetime import date
from pathlib import Path

from service.cautionrules import Advisory
from service.errors import InputFault
from service.jurisdiction import Jurisdiction, Rules
from service.rulebook import RuleBook, rule_book

__all__ = ["DATA", "Jurisdiction", "RuleBook", "Rules", "advisories_on", "codes", "jurisdiction", "rule_book", "rules"]

DATA = Path(__file__).parent / "data"


def codes() -> tuple[str, ...]:
    """All known codes, sorted."""
    return tuple(rules().jurisdictions)


def jurisdiction(code: str) -> Jurisdiction:
    """The jurisdiction of that code; an unknown one is refused with the nearest."""
    known = rules().jurisdictions
    if code in known:
        return known[code]
    wanted = code.upper()
    # UK is asked for where GB is meant: the initials of a name are the commonest wrong code.
    near = [place.code for place in known.values() if "".join(word[0] for word in place.name.split()) == wanted]
    near += [region for region in known if region.split("-")[0] == wanted.split("-")[0]]
    near += difflib.get_close_matches(wanted, known, n=3, cutoff=0.4)
    near = list(dict.fromkeys(near))[:3]
    advice = f"nearest: {', '.join(near)}" if near else f"known: {', '.join(known)}"
    raise InputFault("jurisdiction_unknown", f"Give EU or an ISO 3166 code that is held; {advice}.")


@functools.lru_cache(maxsize=4096)
def advisories_on(code: str, day: date) -> tuple[Advisory, ...]:
    """The advisories that hold in a jurisdiction on a day, in the order of the file."""
    lineage = {place.code for place in jurisdiction(code).lineage()}
    return tuple(
        advisory
        for advisory in rules().advisories
        if advisory.applies_on(day)
        and (not advisory.jurisdictions or lineage.intersection(advisory.jurisdictions))
        and not lineage.intersection(advisory.not_in)
    )


@functools.cache
def rules() -> RuleBook:
    """The rules of this installation, read once."""
    return rule_book(DATA)
