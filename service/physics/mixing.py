"""What a mix of ethanol, water, sugars, acids and salt measures at 20 C: masses are conserved, volumes not.

The volume is that of ethanol and water alone (OIML R 22) plus the room that each solute would take in the
same water without the ethanol. No measured densities of ethanol, sugar and water together were found: up to
20 % vol the model lies within 0.35 kg/m3 of Tabarie's rule (OIV-MA-AS2-03B), at 40 % vol with 400 g/l of
sugar 7.5 kg/m3 from it. Above 20 % vol with much sugar it is unvalidated; the effect on the strength is
likely below 0.2 % vol.
"""

from collections.abc import Mapping
from types import MappingProxyType
from typing import NamedTuple

from service.errors import OutOfRange
from service.physics import solutes, sugar
from service.physics.ethanol import ETHANOL_DENSITY_20C_G_PER_ML, density_20c_kg_per_m3

NOTHING: Mapping[str, float] = MappingProxyType({})

SOURCE = "OIML R 22 for ethanol and water, ICUMSA for sugar, handbook densities for acids and salt"
UNVALIDATED = "unvalidated above 20 % vol with much sugar"

_MASS = "a mass is never negative"


class Liquid(NamedTuple):
    """Grams of each constituent of so much liquid; ``acids_g`` and ``other_g`` go by name."""

    ethanol_g: float
    water_g: float
    sugars_g: float = 0.0
    acids_g: Mapping[str, float] = NOTHING
    salt_g: float = 0.0
    other_g: Mapping[str, float] = NOTHING

    @property
    def mass_g(self) -> float:
        """The mass of all constituents."""
        return (
            self.ethanol_g + self.water_g + self.sugars_g + self.salt_g
            + sum(self.acids_g.values()) + sum(self.other_g.values())
        )  # fmt: skip


def volume_ml(
    ethanol_g: float,
    water_g: float,
    sugars_g: float = 0.0,
    acids_g: Mapping[str, float] = NOTHING,
    salt_g: float = 0.0,
    other: Mapping[str, float] = NOTHING,
) -> float:
    """Volume of a mix at 20 C.

    V = (m_e + m_w) / rho_EW + m_s phi_s(m_s / (m_s + m_w)) + sum of m_i phi_i(m_i / (m_i + m_w))

    ethanol_g, water_g, sugars_g (all as sucrose), salt_g (sodium chloride): g. acids_g and other (protein,
    fat, starch, fibre, polyols or a polyol by name): g by name, see ``solutes.toml``. Result in ml.
    Range: any masses from 0; unvalidated above 20 % vol with much sugar. Sugar without water keeps the figure
    it has at 85 Brix, and so do the other solutes at the end of their own range.

    >>> f"{volume_ml(50 * 0.789239, 50 * 0.99820123):.2f}"
    '96.46'
    >>> f"{volume_ml(0.0, 100.0, 100.0):.1f}"
    '162.6'

    Source: OIML R 22 (1975); ICUMSA SPS-4 (1998); handbook tables of aqueous solutions.
    """
    if not (ethanol_g >= 0.0 and water_g >= 0.0 and sugars_g >= 0.0 and salt_g >= 0.0):
        raise OutOfRange("mass_g", min(ethanol_g, water_g, sugars_g, salt_g), 0.0, float("inf"), _MASS)
    solvent_g = ethanol_g + water_g
    volume = 1000.0 * solvent_g / density_20c_kg_per_m3(ethanol_g / solvent_g) if solvent_g > 0.0 else 0.0
    if sugars_g > 0.0:
        volume += sugars_g * sugar.sucrose_specific_volume_ml_per_g(sugars_g / (sugars_g + water_g))
    if salt_g > 0.0:
        volume += solutes.volume_ml(solutes.SALT, salt_g, water_g)
    for name, mass_g in acids_g.items():
        volume += solutes.volume_ml(name, mass_g, water_g)
    for name, mass_g in other.items():
        volume += solutes.volume_ml(name, mass_g, water_g)
    return volume


def abv_percent(ethanol_g: float, volume_ml: float) -> float:
    """% vol at 20 C of a liquid of known ethanol and volume.

    abv = 100 (m_e / 0.789239) / V

    ethanol_g: g. volume_ml: ml at 20 C, above 0. Result in % vol.
    Range: the ethanol must fit the volume; nothing is checked here but that there is a volume.

    >>> f"{abv_percent(50 * 0.789239, 96.4627):.2f}"
    '51.83'

    Source: OIML R 22 (1975), definition of the alcoholic strength by volume.
    """
    if not volume_ml > 0.0:
        raise OutOfRange("volume_ml", volume_ml, 0.0, float("inf"), "a strength needs a volume")
    return 100.0 * (ethanol_g / ETHANOL_DENSITY_20C_G_PER_ML) / volume_ml


