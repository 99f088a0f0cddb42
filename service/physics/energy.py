"""Food energy: grams times the factors that a regime prescribes."""

from collections.abc import Mapping
from math import fsum

from service.errors import DataFault


def energy(grams: Mapping[str, float], factors: Mapping[str, float]) -> float:
    """Energy of so many grams of each nutrient.

    E = sum of m_i f_i

    grams: g by nutrient. factors: kJ/g or kcal/g by nutrient, of one regime. Result in kJ or kcal, as the
    factors.
    Range: every nutrient in ``grams`` has a factor, or ``DataFault`` is raised: a missing one is never taken
    as 0.

    >>> energy({"ethanol": 10.0, "carbohydrate": 5.0}, {"ethanol": 7.0, "carbohydrate": 4.0, "fat": 9.0})
    90.0

    Source: the factors', e.g. Regulation (EU) No 1169/2011, annex XIV.
    """
    missing = sorted(grams.keys() - factors.keys())
    if missing:
        raise DataFault(f"No energy factor for '{missing[0]}'; factors are held for {', '.join(sorted(factors))}.")
    return fsum(mass_g * factors[nutrient] for nutrient, mass_g in grams.items())
