"""US gauging at 60 F: gallons from weight, and the water that brings spirits to a lower proof."""

from service.errors import OutOfRange
from service.physics.ethanol import (
    ETHANOL_DENSITY_60F_KG_PER_M3,
    PROOF_T_C,
    density_kg_per_m3,
    mass_fraction_from_us_proof,
)
from service.physics.tables import OIML_R22

SOURCE = OIML_R22["gauging"].title

_GALLON_ML = OIML_R22["gauging"].scalar("gallon_ml")
_POUND_G = OIML_R22["gauging"].scalar("pound_g")
_AIR = OIML_R22["weighing"].scalar("air_kg_per_m3")
_WEIGHTS = OIML_R22["weighing"].scalar("weights_kg_per_m3")


def _density_60f_kg_per_m3(us_proof: float) -> float:
    return density_kg_per_m3(mass_fraction_from_us_proof(us_proof), PROOF_T_C)


def wine_gallons_per_lb(us_proof: float) -> float:
    """Gallons at 60 F in a pound of spirits weighed in air.

    gal/lb = 453.59237 / (rho_air 3785.411784), rho_air = (rho - 1.2) / (1 - 1.2 / 8000), rho at 60 F

    us_proof: 0 to 200. Result in US gallons per avoirdupois pound.
    Range: 0 to 200, ethanol and water alone; 27 CFR 30.64 met within 0.006 %.

    >>> f"{wine_gallons_per_lb(190.0):.4f}"
    '0.1472'

    Source: 27 CFR 30.64, table 4; density OIML R 22 (1975), buoyancy OIML D 28.
    """
    apparent_kg_per_m3 = (_density_60f_kg_per_m3(us_proof) - _AIR) / (1.0 - _AIR / _WEIGHTS)
    return 1000.0 * _POUND_G / (apparent_kg_per_m3 * _GALLON_ML)


def proof_gallons(mass_lb: float, us_proof: float) -> float:
    """Proof gallons in a weight of spirits weighed in air.

    PG = lb * gal/lb * proof / 100

    mass_lb: avoirdupois pounds. us_proof: 0 to 200. Result in proof gallons.
    Range: 0 to 200, ethanol and water alone; 27 CFR 30.63 and 30.64 met within 0.006 %.

    >>> f"{proof_gallons(1000.0, 200.0):.1f}"
    '302.6'

    Source: 27 CFR 30.63 and 30.64.
    """
    return mass_lb * wine_gallons_per_lb(us_proof) * us_proof / 100.0


def water_to_reduce_lb(mass_lb: float, from_proof: float, to_proof: float) -> float:
    """Pounds of water that bring a weight of spirits to a lower proof.

    water = PG / (PG per lb at to_proof) - lb

    mass_lb: avoirdupois pounds. from_proof, to_proof: degrees of US proof. Result in pounds of water.
    Range: 0 < to_proof <= from_proof <= 200; the 27 CFR 30.64 example met within 0.08 %.

    >>> f"{water_to_reduce_lb(1000.0, 200.0, 190.0):.1f}"
    '82.1'

    Source: 27 CFR 30.64.
    """
    _falling(from_proof, to_proof)
    return proof_gallons(mass_lb, from_proof) / proof_gallons(1.0, to_proof) - mass_lb


def water_parts(us_proof: float) -> float:
    """Volumes of water that, with proof / 2 volumes of ethanol, shrink to 100 volumes of spirits at 60 F.

    parts = (100 rho - proof / 2 rho_ethanol) / rho_water, all at 60 F

    us_proof: 0 to 200. Result in volumes of water per 100 of spirits.
    Range: 0 to 200.

    >>> f"{water_parts(100.0):.1f}"
    '53.7'

    Source: 27 CFR 30.66, table 6; densities OIML R 22 (1975).
    """
    ethanol_kg = us_proof / 200.0 * ETHANOL_DENSITY_60F_KG_PER_M3
    return 100.0 * (_density_60f_kg_per_m3(us_proof) - ethanol_kg) / density_kg_per_m3(0.0, PROOF_T_C)


def water_to_reduce_gallons(from_proof: float, to_proof: float) -> float:
    """Gallons of water that bring 100 gallons of spirits to a lower proof, contraction included.

    water = (from / to) * parts(to) - parts(from)

    from_proof, to_proof: degrees of US proof. Result in gallons of water per 100 gallons, all at 60 F.
    Range: 0 < to_proof <= from_proof <= 200.

    >>> f"{water_to_reduce_gallons(112.0, 100.0):.2f}"
    '12.43'

    Source: 27 CFR 30.66.
    """
    _falling(from_proof, to_proof)
    return from_proof / to_proof * water_parts(to_proof) - water_parts(from_proof)


def _falling(from_proof: float, to_proof: float) -> None:
    if not 0.0 < to_proof <= from_proof:
        raise OutOfRange("to_proof", to_proof, 0.0, from_proof, SOURCE)
