"""One jurisdiction and what it holds on one day: its own rules, those that it extends, and what it falls back on."""

import functools
import typing
from collections.abc import Iterator, Mapping
from datetime import date
from types import MappingProxyType

from msgspec import Struct

from service.allergenrules import AllergenName, Allergens, Exemption, Sulphites
from service.errors import InputFault
from service.nutritionrules import Energy, FoodClaim, Nutrition, NutritionTable
from service.ruleentry import Dated
from service.rulekinds import (
    Claim,
    Fill,
    FillTolerance,
    LabelLanguages,
    LabelText,
    LegalName,
    MenuCalories,
    MenuText,
    PourMeasure,
    PriceFloor,
    Serving,
    StandardDrink,
    Statement,
)

SINGLE: Mapping[str, type[Dated]] = MappingProxyType(
    {
        "standard_drink": StandardDrink,
        "energy": Energy,
        "nutrition": Nutrition,
        "allergens": Allergens,
        "sulphites": Sulphites,
        "menu_text": MenuText,
        "menu_calories": MenuCalories,
        "label_languages": LabelLanguages,
        "price_floor": PriceFloor,
    }
)
"""Kinds of which one entry applies on a day."""

KEYED: Mapping[str, type[Dated]] = MappingProxyType(
    {
        "exemption": Exemption,
        "claim": Claim,
        "food_claim": FoodClaim,
        "legal_name": LegalName,
        "fill": Fill,
        "fill_tolerance": FillTolerance,
        "serving": Serving,
        "label_text": LabelText,
        "statement": Statement,
        "pour_measure": PourMeasure,
    }
)
"""Kinds of which one entry for each ``key`` applies on a day."""

COMPETENT = "the competent authority"
"""Who decides where a file names nobody."""

FALLBACK_KINDS = ("energy", "allergens", "sulphites", "menu_text")
"""Kinds that are shown from the fallback where a jurisdiction has none of its own."""


class Rules(Struct, frozen=True):
    """What one jurisdiction holds on one day; ``held_by`` says from which code each kind was taken.

    ``ahead`` are statements that are adopted and not yet in force, and proposals: shown, never applied.
    """

    code: str
    name: str
    day: date
    rules_held: bool
    standard_drink: StandardDrink | None
    energy: Energy
    nutrition: NutritionTable | None
    allergens: Allergens
    sulphites: Sulphites
    menu_text: MenuText
    menu_calories: MenuCalories | None
    label_languages: LabelLanguages | None
    price_floor: PriceFloor | None
    exemptions: tuple[Exemption, ...]
    claims: tuple[Claim, ...]
    food_claims: tuple[FoodClaim, ...]
    legal_names: tuple[LegalName, ...]
    fills: tuple[Fill, ...]
    fill_tolerances: tuple[FillTolerance, ...]
    servings: tuple[Serving, ...]
    label_texts: tuple[LabelText, ...]
    statements: tuple[Statement, ...]
    pour_measures: tuple[PourMeasure, ...]
    ahead: tuple[Statement, ...]
    lineage: tuple[str, ...]
    authority: str
    held_by: Mapping[str, str]
    vocabulary: Mapping[str, AllergenName]

    def allergen_name(self, key: str) -> str:
        """The regime's word for an allergen, else that of the vocabulary."""
        return self.allergens.names.get(key) or self.vocabulary[key].name


class Jurisdiction(Struct, frozen=True, eq=False):
    """One file of ``data/jurisdictions`` with those that it extends or falls back on."""

    code: str
    name: str
    entries: Mapping[str, tuple[Dated, ...]]
    extends: "Jurisdiction | None"
    fallback: "Jurisdiction | None"
    tables: Mapping[str, tuple[NutritionTable, ...]]
    vocabulary: Mapping[str, AllergenName]
    authority: str | None = None

    def lineage(self) -> "Iterator[Jurisdiction]":
        """This jurisdiction, then the one that it extends, and so on."""
        place: Jurisdiction | None = self
        while place is not None:
            yield place
            place = place.extends

    def on(self, day: date) -> Rules:
        """The rules in force on that day."""
        return _rules_on(self, day)

    def dated(self, kind: str) -> tuple[Dated, ...]:
        """Every entry of one kind, own and inherited, past, future and proposed."""
        return tuple(entry for place in self.lineage() for entry in place.entries.get(kind, ()))


@functools.lru_cache(maxsize=4096)
def _rules_on(place: Jurisdiction, day: date) -> Rules:
    held_by: dict[str, str] = {}
    found: dict[str, typing.Any] = {}
    for kind in SINGLE:
        found[kind] = None
        for ancestor in place.lineage():
            current = [entry for entry in ancestor.entries.get(kind, ()) if entry.applies_on(day)]
            if current:
                found[kind] = max(current, key=lambda entry: entry.since)
                held_by[kind] = ancestor.code
                break
    rules_held = found["allergens"] is not None
    if place.fallback is not None:
        spare = place.fallback.on(day)
        for kind in FALLBACK_KINDS:
            if found[kind] is None:
                found[kind], held_by[kind] = getattr(spare, kind), spare.held_by[kind]
    for kind in FALLBACK_KINDS:
        if found[kind] is None:
            raise InputFault("rules_not_held", f"No {kind} rule of {place.code} is held for that day.")
    nutrition = found["nutrition"]
    found["nutrition"] = nutrition and _latest(place.tables[nutrition.table], day)
    found |= {f"{kind}s": _keyed_on(place, kind, day) for kind in KEYED}
    return Rules(
        code=place.code, name=place.name, day=day, rules_held=rules_held, **found,
        ahead=_ahead(place, day), lineage=tuple(ancestor.code for ancestor in place.lineage()),
        authority=next((one.authority for one in place.lineage() if one.authority), COMPETENT),
        held_by=MappingProxyType(held_by), vocabulary=place.vocabulary,
    )  # fmt: skip


def _ahead(place: Jurisdiction, day: date) -> tuple[Statement, ...]:
    """Statements that come into force later, and proposals made by that day; of each key those of the nearest."""
    found: list[Statement] = []
    nearer: set[str] = set()
    for ancestor in place.lineage():
        own = typing.cast(tuple[Statement, ...], ancestor.entries.get("statement", ()))
        found += [entry for entry in own if entry.key not in nearer and _is_ahead(entry, day)]
        nearer |= {entry.key for entry in own}
    return tuple(sorted(found, key=lambda entry: (entry.status == "proposal", entry.since)))


def _is_ahead(entry: Statement, day: date) -> bool:
    if entry.status == "proposal":
        return entry.since <= day and (entry.until is None or day <= entry.until)
    return day < entry.since and (entry.adopted is None or entry.adopted <= day)


def _latest(tables: tuple[NutritionTable, ...], day: date) -> NutritionTable | None:
    current = [table for table in tables if table.applies_on(day)]
    return max(current, key=lambda table: table.since) if current else None


def _keyed_on(place: Jurisdiction, kind: str, day: date) -> tuple[Dated, ...]:
    """Of each key the entry of the nearest jurisdiction of the line; parents first."""
    current: dict[str, Dated] = {}
    for ancestor in reversed(tuple(place.lineage())):
        own: dict[str, Dated] = {}
        for entry in ancestor.entries.get(kind, ()):
            if entry.applies_on(day) and (entry.key not in own or own[entry.key].since < entry.since):
                own[entry.key] = entry
        current.update(own)
    return tuple(current.values())
