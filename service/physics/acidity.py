"""Titratable acidity: what acids give to alkali, in mmol of H+. Equal titration is neither equal pH nor equal taste."""

from collections.abc import Mapping
from math import fsum
from types import MappingProxyType

from service.errors import DataFault, OutOfRange
from service.physics.tables import ACIDS

MMOL_PER_G: Mapping[str, float] = MappingProxyType(
    {name: 1000.0 * entry.scalar("protons") / entry.scalar("molar_mass_g_per_mol") for name, entry in ACIDS.items()}
)
"""mmol of H+ that one gram of each acid gives."""

NOTE = (
    "Equal titratable acidity (mmol H+: citric 3, malic 2, tartaric 2, lactic 1, acetic 1, phosphoric to its second "
    "step) is not equal pH and not equal taste: taste it before it is served."
)


def titratable_mmol(acids_g: Mapping[str, float]) -> float:
    """mmol of H+ that acids give to alkali up to about pH 8.2.

    n = 1000 sum of (m z / M)

    acids_g: grams by name, each with its molar mass M and counted protons z in ``data/tables/acids.toml``. Result in
    mmol.
    Range: masses of 0 or more; salts of the acids, which juices hold, give nothing and are not in the masses.

    >>> f"{titratable_mmol({'citric': 192.123}):.0f}"
    '3000'

    Source: definition of titratable acidity; molar masses from standard atomic weights.
    """
    terms = []
    for name, grams in acids_g.items():
        if name not in MMOL_PER_G:
            raise DataFault(f"No molar mass is held for '{name}'; known: {', '.join(sorted(MMOL_PER_G))}.")
        if not grams >= 0.0:
            raise OutOfRange(f"{name}_g", grams, 0.0, float("inf"), "a mass is never negative")
        terms.append(grams * MMOL_PER_G[name])
    return fsum(terms)
