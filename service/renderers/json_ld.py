"""A menu as linked data: schema.org for menu, figures and prices, the GS1 Web Vocabulary for strength and allergens.

Only what is known is stated, since linked data has no word for unknown: a figure that is null is left out, an allergen
that is not known stands in the statement in words, and no allergen is ever stated as free from. Diet is left out, for a
restricted diet is not what a spec can promise. The context is whole, so that nothing is fetched to read it.
"""

import json
from collections.abc import Sequence
from typing import Any

from service.renderers.menu import MenuRow
from service.renderers.phrases import ENGLISH, Phrases
from service.renderers.reading import Answer, Row, declaration_of
from service.renderers.vocabulary import terms

Node = dict[str, Any]

NUTRIENTS = (
    ("fatContent", "fat_g"),
    ("saturatedFatContent", "saturates_g"),
    ("carbohydrateContent", "carbohydrate_g"),
    ("sugarContent", "sugars_g"),
    ("fiberContent", "fibre_g"),
    ("proteinContent", "protein_g"),
)
"""Properties of NutritionInformation in grams; salt has none there and stands by the other vocabulary."""

LEVELS = (("contains", "CONTAINS"), ("may_contain", "MAY_CONTAIN"))


def menu_json_ld(
    answers: Sequence[Answer],
    rows: Sequence[MenuRow] | None = None,
    *,
    title: str | None = None,
    jurisdiction: str | None = None,
    phrases: Phrases = ENGLISH,
    language: str = "en",
) -> str:
    """The document: one Menu with its sections and items, in the words of one jurisdiction."""
    given = rows if rows is not None else [MenuRow()] * len(answers)
    menu: Node = {
        "@context": _context(),
        "@type": "Menu",
        "name": title or phrases["menu"],
        "inLanguage": language,
    }
    sections: dict[str | None, list[Node]] = {}
    for answer, row in zip(answers, given, strict=True):
        sections.setdefault(row.section, []).append(_item(answer, row, jurisdiction, language))
    for section, items in sections.items():
        if section is None:
            menu["hasMenuItem"] = items
        else:
            menu.setdefault("hasMenuSection", []).append(
                {"@type": "MenuSection", "name": section, "hasMenuItem": items}
            )
    return _safe(json.dumps(menu, ensure_ascii=False, allow_nan=False, indent=2)) + "\n"


def item_json_ld(
    answer: Answer, *, jurisdiction: str | None = None, phrases: Phrases = ENGLISH, language: str = "en"
) -> str:
    """A menu of one drink."""
    return menu_json_ld(
        [answer], title=answer["drink"]["name"], jurisdiction=jurisdiction, phrases=phrases, language=language
    )


def _safe(text: str) -> str:
    """JSON that stays what it is inside a page's script element: no sign in it ends one or opens a comment."""
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")


def _context() -> Node:
    spaces = {key: vocabulary.namespace for key, vocabulary in terms().vocabularies.items()}
    number = "http://www.w3.org/2001/XMLSchema#float"
    return {
        "@vocab": spaces["schema"],
        "gs1": spaces["gs1"],
        "gs1:percentageOfAlcoholByVolume": {"@type": number},
        "gs1:value": {"@type": number},
        "gs1:allergenType": {"@type": "@id"},
        "gs1:allergenLevelOfContainmentCode": {"@type": "@id"},
    }


def _item(answer: Answer, row: MenuRow, code: str | None, language: str) -> Node:
    drink, serve = answer["drink"], answer["serve"]
    item: Node = {"@type": ["MenuItem", "gs1:Beverage"], "identifier": drink["id"], "name": drink["name"]}
    if row.description is not None:
        item["description"] = row.description
    alcohol = answer.get("alcohol")
    if alcohol is not None and alcohol["abv_percent"] is not None:
        item["gs1:percentageOfAlcoholByVolume"] = _number(alcohol["abv_percent"])
    if serve["liquid_ml"] is not None and answer.get("nutrition") is not None:
        item["nutrition"] = _nutrition(answer)
    item |= _basis(answer) | _allergens(answer, declaration_of(answer, code), language)
    pack = answer.get("pack")
    if pack is not None and pack["net_ml"] is not None:
        item["gs1:netContent"] = _quantity("gs1:QuantitativeValue", float(pack["net_ml"]), "MLT")
    offer = _offer(answer, row)
    if offer is not None:
        item["offers"] = offer
    return item


def _number(figure: float) -> str:
    """A figure as the answer has it, digit for digit; a JSON number would become a double in its own notation."""
    return repr(figure)


def _nutrition(answer: Answer) -> Node:
    """What is known of one serve; each property is text with its unit, as schema.org has it."""
    figures = answer["nutrition"]["per_serve"]
    found: Node = {"@type": "NutritionInformation", "servingSize": f"{answer['serve']['liquid_ml']} ml"}
    if figures["energy_kcal"] is not None:
        found["calories"] = f"{figures['energy_kcal']} kcal"
    return found | {name: f"{figures[key]} g" for name, key in NUTRIENTS if figures[key] is not None}


def _basis(answer: Answer) -> Node:
    """Energy in kJ and salt in 100 ml, which schema.org has no property for."""
    hundred = (answer.get("nutrition") or {}).get("per_100_ml") or {}
    rows = (("gs1:energyPerNutrientBasis", "energy_kj", "KJO"), ("gs1:saltPerNutrientBasis", "salt_g", "GRM"))
    found = {
        name: _quantity("gs1:NutritionMeasurementType", hundred[key], unit)
        for name, key, unit in rows
        if hundred.get(key) is not None
    }
    basis = {"gs1:nutrientBasisQuantity": _quantity("gs1:QuantitativeValue", 100.0, "MLT")}
    return basis | found if found else {}


def _quantity(kind: str, figure: float, unit: str) -> Node:
    return {"@type": kind, "gs1:value": _number(figure), "gs1:unitCode": unit}


def _allergens(answer: Answer, declaration: Row | None, language: str) -> Node:
    """The statement in words, and by code what is contained or possibly there."""
    if declaration is None:
        return {}
    codes = {row["allergen"]: row["gs1"] for row in answer["allergens"]["routes"]}
    listed = terms().codes["AllergenTypeCode"]
    details = [
        {
            "@type": "gs1:AllergenDetails",
            "gs1:allergenType": f"gs1:AllergenTypeCode-{codes[key]}",
            "gs1:allergenLevelOfContainmentCode": f"gs1:LevelOfContainmentCode-{level}",
        }
        for state, level in LEVELS
        for key in declaration[state]
        if codes.get(key) in listed
    ]
    statement: Node = {
        "gs1:allergenStatement": {"@value": declaration["statement"], "@language": declaration.get("lang") or language}
    }
    return statement | ({"gs1:hasAllergen": details} if details else {})


def _offer(answer: Answer, row: MenuRow) -> Node | None:
    """The price on the menu; a suggested one is nobody's offer."""
    amount, currency = row.price, row.currency
    price = answer.get("price")
    if amount is None and price is not None and price["at_menu_price"] is not None:
        amount, currency = price["at_menu_price"]["menu_price"], price["currency"]
    if amount is None or currency is None:
        return None
    return {"@type": "Offer", "price": amount, "priceCurrency": currency}
