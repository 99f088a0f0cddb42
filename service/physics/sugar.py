"""Sucrose and water: density, Brix, specific gravity and the room that dissolved sugar takes."""

from service.errors import OutOfRange
from service.physics.tables import SUCROSE

_TABLE = SUCROSE["density"]
SOURCE = _TABLE.title

W_LOW, W_HIGH = SUCROSE["range"].interval("mass_fraction_range")
T_LOW_C, T_HIGH_C = SUCROSE["range"].interval("temperature_range_c")

_C = _TABLE.rows("c")
_S0, _S1, _S2, _S3, _S4, _S5 = _C[0]
_NUMERATOR = _TABLE.row("water_numerator")
_DENOMINATOR = _TABLE.row("water_denominator")


def _polynomial(coefficients: tuple[float, ...], x: float) -> float:
    """The sum of coefficient k times x to the power k, by Horner's rule."""
    result = 0.0
    for coefficient in reversed(coefficients):
        result = result * x + coefficient
    return result


WATER_DENSITY_20C_KG_PER_M3 = _polynomial(_NUMERATOR, 20.0) / _polynomial(_DENOMINATOR, 20.0)
"""Density of water at 20 C that goes with the sucrose polynomial; OIML R 22 has 0.002 kg/m3 less."""

_LIGHTEST_READING_KG_PER_M3 = 998.2


def _in_range(mass_fraction: float) -> float:
    if not W_LOW <= mass_fraction <= W_HIGH:
        raise OutOfRange("sucrose_mass_fraction", mass_fraction, W_LOW, W_HIGH, SOURCE)
    return mass_fraction


def water_density_kg_per_m3(t_c: float) -> float:
    """Density of water at a temperature, as the sucrose polynomial takes it.

    rho_w = (sum n_k t^k) / (1 + 0.016887236 t)

    t_c: C. Result in kg/m3.
    Range: 0 to 80 C.

    >>> f"{water_density_kg_per_m3(20.0):.3f}"
    '998.203'

    Source: ICUMSA SPS-4 (1998).
    """
    if not T_LOW_C <= t_c <= T_HIGH_C:
        raise OutOfRange("t_c", t_c, T_LOW_C, T_HIGH_C, SOURCE)
    return _polynomial(_NUMERATOR, t_c) / _polynomial(_DENOMINATOR, t_c)


def sucrose_density_kg_per_m3(mass_fraction: float, t_c: float = 20.0) -> float:
    """Density of sucrose in water.

    rho = rho_w(t) + sum over i of T^i (sum over k of c_ik w^k), T = (t - 20) / 100

    mass_fraction w: sucrose / (sucrose + water) by mass (Brix / 100). t_c: C. Result in kg/m3.
    Range: w 0 to 0.85, 0 to 80 C (the bounds are from memory); over about 0.67 the syrup is supersaturated at
    20 C.

    >>> f"{sucrose_density_kg_per_m3(0.5, 20.0):.2f}"
    '1229.65'

    Source: ICUMSA SPS-4 (1998), sucrose solutions.
    """
    w = _in_range(mass_fraction)
    density = water_density_kg_per_m3(t_c)
    t = (t_c - 20.0) / 100.0
    excess = 0.0
    for row in reversed(_C):
        excess = excess * t + w * _polynomial(row, w)
    return density + excess


def sucrose_specific_volume_ml_per_g(mass_fraction: float) -> float:
    """Room that one gram of sucrose takes in its own water at 20 C (apparent specific volume).

    phi = (rho_w - (1 - w) S) / (rho rho_w), S = (rho - rho_w) / w, in m3/kg;
    so that water / rho_w + sucrose phi is the volume of the solution

    mass_fraction w: sucrose / (sucrose + water) by mass. Result in ml/g.
    Range: 0 to 0.85, finite at 0; up to 1, where sugar is dry, the figure at 0.85 is kept: 0.637, and solid
    sucrose has 0.630.

    >>> f"{sucrose_specific_volume_ml_per_g(0.0):.4f} {sucrose_specific_volume_ml_per_g(0.5):.4f}"
    '0.6152 0.6247'

    Source: ICUMSA SPS-4 (1998), rearranged.
    """
    w = mass_fraction
    if not 0.0 <= w <= 1.0:
        raise OutOfRange("sucrose_mass_fraction", mass_fraction, 0.0, 1.0, SOURCE)
    w = min(w, W_HIGH)
    per_sugar = _S0 + w * (_S1 + w * (_S2 + w * (_S3 + w * (_S4 + w * _S5))))
    density = WATER_DENSITY_20C_KG_PER_M3 + w * per_sugar
    room = WATER_DENSITY_20C_KG_PER_M3 - (1.0 - w) * per_sugar
    return 1000.0 * room / (density * WATER_DENSITY_20C_KG_PER_M3)


