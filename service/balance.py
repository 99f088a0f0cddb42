"""Sugars and acid of the drink as handed over; figures only, no verdict of taste."""

from msgspec import Struct

from service.mixture import Mixture
from service.unknown import Missing


class Balance(Struct, frozen=True):
    """Grams in 100 ml of the finished drink, their ratio and its strength; ``None`` where something is unknown."""

    sugars_g_per_100_ml: float | None
    acid_g_per_100_ml: float | None
    sugar_to_acid: float | None
    abv_percent: float | None
    at_least: tuple[float, float] | None
    missing: tuple[Missing, ...]


def balance(liquid: Mixture | None, missing_water: tuple[Missing, ...]) -> Balance:
    """Sugars and acids per 100 ml and sugars over acids. Acids are grams as each part states them.

    ``sugar_to_acid`` needs some acid and both figures; it does not need the drink's volume.
    """
    if liquid is None or liquid.volume_ml <= 0:
        return Balance(None, None, None, None, None, missing_water)
    per_100 = 100.0 / liquid.volume_ml
    sugars, acids = liquid.content("sugars") * per_100, liquid.acids_g * per_100
    knows_sugars, knows_acids = liquid.knows("sugars_g"), liquid.knows("acids_g")
    ratio = sugars / acids if knows_sugars and knows_acids and acids > 0 else None
    return Balance(
        sugars if knows_sugars else None,
        acids if knows_acids else None,
        ratio,
        liquid.abv_percent,
        (sugars, acids),
        liquid.missing("sugars_g", "acids_g", "abv_percent"),
    )