def water_g_for_volume(
    volume_ml_wanted: float,
    ethanol_g: float,
    sugars_g: float = 0.0,
    acids_g: Mapping[str, float] = NOTHING,
    salt_g: float = 0.0,
    other: Mapping[str, float] = NOTHING,
) -> float:
    """Water that fills a mix of known dissolved matter up to a volume at 20 C.

    m_w from V(m_e, m_w, ...) = volume, by the secant rule kept inside its bracket; V rises with m_w
    throughout

    volume_ml_wanted: ml. ethanol_g, sugars_g, salt_g and, by name, acids_g and other, as in ``volume_ml``: g.
    Result in g.
    Range: as ``volume_ml``; where ethanol and solutes alone exceed the volume ``OutOfRange`` is raised, with
    that volume as its lower bound.

    >>> f"{water_g_for_volume(100.0, 24 * 0.789239, 24.0):.2f}"
    '63.16'

    Source: as ``volume_ml``, inverted.
    """
    solutes_ml = volume_ml(ethanol_g, 0.0, sugars_g, acids_g, salt_g, other)
    shortfall = volume_ml_wanted - solutes_ml
    # Rounding alone may put pure ethanol above the volume that it was computed from.
    tolerance = 2e-7 * volume_ml_wanted
    if not shortfall >= -tolerance:
        raise OutOfRange("volume_ml", volume_ml_wanted, solutes_ml, float("inf"), "ethanol and solutes alone fill more")
    if shortfall <= 0.0:
        return 0.0
    # A gram of water never takes less than 0.7 ml nor, less what it draws together, more than 1.01 ml.
    low, high = 0.0, shortfall / 0.7
    miss_low = -shortfall
    last, miss_last = low, miss_low
    water_g = shortfall
    for _ in range(60):
        miss = volume_ml(ethanol_g, water_g, sugars_g, acids_g, salt_g, other) - volume_ml_wanted
        if abs(miss) <= 1e-13 * volume_ml_wanted:
            break
        if miss < 0.0:
            low = water_g
        else:
            high = water_g
        slope = (miss - miss_last) / (water_g - last) if water_g != last else 1.0
        last, miss_last = water_g, miss
        water_g -= miss / slope if slope > 0.0 else miss
        if not low < water_g < high:
            water_g = 0.5 * (low + high)
        if water_g == last:
            break
    return water_g


def composition_from_abv(
    abv_percent_20c: float,
    sugars_g_per_100_ml: float = 0.0,
    acids_g_per_100_ml: Mapping[str, float] = NOTHING,
    salt_g_per_100_ml: float = 0.0,
    other_per_100_ml: Mapping[str, float] = NOTHING,
) -> Liquid:
    """Grams in 100 ml of a liquid of which strength and dissolved matter are known, but not the density.

    m_e = 0.789239 abv; m_w from V(m_e, m_w, ...) = 100

    abv_percent_20c: % vol at 20 C, 0 to 100. sugars_g_per_100_ml, salt_g_per_100_ml and, by name,
    acids_g_per_100_ml and other_per_100_ml: g per 100 ml. Result: g in 100 ml, whose sum over 100 is the
    density in g/ml.
    Range: as ``volume_ml``; ``OutOfRange`` where ethanol and solutes alone exceed 100 ml.

    >>> f"{composition_from_abv(40.0).mass_g / 100.0:.5f}"
    '0.94805'

    Source: as ``volume_ml``, inverted.
    """
    if not 0.0 <= abv_percent_20c <= 100.0:
        raise OutOfRange("abv_percent", abv_percent_20c, 0.0, 100.0, "definition of % vol")
    ethanol_g = ETHANOL_DENSITY_20C_G_PER_ML * abv_percent_20c
    dissolved = (sugars_g_per_100_ml, acids_g_per_100_ml, salt_g_per_100_ml, other_per_100_ml)
    return Liquid(ethanol_g, water_g_for_volume(100.0, ethanol_g, *dissolved), *dissolved)


def density_g_per_ml(liquid: Liquid) -> float:
    """Density of a liquid of known composition at 20 C.

    rho = mass / V(masses)

    liquid: grams of each constituent. Result in g/ml.
    Range: as ``volume_ml``; some mass is needed.

    >>> f"{density_g_per_ml(Liquid(ethanol_g=0.0, water_g=50.0, sugars_g=50.0)):.4f}"
    '1.2297'

    Source: as ``volume_ml``.
    """
    volume = volume_ml(*liquid)
    if not volume > 0.0:
        raise OutOfRange("volume_ml", volume, 0.0, float("inf"), "a density needs a volume")
    return liquid.mass_g / volume
