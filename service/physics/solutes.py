"""Acids, salt and other dissolved or suspended matter: the room that a gram takes in water at 20 C."""

from collections.abc import Mapping
from types import MappingProxyType

from service.errors import DataFault, OutOfRange
from service.physics.tables import SOLUTES, Entry

KINDS = ("acid", "salt", "other")


def _names(kind: str) -> frozenset[str]:
    return frozenset(name for name, entry in SOLUTES.items() if entry.text("kind") == kind)


def _volume_terms(entry: Entry) -> tuple[float, float, float]:
    if entry.text("kind") not in KINDS:
        raise DataFault(f"{entry.name}: 'kind' must be one of {', '.join(KINDS)}.")
    return entry.scalar("a"), entry.scalar("b"), entry.scalar("w_max")


TERMS: Mapping[str, tuple[float, float, float]] = MappingProxyType(
    {name: _volume_terms(entry) for name, entry in SOLUTES.items()}
)
"""a, b and w_max of each solute."""

ACIDS = _names("acid")
OTHERS = _names("other")
SALT = "sodium_chloride"

ESTIMATES = frozenset(name for name, entry in SOLUTES.items() if entry.standing == "memory")
"""Solutes whose figure is an estimate and not a measured density."""


def source(name: str) -> str:
    """Where the figure of one solute comes from, with its standing."""
    entry = SOLUTES[name]
    return f"{entry.source} ({entry.standing})"


def specific_volume_ml_per_g(name: str, mass_fraction: float) -> float:
    """Room that one gram of a solute takes in its own water at 20 C (apparent specific volume).

    phi = a + b w, so that water / rho_w + solute phi is the volume of the solution

    name: a solute of ``data/tables/solutes.toml``. mass_fraction w: solute / (solute + water) by mass, 0 to
    1. Result in ml/g.
    Range: w to 0.20-0.80 by solute (``w_max``), held there above it. Density is met within 1e-4 g/ml for
    citric acid, 5e-4 for phosphoric, acetic acid and salt, 4e-3 for lactic; the others are estimates.

    >>> f"{specific_volume_ml_per_g('citric', 0.2):.4f}"
    '0.5983'

    Source: handbook tables of aqueous solutions at 20 C, fitted; see the table for each solute.
    """
    if not 0.0 <= mass_fraction <= 1.0:
        raise OutOfRange("solute_mass_fraction", mass_fraction, 0.0, 1.0, "definition of a mass fraction")
    terms = TERMS.get(name)
    if terms is None:
        raise DataFault(f"No specific volume is held for a solute named '{name}'; known: {', '.join(sorted(TERMS))}.")
    a, b, w_max = terms
    return a + b * min(mass_fraction, w_max)


def volume_ml(name: str, solute_g: float, water_g: float) -> float:
    """Room that a solute takes in the water that it shares a drink with, at 20 C.

    V = m phi(w), w = m / (m + water)

    name: a solute of ``data/tables/solutes.toml``. solute_g, water_g: g. Result in ml.
    Range: as ``specific_volume_ml_per_g``; without water the figure at ``w_max`` serves.

    >>> f"{volume_ml('sodium_chloride', 20.0, 80.0):.2f}"
    '6.95'

    Source: as ``specific_volume_ml_per_g``.
    """
    if not solute_g >= 0.0:
        raise OutOfRange(f"{name}_g", solute_g, 0.0, float("inf"), "a mass is never negative")
    if solute_g == 0.0:
        return 0.0
    terms = TERMS.get(name)
    if terms is None or not water_g >= 0.0:
        return solute_g * specific_volume_ml_per_g(name, solute_g / (solute_g + water_g))
    a, b, w_max = terms
    fraction = solute_g / (solute_g + water_g)
    return solute_g * (a + b * (fraction if fraction < w_max else w_max))