def brix(sugars_g: float, water_g: float) -> float:
    """Brix of a syrup made by mass.

    Bx = 100 sugar / (sugar + water)

    sugars_g, water_g: g. Result in degrees Brix (% sucrose by mass).
    Range: not both 0; a syrup over 67 is supersaturated at 20 C.

    >>> brix(500.0, 500.0)
    50.0

    Source: definition of degrees Brix; ICUMSA SPS-3.
    """
    solution_g = sugars_g + water_g
    if not (solution_g > 0.0 and sugars_g >= 0.0 and water_g >= 0.0):
        raise OutOfRange("sugars_g + water_g", solution_g, 0.0, float("inf"), "definition of Brix")
    return 100.0 * sugars_g / solution_g


def brix_from_density(density_kg_per_m3: float) -> float:
    """Brix of sucrose in water of a known density at 20 C.

    w from rho(w, 20) = density, by Newton's rule; Bx = 100 w

    density_kg_per_m3: 998.2 (water, read as 0) to 1445.9. Result in degrees Brix (% sucrose by mass).
    Range: 0 to 85 Brix, sucrose and water alone.

    >>> f"{brix_from_density(1229.65):.2f}"
    '50.00'

    Source: ICUMSA SPS-4 (1998), inverted.
    """
    heaviest = sucrose_density_kg_per_m3(W_HIGH)
    if not _LIGHTEST_READING_KG_PER_M3 <= density_kg_per_m3 <= heaviest:
        raise OutOfRange("density_kg_per_m3", density_kg_per_m3, _LIGHTEST_READING_KG_PER_M3, heaviest, SOURCE)
    excess = density_kg_per_m3 - WATER_DENSITY_20C_KG_PER_M3
    w = excess / 500.0
    for _ in range(12):
        value = w * _polynomial(_C[0], w)
        slope = sum((k + 1) * c * w**k for k, c in enumerate(_C[0]))
        step = (value - excess) / slope
        w -= step
        if -1e-14 < step < 1e-14:
            break
    return 100.0 * max(w, 0.0)


def specific_gravity_20_20(mass_fraction: float) -> float:
    """Specific gravity of sucrose in water, both at 20 C.

    SG = rho(w, 20) / rho_w(20)

    mass_fraction w: sucrose / (sucrose + water) by mass. Result without unit.
    Range: 0 to 0.85.

    >>> f"{specific_gravity_20_20(0.1):.4f}"
    '1.0400'

    Source: ICUMSA SPS-4 (1998).
    """
    return sucrose_density_kg_per_m3(mass_fraction) / WATER_DENSITY_20C_KG_PER_M3


def sugars_g_per_l_from_brix(brix_percent: float) -> float:
    """Grams of sugar in a litre of syrup at 20 C.

    g/L = Bx / 100 * rho(Bx / 100, 20)

    brix_percent: degrees Brix. Result in g/L.
    Range: 0 to 85 Brix.

    >>> f"{sugars_g_per_l_from_brix(50.0):.1f}"
    '614.8'

    Source: ICUMSA SPS-4 (1998).
    """
    return brix_percent / 100.0 * sucrose_density_kg_per_m3(brix_percent / 100.0)


def brix_from_sugars_g_per_l(sugars_g_per_l: float) -> float:
    """Brix of a syrup that holds so many grams of sugar in a litre at 20 C.

    w from w rho(w, 20) = g/L, by bisection; Bx = 100 w

    sugars_g_per_l: g/L. Result in degrees Brix (% sucrose by mass).
    Range: 0 to 1229 g/L (85 Brix), sucrose and water alone.

    >>> f"{brix_from_sugars_g_per_l(614.83):.2f}"
    '50.00'

    Source: ICUMSA SPS-4 (1998), inverted.
    """
    most = sugars_g_per_l_from_brix(100.0 * W_HIGH)
    if not 0.0 <= sugars_g_per_l <= most:
        raise OutOfRange("sugars_g_per_l", sugars_g_per_l, 0.0, most, SOURCE)
    low, high = 0.0, 100.0 * W_HIGH
    for _ in range(56):
        middle = 0.5 * (low + high)
        if sugars_g_per_l_from_brix(middle) < sugars_g_per_l:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)
