"""The words of a comparison by language: one for each figure, state and unit, from ``data/languages``."""

from collections.abc import Mapping
from datetime import date
from types import MappingProxyType
from typing import Any, Final

from service.report.figures import Json
from service.report.wording import Wording
from service.rules import jurisdiction

FIGURES: Final[Mapping[str, tuple[str, str]]] = MappingProxyType({
    "abv_percent": ("print.strength", "unit.percent_vol"),
    "ethanol_g": ("print.ethanol", "unit.g"),
    "liquid_ml": ("print.compare_in_glass", "unit.ml"),
    "water_added_ml": ("print.compare_water", "unit.ml"),
    "sugars_g": ("print.nutrient_sugars", "unit.g"),
    "acid_g": ("print.compare_acids", "unit.g"),
    "energy_kcal": ("print.nutrient_energy", "unit.kcal"),
    "minutes": ("print.compare_work", "min"),
    "use_by_days": ("print.recipe_keeps", "d"),
})  # fmt: skip
"""Name in the answer, key of its words, and key of its unit or a symbol that is the same in every language."""

MONEY: Final[Mapping[str, str]] = MappingProxyType({
    "pour_cost": "print.cost", "suggested_price": "print.compare_price",
})  # fmt: skip
"""Figures of money, in the currency of the answer."""

STATES: Final[Mapping[str, str]] = MappingProxyType({
    "contains": "heading.contains", "may_contain": "heading.may_contain", "unknown": "heading.not_known",
    "partly_unknown": "print.cell_partly", "gained": "print.compare_gained", "lost": "print.compare_lost",
})  # fmt: skip
"""States of an allergen, and what came and went against the first drink."""

OTHERS: Final = {
    "title": "print.compare_title",
    "figure": "print.compare_figure",
    "lost_note": "print.compare_lost_note",
}


def compared_labels(answer: Mapping[str, Any], wording: Wording) -> Json:
    """The words for an answer of POST /v1/compare, with the allergens that it names as terms."""
    keys = {**OTHERS, **{name: key for name, (key, _) in FIGURES.items()}, **STATES}
    if all("money" in drink for drink in answer["drinks"]):
        keys |= MONEY
    headings = {name: wording.word(key) for name, key in keys.items()}
    held = dict.fromkeys(unit for _, unit in FIGURES.values() if "." in unit)
    units = {unit.partition(".")[2]: wording.word(unit) for unit in held}
    day = date.fromisoformat(answer["meta"]["as_of"])
    for drink in answer["drinks"]:
        for row in drink["allergens"]:
            rules = jurisdiction(row["jurisdiction"]).on(day)
            for key in dict.fromkeys(key for state in STATES for key in row[state] or ()):
                wording.allergen(rules, key)
    return {
        "asked": wording.asked, "lang": wording.language.code, "name": wording.language.name,
        "fallback": wording.language.stands_in, "headings": headings, "units": units,
        "terms": wording.terms(), "missing": wording.missing(),
    }  # fmt: skip
