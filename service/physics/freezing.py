"""Freezing point of a drink. Published tables disagree by about 1 C: act on it with ``SAFETY_MARGIN_C``."""

from service.errors import OutOfRange
from service.physics.mixing import composition_from_abv
from service.physics.tables import FREEZING

_ETHANOL = FREEZING["ethanol"]
_SUCROSE = FREEZING["sucrose"]
SOURCE = f"{_ETHANOL.title}; sucrose by the {_SUCROSE.title}"

W_LOW, W_HIGH = _ETHANOL.interval("mass_fraction_range")
M_LOW, M_HIGH = _SUCROSE.interval("molality_range_mol_per_kg")
SUCROSE_MOLAR_MASS_G_PER_MOL = _SUCROSE.scalar("molar_mass_g_per_mol")

SAFETY_MARGIN_C = FREEZING["margin"].scalar("safety_margin_c")
"""The model is up to 1.2 C too cold against one published table: a freezer stays this much above it."""

_D1, _D2, _D3, _D4, _D5 = _ETHANOL.row("depression")
_CRYOSCOPIC = _SUCROSE.scalar("cryoscopic_k_kg_per_mol")
_CORRECTION = _SUCROSE.scalar("correction_kg_per_mol")


def freezing_point_c(ethanol_mass_fraction: float, sucrose_mol_per_kg: float = 0.0) -> float:
    """Temperature at which the first ice forms in ethanol, sugar and water.

    T = -(41.6122 w - 66.3293 w^2 + 1141.7947 w^3 - 2675.1316 w^4 + 1850.7857 w^5) - 1.86 m (1 + 0.115 m)

    ethanol_mass_fraction w: ethanol / (ethanol + water) by mass. sucrose_mol_per_kg m: mol per kg of water.
    Result in C.
    Range: w 0 to 0.60, m 0 to 4.85 (the eutectic of sucrose and water). Up to 1.2 C too cold against Lange's
    table.

    >>> f"{freezing_point_c(0.113):.2f}"
    '-5.10'

    Source: fit to handbook values, compared with Lange's Handbook, table 5.13; cryoscopic constant of water.
    """
    w = ethanol_mass_fraction
    m = sucrose_mol_per_kg
    if not W_LOW <= w <= W_HIGH:
        raise OutOfRange("ethanol_mass_fraction", w, W_LOW, W_HIGH, SOURCE)
    if not M_LOW <= m <= M_HIGH:
        raise OutOfRange("sucrose_mol_per_kg", m, M_LOW, M_HIGH, SOURCE)
    depression = w * (_D1 + w * (_D2 + w * (_D3 + w * (_D4 + w * _D5)))) + _CRYOSCOPIC * m * (1.0 + _CORRECTION * m)
    return 0.0 - depression


def sucrose_mol_per_kg(sugars_g: float, water_g: float) -> float:
    """Molality of sugar in the water of a drink, all of it taken as sucrose.

    m = (sugar / 342.2965) / (water / 1000)

    sugars_g, water_g: g. Result in mol per kg of water.
    Range: water above 0, unless there is no sugar. Glucose and fructose freeze lower by nearly half as much
    again as the same grams of sucrose, so an inverted syrup stays liquid somewhat longer than this says.

    >>> f"{sucrose_mol_per_kg(342.2965, 1000.0):.1f}"
    '1.0'

    Source: definition of molality.
    """
    if sugars_g == 0.0:
        return 0.0
    if not (sugars_g > 0.0 and water_g > 0.0):
        raise OutOfRange("water_g", water_g, 0.0, float("inf"), "sugar needs water to be dissolved in")
    return 1000.0 * sugars_g / (SUCROSE_MOLAR_MASS_G_PER_MOL * water_g)


def freezing_point_of_mix_c(ethanol_g: float, water_g: float, sugars_g: float = 0.0) -> float:
    """Temperature at which the first ice forms in a mix of known masses.

    T(w, m), w = m_e / (m_e + m_w), m the molality of the sugar in the water

    ethanol_g, water_g, sugars_g: g. Result in C.
    Range: as ``freezing_point_c``; acids and salt lower it further and are left out.

    >>> f"{freezing_point_of_mix_c(33.3, 66.7):.1f}"
    '-23.3'

    Source: as ``freezing_point_c``.
    """
    solvent_g = ethanol_g + water_g
    if not solvent_g > 0.0:
        raise OutOfRange("water_g", water_g, 0.0, float("inf"), "a freezing point needs water")
    return freezing_point_c(ethanol_g / solvent_g, sucrose_mol_per_kg(sugars_g, water_g))


def freezing_point_of_strength_c(abv_percent: float, sugars_g_per_100_ml: float = 0.0) -> float:
    """Temperature at which the first ice forms in a drink of known strength and sugar.

    T = T(w, m) of the grams that 100 ml of it hold

    abv_percent: % vol at 20 C. sugars_g_per_100_ml: g per 100 ml. Result in C.
    Range: as ``freezing_point_c``: without sugar to about 67 % vol.

    >>> f"{freezing_point_of_strength_c(40.0):.1f}"
    '-23.3'

    Source: as ``freezing_point_c``; composition by OIML R 22 and ICUMSA.
    """
    liquid = composition_from_abv(abv_percent, sugars_g_per_100_ml)
    return freezing_point_of_mix_c(liquid.ethanol_g, liquid.water_g, liquid.sugars_g)


def storage_limit_c(freezing_point_c: float) -> float:
    """Coldest temperature at which a drink may be counted on to stay free of ice.

    limit = T + 1.5

    freezing_point_c: computed freezing point, C. Result in C.
    Range: any computed freezing point.

    >>> storage_limit_c(-10.0)
    -8.5

    Source: error of the model against Lange's Handbook, table 5.13, and 0.3 C added.
    """
    return freezing_point_c + SAFETY_MARGIN_C
