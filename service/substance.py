"""From a bought item to its substance: composition per gram or millilitre, density given or computed.

Order of the contract (arithmetic 2): a stated density is used; else strength and dissolved matter give it;
else, for an item with a strength and nothing else, that of ethanol and water with an assumption; else it is
unknown.
"""

from collections.abc import Mapping

from msgspec.structs import replace

from service.errors import InputFault, OutOfRange
from service.item import Composition, Item
from service.leaves import leaves_of_item
from service.mixture import ACID, POLYOL, Assumption, Substance, grams, modelled_volume_ml
from service.physics import mixing
from service.unknown import Missing, unknown_of

WITHOUT_ALCOHOL = frozenset(
    ("juice", "fruit", "dairy", "egg", "nut", "spice", "acid", "additive", "water", "ice", "syrup", "mixer")
)
"""Kinds whose items are taken to hold no ethanol unless a strength is stated; shown as an assumption."""

BY_MASS = frozenset(("fruit", "nut", "spice", "acid", "additive", "egg", "ice"))
"""Kinds kept by mass unless a density is stated (contract, amounts)."""

_WET = frozenset(("fruit", "egg"))
"""Kinds kept by mass that are mostly water, so that the model of a liquid gives their density."""

PURE = frozenset(("spirit", "water", "ice"))
"""Kinds that have no sugars, protein, fat, fibre, acids or polyols unless stated (contract, arithmetic 1)."""

ETHANOL_G_PER_ML = 0.789239
TOLERANCE_G = 1.5
"""How far constituents may exceed the mass of 100 ml: handbook densities and compositions come from different
samples."""

_PLAIN = {
    "sugars_g": "sugars", "carbohydrate_g": "carbohydrate", "protein_g": "protein", "fat_g": "fat",
    "saturates_g": "saturates", "fibre_g": "fibre", "salt_g": "salt", "caffeine_mg": "caffeine_mg",
    "quinine_mg": "quinine_mg", "sulphites_mg": "sulphites_mg", "glycyrrhizin_mg": "glycyrrhizin_mg",
}  # fmt: skip
NUTRIENTS = (
    "sugars_g",
    "carbohydrate_g",
    "protein_g",
    "fat_g",
    "saturates_g",
    "fibre_g",
    "salt_g",
    "acids_g",
    "polyols_g",
)
TRACES = ("caffeine_mg", "quinine_mg", "glycyrrhizin_mg")


NO_ALCOHOL_BY_KIND = "no_alcohol_by_kind"
"""The assumption of an item whose strength was only taken to be 0."""

DENSITY_ASSUMED = "density_assumed"
"""An assumption that is a warning too (contract, arithmetic 2)."""

LIGHTEST_G_PER_ML = 0.01
"""No food or drink is lighter; below it a density is a slip of the pen, and mass and volume would lose their sense."""

LIGHTEST_PIECE_G = 1e-6
"""A microgram: below it a piece is a slip of the pen, and its price would have hundreds of digits."""

ROUNDED_G = 0.5
"""How far a part may exceed its whole where both were rounded."""


def contents_per_100(composition: Composition) -> tuple[dict[str, float], set[str]]:
    """Constituents in the basis of ``composition`` and the names of the fields it states.

    Carbohydrate holds sugars and polyols, so that it counts at least as much where it is not stated or was
    rounded.
    """
    contents: dict[str, float] = {}
    stated: set[str] = set()
    for name, amount in composition.amounts.items():
        stated.add(name)
        if amount:
            contents[_PLAIN[name]] = amount
    if composition.acids_g is not None:
        stated.add("acids_g")
        contents.update((ACID + acid, amount) for acid, amount in composition.acids_g.items() if amount)
    if composition.polyols_g is not None:
        stated.add("polyols_g")
        contents.update((POLYOL + polyol, amount) for polyol, amount in composition.polyols_g.items() if amount)
    return contents, stated


def _with_whole(per_100: dict[str, float]) -> dict[str, float]:
    within = per_100.get("sugars", 0.0) + sum(amount for name, amount in per_100.items() if name.startswith(POLYOL))
    if within > per_100.get("carbohydrate", 0.0):
        per_100["carbohydrate"] = within
    return per_100


def _check_pieces(item: Item) -> None:
    weights = {"each_g": item.each_g, **{f"{name}/g": piece.g for name, piece in item.pieces.items()}}
    for place, weight_g in weights.items():
        if weight_g is not None and weight_g < LIGHTEST_PIECE_G:
            detail = f"No piece of {item.id} weighs less than a microgram; check the figure, which is in grams."
            raise InputFault("piece_mass_too_low", detail, f"/pieces/{place}")


