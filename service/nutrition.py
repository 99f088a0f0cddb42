"""Energy and nutrients of one serve and of 100 ml, by each regime's factors; what is missing is named."""

from collections.abc import Mapping
from datetime import date
from math import fsum

from msgspec import Struct

from service.mixture import ACID, POLYOL, Mixture
from service.rules import Rules, jurisdiction
from service.unknown import Missing

ENERGY_FIELDS = ("abv_percent", "carbohydrate_g", "protein_g", "fat_g", "fibre_g", "polyols_g", "acids_g")
"""What energy needs (contract, arithmetic 8)."""

NUTRIENT_FIELDS = (
    ("fat_g", "fat"), ("saturates_g", "saturates"), ("carbohydrate_g", "carbohydrate"), ("sugars_g", "sugars"),
    ("fibre_g", "fibre"), ("protein_g", "protein"), ("salt_g", "salt"),
)  # fmt: skip

ENERGY_BASIS = "EU"
"""The regime by whose factors the plain figures are given: Annex XIV of Regulation (EU) 1169/2011."""

ENERGY_SINCE = date(2014, 12, 13)
"""The day from which that regulation applies (its Article 55)."""

MINERAL_ACIDS = frozenset((ACID + "phosphoric",))
"""Acids without energy: they are not organic."""


class EnergyFigures(Struct, frozen=True):
    """Energy of one amount under one regime; ``None`` where something it needs is unknown."""

    energy_kj: float | None
    energy_kcal: float | None
    at_least_kj: float | None
    at_least_kcal: float | None
    missing: tuple[Missing, ...]


class Nutrition(Struct, frozen=True):
    """Nutrients of one serve in grams, ``None`` where unknown; ``known`` are the sums of what is known."""

    nutrients: Mapping[str, float | None]
    known: Mapping[str, float]
    missing: tuple[Missing, ...]
    volume_ml: float | None
    drink: Mixture


def basis_on(day: date) -> Rules:
    """The rules whose factors the plain figures use; before they were in force, those they began with."""
    return jurisdiction(ENERGY_BASIS).on(max(day, ENERGY_SINCE))


def nutrition(drink: Mixture, volume_ml: float | None) -> Nutrition:
    """Nutrients of what is drunk and eaten; ``volume_ml`` is that of the liquid (``None``: its water is unknown)."""
    known = {name: drink.content(key) for name, key in NUTRIENT_FIELDS}
    known["polyols_g"] = drink.polyols_g
    known["acids_g"] = drink.acids_g
    unknown = drink.unknown.fields
    nutrients = {name: None if name in unknown else amount for name, amount in known.items()}
    nutrients["alcohol_g"] = None if "abv_percent" in unknown else drink.ethanol_g
    known["alcohol_g"] = drink.ethanol_g
    return Nutrition(
        nutrients, known, drink.missing(*ENERGY_FIELDS, "sugars_g", "saturates_g", "salt_g"), volume_ml, drink
    )


def energy(drink: Mixture, rules: Rules) -> EnergyFigures:
    """Energy by a regime's factors: kJ and kcal each with their own, or Calories as kJ / 4.18, or kcal alone.

    E = sum of mass x factor over carbohydrate without polyols, polyols by name, protein, fat, ethanol, organic acids
    and fibre.
    """
    factors = rules.energy
    missing = list(drink.missing(*ENERGY_FIELDS))
    unnamed = drink.content(POLYOL + "unspecified") > 0 and "polyols" not in (factors.kcal or factors.kj)
    if unnamed:
        missing.append(("polyols", "polyols_g"))
    kj = _sum(drink, factors.kj, factors.polyols_kj) if factors.kj else None
    if factors.mode == "kj_over_4_18":
        kcal = None if kj is None else kj / 4.18
    else:
        kcal = _sum(drink, factors.kcal, factors.polyols_kcal) if factors.kcal else None
    if missing:
        return EnergyFigures(None, None, kj, kcal, tuple(missing))
    return EnergyFigures(kj, kcal, kj, kcal, ())


def _sum(drink: Mixture, by_class: Mapping[str, object], by_polyol: Mapping[str, object]) -> float:
    factor = _floats(by_class)
    own = _floats(by_polyol)
    polyols = acids = 0.0
    terms: list[float] = []
    for name, grams in drink.contents.items():
        if name.startswith(POLYOL):
            polyols += grams
            terms.append(grams * own.get(name[len(POLYOL) :], factor.get("polyols", 0.0)))
        elif name.startswith(ACID) and name not in MINERAL_ACIDS:
            acids += grams
    # Sugars are never less than known: tables by difference can leave less carbohydrate than their sugars and polyols.
    carbohydrate = max(drink.content("carbohydrate") - polyols, drink.content("sugars"))
    terms += (
        carbohydrate * factor["carbohydrate"],
        acids * factor.get("organic_acids", factor["carbohydrate"]),
        drink.content("protein") * factor["protein"],
        drink.content("fat") * factor["fat"],
        drink.content("ethanol") * factor["ethanol"],
        drink.content("fibre") * factor.get("fibre", 0.0),
    )
    return fsum(terms)


_float_tables: dict[int, tuple[Mapping[str, object], dict[str, float]]] = {}


def _floats(table: Mapping[str, object]) -> dict[str, float]:
    """A frozen table of the rules as floats, kept because the rules live as long as the service."""
    known = _float_tables.get(id(table))
    if known is None or known[0] is not table:
        known = (table, {key: float(value) for key, value in table.items()})  # type: ignore[arg-type]  # decimals
        _float_tables[id(table)] = known
    return known[1]


def declared_figures(found: Nutrition, figures: EnergyFigures, share: float) -> dict[str, float | None]:
    """Unrounded figures for a declaration: those of one serve times ``share`` (1, or 100 / volume)."""
    rows: dict[str, float | None] = {
        name: None if amount is None else amount * share for name, amount in found.nutrients.items()
    }
    rows["energy_kj"] = None if figures.energy_kj is None else figures.energy_kj * share
    rows["energy_kcal"] = None if figures.energy_kcal is None else figures.energy_kcal * share
    return rows
