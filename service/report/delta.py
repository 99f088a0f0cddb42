"""What modifiers change of an answer: every figure as answered before, and by how much the answer differs from it.

Differences are of the figures as shown, so that base and change are together what the answer says.
"""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from service.allergens import Declaration
from service.report import answer
from service.report.figures import Json
from service.report.wording import Wording
from service.variation import Variation

STATES = ("contains", "may_contain", "unknown")
PARTLY = "partly_unknown"

MEASURED_WATER = (
    "The water of ice was measured for the drink as it is written: it is taken for the modified one too, and grows "
    "with a factor for the whole spec alone. Measure again where the modified drink is sold."
)

Shown = dict[str, Any]
"""A part of an answer as it was written."""


def answer_with_delta(found: Variation, request_sha256: str, wording: Wording | None = None) -> Json:
    """The answer of the modified drink, with what differs from the drink as it is written in ``delta``."""
    body = answer(found.modified, request_sha256, wording)
    body["delta"] = _delta(found, answer(found.base, request_sha256), body)
    return body


def _delta(found: Variation, base: Shown, body: Shown) -> Json:
    row: Json = {"with": list(found.ids)}
    if "cost" in body:
        row["cost"] = _cost(base["cost"], body["cost"])
    if "price" in body:
        row["price"] = _price(base["price"] or {}, body["price"] or {}, found.price_delta)
    if "alcohol" in body:
        row["alcohol"] = _alcohol(base["alcohol"], body["alcohol"])
    if "nutrition" in body:
        before, after = base["nutrition"]["per_serve"], body["nutrition"]["per_serve"]
        row["nutrition"] = {name: _figure(before[name], after[name]) for name in ("energy_kj", "energy_kcal")}
    if found.base.declarations is not None and found.modified.declarations is not None:
        pairs = zip(found.base.declarations, found.modified.declarations, strict=True)
        row["allergens"] = [_allergens(before, after) for before, after in pairs]
    known = {_caution(caution) for caution in base["advisories"]}
    gained = [caution["code"] for caution in body["advisories"] if _caution(caution) not in known]
    row["advisories_gained"] = list(dict.fromkeys(gained))
    row["notes"] = [MEASURED_WATER] if _measured_ml(found) else []
    return row


def _measured_ml(found: Variation) -> bool:
    water = found.base.request.drink.method.water
    return water is not None and water.ml is not None


def _cost(before: Shown, after: Shown) -> Json:
    same = before["currency"] == after["currency"]
    row: Json = {"currency": after["currency"]}
    for name in ("pour_cost", "serve_cost"):
        row[name] = _money(before[name] if same else None, after[name])
    return row


def _price(before: Shown, after: Shown, price_delta: Decimal | None) -> Json:
    menu_before, menu_after = before.get("at_menu_price"), after.get("at_menu_price")
    menu = None
    if menu_before is not None and menu_after is not None:
        menu = _money(menu_before["menu_price"], menu_after["menu_price"])
    return {
        "currency": after.get("currency"),
        "suggested": _money(before.get("suggested"), after.get("suggested")),
        "menu_price": menu,
        "price_delta": None if price_delta is None else format(price_delta, "f"),
    }


def _alcohol(before: Shown, after: Shown) -> Json:
    names = ("abv_percent", "ethanol_ml", "ethanol_g")
    row: Json = {name: _figure(before[name], after[name]) for name in names}
    counts = {drinks["jurisdiction"]: drinks["count"] for drinks in before["standard_drinks"]}
    row["standard_drinks"] = [
        {"jurisdiction": code, **_figure(counts.get(code), drinks["count"])}
        for drinks in after["standard_drinks"]
        for code in (drinks["jurisdiction"],)
    ]
    return row


def _figure(before: float | None, after: float | None) -> Json:
    change = None
    if before is not None and after is not None:
        # Both are short decimals; their difference as doubles would have a tail that nobody computed.
        change = float(Decimal(repr(after)) - Decimal(repr(before)))
    return {"base": before, "change": change}


def _money(before: str | None, after: str | None) -> Json:
    change = None if before is None or after is None else format(Decimal(after) - Decimal(before), "f")
    return {"base": before, "change": change}


def _caution(row: Shown) -> tuple[object, ...]:
    return row["code"], tuple(row["jurisdictions"]), tuple(row["items"])


def _allergens(before: Declaration, after: Declaration) -> Json:
    """What comes in is told by each state that it comes into; what goes, only where it is in no state any more."""
    was, now = _by_state(before), _by_state(after)
    still = _still(after)
    gained = {state: [key for key in now[state] if key not in was[state]] for state in STATES}
    lost = {state: [key for key in was[state] if key not in still] for state in STATES}
    open_before, open_now = _open_groups(before), _open_groups(after)
    # A group that is told apart now, or in none any more; one that is not known at all is no better known than before.
    gained[PARTLY] = [key for key in open_now if key not in open_before]
    lost[PARTLY] = [key for key in open_before if key not in open_now and key not in now["unknown"]]
    return {"jurisdiction": after.rules.code, "gained": gained, "lost": lost, "note": _note(before, after)}


def _open_groups(found: Declaration) -> list[str]:
    """Groups that are declared while it is not known which of their members are in the drink."""
    named = (*found.contains, *found.may_contain)
    members = found.rules.allergens.members
    unnamed = [key for key in named if members.get(key) and not any(member in named for member in members[key])]
    return [key for key in dict.fromkeys(named) if key in found.open_groups or key in unnamed]


def _still(found: Declaration) -> frozenset[str]:
    """Keys that nobody may call gone: listed in any state, exempt, a member of such a group or the group of such a key.

    A group may stand there for any of its members, and what is exempt is in a source all the same.
    """
    groups = {key: word.group for key, word in found.rules.vocabulary.items() if word.group is not None}
    named = {key for keys in _by_state(found).values() for key in keys} | {row.allergen for row in found.exempted}
    around = {groups[key] for key in named if key in groups}
    return frozenset(named | around | {key for key, group in groups.items() if group in named})


def _by_state(found: Declaration) -> dict[str, tuple[str, ...]]:
    return {"contains": found.contains, "may_contain": found.may_contain, "unknown": found.unknown}


def _note(before: Declaration, after: Declaration) -> str:
    """What to make of an allergen that a modifier leaves out; empty where it leaves none out."""
    left_out = [key for key in before.contains if key not in after.contains]
    if not left_out:
        return ""
    still = _still(after)
    rows = (
        ("Left out, still used at the bar, not to be read as free of", [key for key in left_out if key not in still]),
        ("Left out, may still get in", [key for key in left_out if key in after.may_contain]),
        ("Not known whether it is still in it", [key for key in left_out if key in after.unknown]),
        (
            "Left out, related or exempt sources stay",
            [key for key in left_out if key in still and not _listed(after, key)],
        ),
    )
    sentences = [f"{words}: {_named(after, keys)}." for words, keys in rows if keys]
    assessed = after.cross_contact == "assessed"
    sentences.append("Cross-contact assessed by the house." if assessed else "Cross-contact not assessed.")
    return " ".join(sentences)


def _listed(found: Declaration, key: str) -> bool:
    return key in found.may_contain or key in found.unknown


def _named(found: Declaration, keys: Sequence[str]) -> str:
    return ", ".join(found.rules.allergen_name(key) for key in keys)