def _check_parts(item: Item) -> None:
    """Refuses sugars above carbohydrate and saturates above fat."""
    for composition in item.per_100:
        for part, whole in (("sugars_g", "carbohydrate_g"), ("saturates_g", "fat_g")):
            amounts = composition.amounts
            if part in amounts and whole in amounts and amounts[part] > amounts[whole] + ROUNDED_G:
                detail = f"{part} of {item.id} is a part of {whole} and cannot exceed it."
                raise InputFault("composition_inconsistent", detail, f"/per_100/{part}")


def substance(item: Item) -> Substance:
    """The substance of a bought item. Raises ``InputFault`` where strength, density and composition cannot all hold."""
    if item.density_g_per_ml is not None and item.density_g_per_ml < LIGHTEST_G_PER_ML:
        detail = f"Nothing that is poured or eaten weighs less than {LIGHTEST_G_PER_ML} g per ml; check the unit."
        raise InputFault("density_too_low", detail, "/density_g_per_ml")
    _check_pieces(item)
    _check_parts(item)
    assumptions: list[Assumption] = []
    abv, unknown = _strength(item, assumptions)
    tables = [contents_per_100(composition) for composition in item.per_100]
    stated = set().union(*(names for _, names in tables)) if tables else set()
    unknown |= _unknown_nutrients(item, stated, assumptions)
    by_g = _merged(tables, item, "g")
    by_ml = _merged(tables, item, "ml")
    common = {
        "id": item.id, "name": item.name, "kind": item.kind, "origin": item.origin, "each_g": item.each_g,
        "pieces": item.pieces, "bulk_g_per_ml": item.bulk_g_per_ml, "leaves": leaves_of_item(item),
    }  # fmt: skip
    if item.density_g_per_ml is not None:
        body = _of_density(item, abv or 0.0, by_g, by_ml, item.density_g_per_ml)
    elif item.kind in BY_MASS and abv is not None and not abv and item.kind != "ice" and (by_g or not by_ml):
        body = _solid(item, by_g, stated, unknown, assumptions)
    elif stated or (item.kind in PURE and abv is not None) or item.kind in ("water", "ice"):
        if item.kind not in PURE and not stated & {"sugars_g", "carbohydrate_g"}:
            detail = "Dissolved matter that is not stated counts as 0 in the density, and in the density alone."
            assumptions.append(Assumption("dissolved_matter_unknown", detail, item.id))
        body = _of_strength(item, abv or 0.0, by_g, by_ml)
    elif item.abv_percent is not None:
        assumptions.append(
            Assumption(DENSITY_ASSUMED, "Density taken as that of ethanol and water of this strength.", item.id)
        )
        body = _of_strength(item, item.abv_percent, {}, {})
    else:
        unknown.add((item.id, "density_g_per_ml"))
        body = {"basis": "ml", "contents": {}, "density_g_per_ml": None, "excess_ml": 1.0}
    return Substance(**common, **body, unknown=unknown_of(unknown), assumptions=tuple(assumptions))  # type: ignore[arg-type]  # the two dicts hold the fields by name


def by_volume(made: Substance) -> Substance:
    """The substance of a thing kept by mass that is poured by volume, such as a purée.

    Wet things (fruit, egg) of known composition have the density that the model gives it. A thing of which nothing is
    known mixes at its volume, and its mass is unknown (contract, arithmetic 2). Any other is given back as it is.
    """
    if made.basis != "g" or made.bulk_g_per_ml is not None:
        return made
    if made.undissolved:
        unknown = made.unknown.with_pairs([(made.id, "density_g_per_ml")])
        return replace(made, basis="ml", contents={}, excess_ml=1.0, undissolved=False, unknown=unknown)
    if made.kind in _WET:
        ml_per_g = modelled_volume_ml(made.contents)
        contents = {name: amount / ml_per_g for name, amount in made.contents.items()}
        return replace(made, basis="ml", contents=contents, density_g_per_ml=1.0 / ml_per_g)
    return made


def _strength(item: Item, assumptions: list[Assumption]) -> tuple[float | None, set[Missing]]:
    if item.abv_percent is not None:
        return item.abv_percent, set()
    if item.strength_varies:
        return None, {(item.id, "abv_percent")}
    if item.kind in WITHOUT_ALCOHOL:
        if item.kind not in ("water", "ice"):
            assumptions.append(
                Assumption(NO_ALCOHOL_BY_KIND, "No strength stated: taken as 0 % vol, as its kind is.", item.id)
            )
        return 0.0, set()
    if item.origin == "reference" and item.per_100:
        return 0.0, set()
    return None, {(item.id, "abv_percent")}


