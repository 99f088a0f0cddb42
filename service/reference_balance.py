"""Whether the values of one reference item can be true together: parts of a whole, masses, strength and density."""

from collections.abc import Mapping

from msgspec import Struct

from service.errors import OutOfRange
from service.item import Item
from service.physics import mixing
from service.physics.ethanol import ETHANOL_DENSITY_20C_KG_PER_M3
from service.reference_place import Place

DENSITY_TOLERANCE_G_PER_ML = 0.02
"""How far a stated density may lie from that of the stated strength and dissolved matter."""

MASS_SLACK_G = 0.5
"""What rounded table values may add up to above 100 g in 100 g."""

PARTS = (("sugars_g", "carbohydrate_g"), ("saturates_g", "fat_g"))
"""Constituents that are a part of another one."""

PARTS_SLACK_G = 0.02
"""What rounded sugars and sugar alcohols may add up to above the carbohydrate that they are a part of."""


class Content(Struct, frozen=True):
    """What 100 ml of an item are known to hold, in grams; of an item without a density, what 100 g hold."""

    amounts: Mapping[str, float]
    acids_g: Mapping[str, float]
    polyols_g: Mapping[str, float]
    ethanol_g: float

    @property
    def sugars_g(self) -> float:
        """Sugars, 0 where unknown."""
        return self.amounts.get("sugars_g", 0.0)

    @property
    def salt_g(self) -> float:
        """Salt, 0 where unknown."""
        return self.amounts.get("salt_g", 0.0)

    @property
    def other_g(self) -> Mapping[str, float]:
        """Protein, fat, fibre, polyols by name and the carbohydrate that is neither sugar nor polyol."""
        carbohydrate_g = self.amounts.get("carbohydrate_g", 0.0)
        other = {
            "starch": max(0.0, carbohydrate_g - self.sugars_g - sum(self.polyols_g.values())),
            "protein": self.amounts.get("protein_g", 0.0),
            "fat": self.amounts.get("fat_g", self.amounts.get("saturates_g", 0.0)),
            "fibre": self.amounts.get("fibre_g", 0.0),
        }
        return {**other, **self.polyols_g}

    @property
    def mass_g(self) -> float:
        """Everything known, each gram once."""
        dissolved_g = sum(self.acids_g.values()) + sum(self.other_g.values())
        return self.ethanol_g + self.sugars_g + self.salt_g + dissolved_g

    @property
    def density_g_per_ml(self) -> float:
        """Density of 100 ml when water fills them up; ``OutOfRange`` where there is no room for it all."""
        solutes = (self.sugars_g, self.acids_g, self.salt_g, self.other_g)
        return (mixing.water_g_for_volume(100.0, self.ethanol_g, *solutes) + self.mass_g) / 100.0


def checked_item(item: Item, place: Place) -> Item:
    """The same item, once its values agree."""
    if len(item.per_100) > 1 and item.density_g_per_ml is None:
        raise place.fault("density_g_per_ml", "values per 100 g and per 100 ml need a density to be one composition")
    if item.strength_varies and item.abv_percent is not None:
        raise place.fault("strength_varies", "a strength is stated")
    content = content_of(item)
    for part, whole in PARTS:
        if part in content.amounts and content.amounts[part] > content.amounts.get(whole, 1000.0) * 1.000001:
            raise place.fault(part, f"greater than {whole}")
    sweet_g = content.sugars_g + sum(content.polyols_g.values())
    if sweet_g > content.amounts.get("carbohydrate_g", 1000.0) + PARTS_SLACK_G:
        raise place.fault("polyols_g", "with sugars_g greater than carbohydrate_g, which holds them both")
    if item.density_g_per_ml is not None or all(composition.basis == "g" for composition in item.per_100):
        _check_mass(item, content, place)
    if item.abv_percent is not None or not all(composition.basis == "g" for composition in item.per_100):
        _check_volume(item, content, place)
    return item


def content_of(item: Item) -> Content:
    amounts: dict[str, float] = {}
    acids_g: dict[str, float] = {}
    polyols_g: dict[str, float] = {}
    for composition in item.per_100:
        factor = item.density_g_per_ml or 1.0 if composition.basis == "g" else 1.0
        for target, given in (
            (amounts, composition.amounts),
            (acids_g, composition.acids_g or {}),
            (polyols_g, composition.polyols_g or {}),
        ):
            target.update({key: grams * factor for key, grams in given.items()})
    ethanol_g = (item.abv_percent or 0.0) * ETHANOL_DENSITY_20C_KG_PER_M3 / 1000.0
    return Content(amounts, acids_g, polyols_g, ethanol_g)


def _check_mass(item: Item, content: Content, place: Place) -> None:
    """The constituents must not weigh more than the product; ethanol counts where its mass in 100 g is known."""
    density_g_per_ml = item.density_g_per_ml
    known_g = content.mass_g - (content.ethanol_g if density_g_per_ml is None else 0.0)
    if known_g > (100.0 + MASS_SLACK_G) * (density_g_per_ml or 1.0):
        raise place.fault("per_100", "the constituents weigh more than the product")


def _check_volume(item: Item, content: Content, place: Place) -> None:
    """The constituents must find room in 100 ml, and make up the stated density."""
    try:
        modelled = content.density_g_per_ml
    except OutOfRange as fault:
        raise place.fault("per_100", "the constituents do not find room in 100 ml") from fault
    stated = item.density_g_per_ml
    if item.abv_percent is None or stated is None:
        return
    if abs(modelled - stated) > DENSITY_TOLERANCE_G_PER_ML:
        text = f"strength and dissolved matter give {modelled:.3f} g/ml where {stated:g} is stated"
        raise place.fault("density_g_per_ml", text)
