"""Water that melts into a drink: published regressions, stirred and shaken, and an energy balance.

Trade figures quote half as much as the regressions (20 to 40 % of the volume before ice), so whoever shows
one of these figures shows the model with it, and a measured water figure always wins.
"""

from collections.abc import Callable, Mapping
from types import MappingProxyType

from service.errors import OutOfRange
from service.physics.freezing import freezing_point_of_mix_c
from service.physics.tables import DILUTION, Entry

IN_RANGE = DILUTION["shaken"].interval("abv_fraction_range")
"""Strengths before ice, as a fraction, between which the regressions hold: 0.10 to 0.45."""

SOURCES: Mapping[str, str] = MappingProxyType({name: DILUTION[name].source for name in ("stirred", "shaken")})
"""Where the model of each method comes from."""

LATENT_HEAT_J_PER_G = DILUTION["heat"].scalar("latent_j_per_g")
_WATER_HEAT = DILUTION["heat"].scalar("water_j_per_g_k")
_ICE_HEAT = DILUTION["heat"].scalar("ice_j_per_g_k")
_SUGARS_HEAT = DILUTION["heat"].scalar("sugars_j_per_g_k")
_HEAT_AT = DILUTION["specific_heat"].row("mass_fraction")
_HEAT = DILUTION["specific_heat"].row("heat_j_per_g_k")

START_C = 22.0
"""Room temperature of the cross-check against the regressions."""


def in_range(abv_fraction: float) -> bool:
    """Whether the regressions hold at this strength.

    0.10 <= a <= 0.45

    abv_fraction: strength before ice as a fraction (0.25 is 25 % vol). Result: yes or no.
    Range: any number.

    >>> in_range(0.25), in_range(0.05)
    (True, False)

    Source: Liquid Intelligence (2014), p. 123.
    """
    return IN_RANGE[0] <= abv_fraction <= IN_RANGE[1]


def _regression(entry: Entry, abv_fraction: float) -> float:
    if not 0.0 <= abv_fraction <= 1.0:
        raise OutOfRange("abv_fraction", abv_fraction, 0.0, 1.0, entry.title)
    constant, linear, square = entry.row("coefficients")
    return constant + abv_fraction * (linear + abv_fraction * square)


def stirred_fraction(abv_fraction: float) -> float:
    """Water that stirring on ice adds, as a share of the volume before ice.

    water / V = -1.21 a^2 + 1.246 a + 0.145

    abv_fraction a: strength before ice as a fraction. Result without unit.
    Range: 0.10 to 0.45 (``in_range``); given from 0 to 1, and the caller says so.

    >>> f"{stirred_fraction(0.3):.4f}"
    '0.4099'

    Source: Liquid Intelligence (2014), p. 123; 120 g of quarter-inch cubes, 15 s.
    """
    return _regression(DILUTION["stirred"], abv_fraction)


def shaken_fraction(abv_fraction: float) -> float:
    """Water that shaking on ice adds, as a share of the volume before ice.

    water / V = -1.567 a^2 + 1.742 a + 0.203

    abv_fraction a: strength before ice as a fraction. Result without unit.
    Range: 0.10 to 0.45 (``in_range``); given from 0 to 1, and the caller says so. The book is reported to
    print the first term without its minus, which would give 73.6 % where it speaks of about half; minus is
    used.

    >>> f"{shaken_fraction(0.25):.3f}"
    '0.541'

    Source: Liquid Intelligence (2014), p. 123; 120 g of quarter-inch cubes, 10 s.
    """
    return _regression(DILUTION["shaken"], abv_fraction)


MODELS: Mapping[str, Callable[[float], float]] = MappingProxyType(
    {"shaken": shaken_fraction, "stirred": stirred_fraction}
)
"""The published model of each method that has one."""


def specific_heat_j_per_g_k(mass_fraction: float) -> float:
    """Specific heat of ethanol and water near 5 C.

    c(w) = the straight line between the two nearest points of the table

    mass_fraction w: ethanol / (ethanol + water) by mass, 0 to 1. Result in J/(g K).
    Range: 0 to 1; above 0.60 a straight line to pure ethanol.

    >>> f"{specific_heat_j_per_g_k(0.2):.2f}"
    '4.36'

    Source: Melinder (2010), secondary refrigerants, ethyl alcohol; see ``dilution.toml``.
    """
    if not 0.0 <= mass_fraction <= 1.0:
        raise OutOfRange("mass_fraction", mass_fraction, 0.0, 1.0, DILUTION["specific_heat"].title)
    i = 1
    while mass_fraction > _HEAT_AT[i]:
        i += 1
    share = (mass_fraction - _HEAT_AT[i - 1]) / (_HEAT_AT[i] - _HEAT_AT[i - 1])
    return _HEAT[i - 1] + share * (_HEAT[i] - _HEAT[i - 1])


def energy_balance_water_g(
    ethanol_g: float,
    water_g: float,
    sugars_g: float,
    ice_g: float,
    ice_c: float = 0.0,
    start_c: float = START_C,
) -> float:
    """Ice that melts into a mix while it cools to its own freezing point, by energy balance.

    melt L = C (start - T) + melt c_w (0 - T) + (ice - melt) c_i (0 - T) - ice c_i (0 - ice_c), T the freezing
    point of the mix with the melt, C the heat capacity of the mix before ice

    ethanol_g, water_g, sugars_g: the mix before ice, g. ice_g: g. ice_c: 0 or below. start_c: C. Result in g
    of water, between 0 and ice_g.
    Range: ethanol / (ethanol + water) to 0.60 and sugars to 4.85 mol/kg of water, as the freezing point has
    it; ice -40 to 0 C. No water clinging to the ice, no heat of dilution, no heat from tin, hand and air: for
    direction, not for a figure on a menu. Against the shaken regression it reads 4 to 12 points low between
    15 and 35 % vol.

    >>> f"{energy_balance_water_g(19.7, 77.0, 0.0, 120.0):.1f}"
    '43.3'

    Source: latent heat of ice 333.55 J/g; heats and freezing point as in ``dilution.toml`` and
    ``freezing.toml``.
    """
    if not -40.0 <= ice_c <= 0.0:
        raise OutOfRange("ice_c", ice_c, -40.0, 0.0, "ice in a bar")
    if not ice_g >= 0.0:
        raise OutOfRange("ice_g", ice_g, 0.0, float("inf"), "a mass is never negative")
    solvent_g = ethanol_g + water_g
    if not solvent_g > 0.0:
        raise OutOfRange("water_g", water_g, 0.0, float("inf"), "a mix needs ethanol or water")
    capacity = solvent_g * specific_heat_j_per_g_k(ethanol_g / solvent_g) + sugars_g * _SUGARS_HEAT
    ice_debt = -ice_g * _ICE_HEAT * ice_c

    def surplus_j(melt_g: float) -> float:
        """Heat that is left over if exactly this much melts; it falls with the melt."""
        end_c = freezing_point_of_mix_c(ethanol_g, water_g + melt_g, sugars_g)
        given = capacity * (start_c - end_c) - (melt_g * _WATER_HEAT + (ice_g - melt_g) * _ICE_HEAT) * end_c
        return given - ice_debt - melt_g * LATENT_HEAT_J_PER_G

    low, high = 0.0, ice_g
    if surplus_j(low) <= 0.0:
        return 0.0
    if surplus_j(high) >= 0.0:
        return ice_g
    for _ in range(48):
        middle = 0.5 * (low + high)
        if surplus_j(middle) > 0.0:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)