def _unknown_nutrients(item: Item, stated: set[str], assumptions: list[Assumption]) -> set[Missing]:
    absent = [name for name in NUTRIENTS if name not in stated]
    if item.kind in PURE:
        if item.kind != "ice" and absent:
            detail = (
                f"No sugars, protein, fat, fibre, polyols, acids or salt stated: {item.kind} is taken to hold none."
            )
            assumptions.append(Assumption(f"{item.kind}_without_solids", detail, item.id))
        absent = []
    unknown = {(item.id, name) for name in absent}
    return unknown | {(item.id, name) for name in TRACES if name not in stated and item.kind not in PURE}


def _merged(tables: list[tuple[dict[str, float], set[str]]], item: Item, basis: str) -> dict[str, float]:
    merged: dict[str, float] = {}
    for composition, (contents, _) in zip(item.per_100, tables, strict=True):
        if composition.basis == basis:
            merged.update(contents)
    return merged


def _of_density(
    item: Item, abv: float, by_g: Mapping[str, float], by_ml: Mapping[str, float], density: float
) -> dict[str, object]:
    """Per millilitre, from a stated density: what is neither ethanol nor dissolved is water."""
    per_100 = _with_whole({name: amount * density for name, amount in by_g.items()} | dict(by_ml))
    ethanol = abv * ETHANOL_G_PER_ML
    water = 100.0 * density - ethanol - grams(per_100)
    if water < -TOLERANCE_G:
        raise InputFault(
            "composition_exceeds_mass",
            f"Strength, density and composition of {item.id} cannot all hold: together they exceed its mass.",
        )
    return _per_ml(per_100, ethanol, max(water, 0.0), density)


def _per_ml(per_100: Mapping[str, float], ethanol: float, water: float, density: float) -> dict[str, object]:
    contents = {name: amount / 100.0 for name, amount in per_100.items()}
    if ethanol:
        contents["ethanol"] = ethanol / 100.0
    contents["water"] = water / 100.0
    return {
        "basis": "ml",
        "contents": contents,
        "density_g_per_ml": density,
        "excess_ml": 1.0 - modelled_volume_ml(contents),
    }


def _of_strength(item: Item, abv: float, by_g: Mapping[str, float], by_ml: Mapping[str, float]) -> dict[str, object]:
    """Per millilitre, density by the model: water fills 100 ml beside ethanol and dissolved matter."""
    ethanol = abv * ETHANOL_G_PER_ML
    density = 1.0
    for _ in range(60 if by_g else 1):
        per_100 = _with_whole({name: amount * density for name, amount in by_g.items()} | dict(by_ml))
        water = _water_g(item, ethanol, per_100)
        found = (ethanol + water + grams(per_100)) / 100.0
        settled, density = abs(found - density) < 1e-13, found
        if settled:
            break
    return _per_ml(per_100, ethanol, water, density)


def _water_g(item: Item, ethanol: float, per_100: Mapping[str, float]) -> float:
    acids = {name[5:]: amount for name, amount in per_100.items() if name.startswith(ACID)}
    polyols = sum(amount for name, amount in per_100.items() if name.startswith(POLYOL))
    sugars = per_100.get("sugars", 0.0)
    other = {name: per_100[name] for name in ("protein", "fat", "fibre") if name in per_100}
    if polyols:
        other["polyols"] = polyols
    starch = per_100.get("carbohydrate", 0.0) - sugars - polyols
    if starch > 0:
        other["starch"] = starch
    try:
        return mixing.water_g_for_volume(100.0, ethanol, sugars, acids, per_100.get("salt", 0.0), other)
    except OutOfRange:
        raise InputFault(
            "composition_exceeds_mass", f"Strength and composition of {item.id} leave no room for water in 100 ml."
        ) from None


def _solid(
    item: Item, by_g: Mapping[str, float], stated: set[str], unknown: set[Missing], assumptions: list[Assumption]
) -> dict[str, object]:
    """Per gram: what is neither dissolved matter nor stated is water where the composition is stated at all."""
    per_100 = _with_whole(dict(by_g))
    contents = {name: amount / 100.0 for name, amount in per_100.items()}
    if not stated:
        assumptions.append(
            Assumption("solid_not_dissolved", "Composition unknown: taken to stay undissolved.", item.id)
        )
        return {"basis": "g", "contents": {}, "density_g_per_ml": None, "undissolved": True}
    rest = 100.0 - grams(per_100)
    if rest < -TOLERANCE_G:
        raise InputFault("composition_exceeds_mass", f"The constituents of {item.id} exceed 100 g per 100 g.")
    if rest > 0:
        contents["water"] = rest / 100.0
    return {"basis": "g", "contents": contents, "density_g_per_ml": None}
