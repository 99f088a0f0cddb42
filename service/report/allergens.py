"""Allergens and diet as the contract writes them, with a statement in words and the route of each."""

from collections.abc import Mapping, Sequence

from service.allergens import Declaration, Route
from service.evaluate import Evaluation
from service.evidence import STALE, Standing
from service.leaves import Leaf
from service.report.figures import Json, shown


def allergens_section(evaluation: Evaluation, declarations: Sequence[Declaration]) -> Json:
    """Every jurisdiction's declaration, the routes, sulphites and diet."""
    assert evaluation.sulphites is not None and evaluation.diet is not None
    routes: dict[Route, None] = {}
    for found in declarations:
        for route in found.routes:
            routes[route] = None
    diets = evaluation.diet
    stale = [row for row in evaluation.standings if row.state == STALE]
    return {
        "declarations": [_declaration(found, evaluation.leaves, stale) for found in declarations],
        "routes": [_route(route, declarations[0]) for route in sorted(routes, key=_route_order)],
        "evidence": [
            {
                "item": row.item,
                "state": row.state,
                "why": row.why,
                "review_by": None if row.review_by is None else row.review_by.isoformat(),
            }
            for row in evaluation.standings
        ],
        "sulphites_mg_per_l": shown(evaluation.sulphites.mg_per_l),
        "diet": {
            "vegan": diets.vegan,
            "vegetarian": diets.vegetarian,
            "routes": [{"diet": name, "answer": answer, "path": list(path)} for name, answer, path in diets.routes],
            "assumed": [
                {"item": item, "detail": "A distillate with nothing added, taken as free of anything of animal origin."}
                for item in diets.assumed
            ],
            "note": "Not an allergen statement.",
        },
    }


def _route_order(route: Route) -> tuple[str, tuple[str, ...], str, str]:
    return route.allergen, route.path, route.state, route.equipment or ""


def _route(route: Route, declared: Declaration) -> Json:
    return {
        "allergen": route.allergen,
        "state": route.state,
        "path": list(route.path),
        "equipment": route.equipment,
        "gs1": declared.rules.vocabulary[route.allergen].gs1,
    }


def _declaration(found: Declaration, leaves: Mapping[str, Leaf], stale: Sequence[Standing]) -> Json:
    return {
        "jurisdiction": found.rules.code,
        "contains": list(found.contains),
        "may_contain": list(found.may_contain),
        "unknown": list(found.unknown),
        "partly_unknown": list(found.open_groups),
        "recommended": list(found.recommended),
        "exempt": [
            {"allergen": row.allergen, "item": row.item, "source": row.source, "standing": row.standing}
            for row in found.exempted
        ],
        "cross_contact": found.cross_contact,
        "rules_held": found.rules.rules_held,
        "statement": statement(found, leaves, stale),
        "source": found.rules.allergens.source,
        "standing": found.rules.allergens.standing,
    }


def statement(found: Declaration, leaves: Mapping[str, Leaf], stale: Sequence[Standing] = ()) -> str:
    """The declaration in words; it never says that a drink is free from anything."""
    sentences: list[str] = []
    if found.contains:
        sentences.append(f"Contains {_named(found, found.contains)}.")
    if found.may_contain:
        sentences.append(f"May contain {_named(found, found.may_contain)}.")
    if found.unknown:
        sources = _sources(found, leaves)
        named = f" ({sources})" if sources else ""
        sentences.append(f"Not known: {_named(found, found.unknown)}{named}.")
    for key, open_to in found.open_groups.items():
        names = "; ".join(dict.fromkeys(_sentence_case(leaf.item.name) for leaf in open_to))
        sentences.append(f"Which other {found.rules.allergen_name(key)} are in it is not known ({names}).")
    if found.exempted:
        sentences.append(f"Exempt from declaration, not to be read as free of: {_exempted(found, leaves)}.")
    if not sentences:
        sentences.append("No listed allergen is declared by any part.")
    if stale:
        names = "; ".join(dict.fromkeys(_sentence_case(row.name) for row in stale))
        sentences.append(f"Declarations to be renewed, so that more may be in it: {names}.")
    assessed = found.cross_contact == "assessed"
    sentences.append("Cross-contact assessed by the house." if assessed else "Cross-contact not assessed.")
    if not found.rules.rules_held:
        held_by = found.rules.held_by.get("allergens", "EU")
        sentences.append(
            f"No allergen rules of {found.rules.name} are held; the list shown is that of {held_by}: "
            "check the local one."
        )
    return " ".join(sentences)


def _named(found: Declaration, keys: Sequence[str]) -> str:
    """Keys in the regime's words; members stand in brackets behind their group."""
    words: list[str] = []
    members = {member for key in keys for member in found.rules.allergens.members.get(key, ())}
    for key in keys:
        if key in members:
            continue
        group = found.rules.allergens.members.get(key, ())
        inner = [found.rules.allergen_name(member) for member in group if member in keys]
        name = found.rules.allergen_name(key)
        if key in found.recommended:
            name += " (recommended)"
        words.append(f"{name} ({', '.join(inner)})" if inner else name)
    return ", ".join(words)


def _exempted(found: Declaration, leaves: Mapping[str, Leaf]) -> str:
    """What is exempt, by the item it is in or may be in."""
    by_item: dict[str, list[str]] = {}
    for row in found.exempted:
        by_item.setdefault(row.item, []).append(found.rules.allergen_name(row.allergen))
    named = {item: _sentence_case(leaves[item].item.name) if item in leaves else item for item in by_item}
    return "; ".join(f"{', '.join(words)} ({named[item]})" for item, words in by_item.items())


def _sources(found: Declaration, leaves: Mapping[str, Leaf]) -> str:
    names: dict[str, None] = {}
    for route in found.routes:
        if route.state == "unknown" and route.allergen in found.unknown:
            leaf = leaves.get(route.path[-1])
            if leaf is not None:
                names[_sentence_case(leaf.item.name)] = None
    return "; ".join(names)


def _sentence_case(name: str) -> str:
    """A name inside a sentence: its first letter small unless the word is in capitals."""
    return name if name[:2].isupper() else name[:1].lower() + name[1:]
