"""Allergens and diet as the contract writes them, with a statement in words and the route of each."""

from collections.abc import Mapping, Sequence

from service.allergens import Declaration, Route
from service.evaluate import Evaluation
from service.evidence import STALE, Standing
from service.item import Item
from service.labelling import sulphites_figure
from service.leaves import Leaf
from service.report.figures import Json, shown
from service.report.foodclaims import food_claim_rows
from service.report.wording import Wording


def allergens_section(evaluation: Evaluation, declarations: Sequence[Declaration], wording: Wording) -> Json:
    """Every jurisdiction's declaration, the routes, sulphites and diet."""
    assert evaluation.sulphites is not None and evaluation.diet is not None
    routes: dict[Route, None] = {}
    for found in declarations:
        for route in found.routes:
            routes[route] = None
    diets = evaluation.diet
    stale = [row for row in evaluation.standings if row.state == STALE]
    return {
        "declarations": [_declaration(found, evaluation.leaves, stale, wording) for found in declarations],
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
        "claims": food_claim_rows(evaluation, declarations, wording),
        "sulphites_mg_per_l": _sulphites(evaluation.sulphites.mg_per_l),
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


def _sulphites(mg_per_l: float | None) -> float | None:
    """As it is judged, so that no figure is shown on the other side of the limit; under 1 mg/l finer."""
    return shown(mg_per_l) if mg_per_l is None or mg_per_l < 1 else float(sulphites_figure(mg_per_l))


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


def _declaration(found: Declaration, leaves: Mapping[str, Leaf], stale: Sequence[Standing], wording: Wording) -> Json:
    text, marks = wording.marks(lambda: statement(found, leaves, stale, wording))
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
        "statement": text,
        "source": found.rules.allergens.source,
        "standing": found.rules.allergens.standing,
        **marks,
    }


def statement(found: Declaration, leaves: Mapping[str, Leaf], stale: Sequence[Standing], wording: Wording) -> str:
    """The declaration in words; it never says that a drink is free from anything."""
    say, rules = wording.say, found.rules
    sentences: list[str] = []
    if found.contains:
        sentences.append(say("phrase.contains", names=_named(found, found.contains, wording)))
    if found.may_contain:
        sentences.append(say("phrase.may_contain", names=_named(found, found.may_contain, wording)))
    if found.unknown:
        items = _sources(found, leaves)
        names = _named(found, found.unknown, wording)
        if items:
            names = say("phrase.members", name=names, members=wording.word("phrase.item_separator").join(items))
        sentences.append(say("phrase.not_known", names=names))
    for key, open_to in found.open_groups.items():
        tools = [route.equipment for route in found.routes if route.allergen == key and route.equipment]
        items = list(dict.fromkeys(_called(leaf.item) for leaf in open_to)) or list(dict.fromkeys(tools))
        named = wording.word("phrase.item_separator").join(items)
        sentences.append(say("phrase.which_other", name=wording.allergen(rules, key), items=named))
    if found.exempted:
        sentences.append(say("phrase.exempt", names=_exempted(found, leaves, wording)))
    if not sentences:
        sentences.append(wording.word("phrase.none_declared"))
    if stale:
        names = wording.word("phrase.item_separator").join(dict.fromkeys(row.name for row in stale))
        sentences.append(say("phrase.to_be_renewed", names=names))
    assessed = found.cross_contact == "assessed"
    sentences.append(wording.word("phrase.cross_assessed" if assessed else "phrase.cross_not_assessed"))
    if not rules.rules_held:
        held_by = rules.held_by.get("allergens", "EU")
        sentences.append(say("phrase.rules_not_held", place=rules.name, code=held_by))
    return " ".join(sentences).replace("。 ", "。")  # a full-width stop has its space in itself


def _named(found: Declaration, keys: Sequence[str], wording: Wording) -> str:
    """Keys in words; members stand in brackets behind their group."""
    words: list[str] = []
    rules = found.rules
    separator = wording.word("phrase.separator")
    members = {member for key in keys for member in rules.allergens.members.get(key, ())}
    for key in keys:
        if key in members:
            continue
        group = rules.allergens.members.get(key, ())
        inner = [wording.allergen(rules, member) for member in group if member in keys]
        name = wording.allergen(rules, key)
        if key in found.recommended:
            name = wording.say("phrase.recommended", name=name)
        words.append(wording.say("phrase.members", name=name, members=separator.join(inner)) if inner else name)
    return separator.join(words)


def _exempted(found: Declaration, leaves: Mapping[str, Leaf], wording: Wording) -> str:
    """What is exempt, by the item it is in or may be in."""
    by_item: dict[str, list[str]] = {}
    for row in found.exempted:
        by_item.setdefault(row.item, []).append(wording.allergen(found.rules, row.allergen))
    separator = wording.word("phrase.separator")
    named = {item: _called(leaves[item].item) if item in leaves else item for item in by_item}
    rows = [
        wording.say("phrase.members", name=separator.join(words), members=named[item])
        for item, words in by_item.items()
    ]
    return wording.word("phrase.item_separator").join(rows)


def _sources(found: Declaration, leaves: Mapping[str, Leaf]) -> list[str]:
    names: dict[str, None] = {}
    for route in found.routes:
        if route.state == "unknown" and route.allergen in found.unknown:
            leaf = leaves.get(route.path[-1])
            if leaf is not None:
                names[_called(leaf.item)] = None
    return list(names)


def _called(item: Item) -> str:
    """A name inside a sentence: as the bar wrote it; of an embedded item with its first letter small."""
    name = item.name
    if item.origin != "reference":
        return name
    return name if name[:2].isupper() else name[:1].lower() + name[1:]
