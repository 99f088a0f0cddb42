"""What a hydrometer says of a liquid that is not at its own temperature and in which sugar hides some of the alcohol.

A hydrometer knows density alone. Heat makes a liquid lighter, so that it reads high; dissolved matter makes it heavier,
so that it reads low (obscuration). Both are taken out here, the second by what else is known of the liquid.
"""

from service.errors import OutOfRange
from service.physics import sugar
from service.physics.ethanol import (
    ABV_MAX_PERCENT,
    ETHANOL_DENSITY_20C_G_PER_ML,
    density_20c_kg_per_m3,
    density_kg_per_m3,
)
from service.physics.mixing import Liquid, volume_ml, water_g_for_volume

GLASS_PER_K = 25e-6
"""Cubical expansion of the soda-lime glass of hydrometers for alcohol: OIML R 44, (25 +- 2) 1e-6 per K; from memory."""

CALIBRATED_C = 20.0
"""The temperature at which an alcoholometer of OIML R 44 reads % vol."""


def density_of_reading_kg_per_m3(mass_fraction: float, t_c: float, calibrated_c: float = CALIBRATED_C) -> float:
    """Density of the liquid in which an alcoholometer floats at a temperature that may not be its own.

    rho(t) = rho(p, t0) (1 - 25e-6 (t - t0)), p what the reading means at t0, the temperature of calibration: warm glass
    displaces more

    mass_fraction p: ethanol / (ethanol + water) by mass of the reading. t_c, calibrated_c: C. Result in kg/m3 at t_c.
    Range: -20 to 40 C; readings of ethanol and water, or of anything as heavy.

    >>> f"{density_of_reading_kg_per_m3(0.333, 20.0):.2f} {density_of_reading_kg_per_m3(0.333, 30.0):.2f}"
    '948.04 947.81'

    Source: OIML R 22 (1975) for density; OIML R 44 for the glass.
    """
    return density_kg_per_m3(mass_fraction, calibrated_c) * (1.0 - GLASS_PER_K * (t_c - calibrated_c))


def density_at_kg_per_m3(liquid: Liquid, excess_ml: float, t_c: float) -> float:
    """Density at a temperature of a liquid whose composition is known.

    rho = m / (V_EW(t) + m_s phi_s(w, t) + the room of everything else at 20 C), V_EW by OIML R 22 and phi_s by
    ICUMSA at that temperature

    liquid: grams of each constituent. excess_ml: what its stated density leaves unexplained, ml. t_c: C. Result in
    kg/m3.
    Range: 0 to 40 C; acids, salt, protein and their like are taken not to expand, unvalidated above 20 % vol with much
    sugar.

    >>> f"{density_at_kg_per_m3(Liquid(0.0, 50.0, 50.0), 0.0, 30.0):.1f}"
    '1225.0'

    Source: OIML R 22 (1975); ICUMSA SPS-4 (1998); volumes added as in ``mixing.volume_ml``.
    """
    ethanol_g, water_g, sugars_g = liquid.ethanol_g, liquid.water_g, liquid.sugars_g
    at_20 = volume_ml(*liquid) + excess_ml
    solvent_g = ethanol_g + water_g
    expansion = 0.0
    if solvent_g > 0.0:
        p = ethanol_g / solvent_g
        expansion += 1000.0 * solvent_g * (1.0 / density_kg_per_m3(p, t_c) - 1.0 / density_20c_kg_per_m3(p))
    if sugars_g > 0.0:
        w = min(sugars_g / (sugars_g + water_g), sugar.W_HIGH)
        expansion += sugars_g * (_room_ml_per_g(w, t_c) - _room_ml_per_g(w, 20.0))
    whole = at_20 + expansion
    if not whole > 0.0:
        raise OutOfRange("volume_ml", whole, 0.0, float("inf"), "a density needs a volume")
    return 1000.0 * liquid.mass_g / whole


def _room_ml_per_g(w: float, t_c: float) -> float:
    """Room of one gram of sucrose in its own water at a temperature."""
    water_ml = (1.0 - w) / sugar.water_density_kg_per_m3(t_c)
    return 1000.0 * (1.0 / sugar.sucrose_density_kg_per_m3(w, t_c) - water_ml) / w


def abv_percent_from_density(density_kg_per_m3: float, t_c: float, per_100_ml: Liquid, excess_ml: float) -> float:
    """% vol at 20 C of a liquid of known density in which dissolved matter hides some of the alcohol.

    abv from rho(abv, dissolved matter, t) = density, by bisection; in 100 ml water fills what the rest leaves

    density_kg_per_m3: at t_c. t_c: C, 0 to 40. per_100_ml: grams in 100 ml at 20 C, whose ethanol and water are not
    looked at. excess_ml: in those 100 ml, what stated densities leave unexplained. Result in % vol at 20 C.
    Range: as ``density_at_kg_per_m3``; ``OutOfRange`` where no strength gives this density.

    >>> f"{abv_percent_from_density(948.05, 20.0, Liquid(0.0, 0.0), 0.0):.2f}"
    '40.00'

    Source: as ``density_at_kg_per_m3``, inverted.
    """
    _, _, sugars_g, acids_g, salt_g, other_g = per_100_ml

    def density(abv: float) -> float:
        ethanol_g = ETHANOL_DENSITY_20C_G_PER_ML * abv
        water_g = water_g_for_volume(100.0 - excess_ml, ethanol_g, sugars_g, acids_g, salt_g, other_g)
        return density_at_kg_per_m3(per_100_ml._replace(ethanol_g=ethanol_g, water_g=water_g), excess_ml, t_c)

    low, high = 0.0, _most_percent(per_100_ml, excess_ml)
    heaviest, lightest = density(low), density(high)
    if not lightest <= density_kg_per_m3 <= heaviest:
        raise OutOfRange("density_kg_per_m3", density_kg_per_m3, lightest, heaviest, "what is dissolved in it")
    for _ in range(50):
        middle = 0.5 * (low + high)
        if density(middle) > density_kg_per_m3:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def _most_percent(per_100_ml: Liquid, excess_ml: float) -> float:
    """The strength at which ethanol and dissolved matter fill 100 ml with no water."""
    low, high = 0.0, ABV_MAX_PERCENT
    for _ in range(40):
        middle = 0.5 * (low + high)
        full = per_100_ml._replace(ethanol_g=ETHANOL_DENSITY_20C_G_PER_ML * middle, water_g=0.0)
        room = 100.0 - excess_ml - volume_ml(*full)
        low, high = (middle, high) if room > 0.0 else (low, middle)
    return low
