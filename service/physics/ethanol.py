"""Ethanol and water: density, mass fraction, % vol at 20 C and US proof at 60 F."""

from service.errors import OutOfRange
from service.physics.tables import OIML_R22

_TABLE = OIML_R22["density"]
SOURCE = _TABLE.title

ETHANOL_DENSITY_20C_KG_PER_M3 = OIML_R22["ethanol"].scalar("density_20c_kg_per_m3")
"""Density by which grams and millilitres of ethanol convert: 789.239 kg/m3, fixed by the contract."""

ETHANOL_DENSITY_20C_G_PER_ML = ETHANOL_DENSITY_20C_KG_PER_M3 / 1000.0
"""The same in g/ml: 0.789239."""

T_LOW_C, T_HIGH_C = _TABLE.interval("temperature_range_c")

PROOF_T_C = (OIML_R22["gauging"].scalar("temperature_f") - 32.0) / 1.8
"""The temperature of US proof, 60 F, in C."""

_A = _TABLE.row("a")
_B = _TABLE.row("b")
_C = _TABLE.rows("c")
_A0, _A1, _A2, _A3, _A4, _A5, _A6, _A7, _A8, _A9, _A10, _A11 = _A
# The slope of p * rho(p) needs each coefficient times its power plus one.
_D1, _D2, _D3, _D4, _D5, _D6, _D7, _D8, _D9, _D10, _D11 = ((k + 1) * _A[k] for k in range(1, 12))

_PERCENT_PER_KG_PER_M3 = 100.0 / ETHANOL_DENSITY_20C_KG_PER_M3


def _polynomial(coefficients: tuple[float, ...], x: float) -> float:
    """The sum of coefficient k times x to the power k, by Horner's rule."""
    result = 0.0
    for coefficient in reversed(coefficients):
        result = result * x + coefficient
    return result


def _fraction_fault(mass_fraction: float) -> OutOfRange:
    return OutOfRange("mass_fraction", mass_fraction, 0.0, 1.0, SOURCE)


def density_20c_kg_per_m3(mass_fraction: float) -> float:
    """Density of ethanol and water at 20 C.

    rho = A1 + A2 p + ... + A12 p^11

    mass_fraction p: ethanol / (ethanol + water) by mass, 0 to 1. Result in kg/m3.
    Range: the whole of 0 to 1; meets 19 published points within 0.01 kg/m3.

    >>> f"{density_20c_kg_per_m3(0.1):.2f}"
    '981.85'

    Source: OIML R 22 (1975), general formula at t = 20 C.
    """
    p = mass_fraction
    if not 0.0 <= p <= 1.0:
        raise _fraction_fault(p)
    return _A0 + p * (
        _A1 + p * (_A2 + p * (_A3 + p * (_A4 + p * (_A5 + p * (
            _A6 + p * (_A7 + p * (_A8 + p * (_A9 + p * (_A10 + p * _A11))))
        )))))
    )  # fmt: skip


def density_kg_per_m3(mass_fraction: float, t_c: float) -> float:
    """Density of ethanol and water at a temperature.

    rho = sum A_k p^(k-1) + sum B_k (t-20)^k + sum C_ik p^k (t-20)^i

    mass_fraction p: ethanol / (ethanol + water) by mass, 0 to 1. t_c: C. Result in kg/m3.
    Range: -20 to 40 C, the range of the general formula; a mix that would be frozen there gives the figure of
    the formula, not that of ice.

    >>> f"{density_kg_per_m3(0.5, 20.0):.2f} {density_kg_per_m3(0.5, 10.0):.2f}"
    '913.77 921.59'

    Source: OIML R 22 (1975), general formula, all 54 coefficients.
    """
    if not T_LOW_C <= t_c <= T_HIGH_C:
        raise OutOfRange("t_c", t_c, T_LOW_C, T_HIGH_C, SOURCE)
    density = density_20c_kg_per_m3(mass_fraction)
    dt = t_c - 20.0
    if dt == 0.0:
        return density
    p = mass_fraction
    thermal = _B[5] * dt
    for i in (4, 3, 2, 1, 0):
        thermal = (thermal + _B[i] + p * _polynomial(_C[i], p)) * dt
    return density + thermal


def _coefficients(t_c: float) -> tuple[float, ...]:
    """The twelve coefficients in p of the general formula at one temperature."""
    dt = t_c - 20.0
    row = list(_A)
    row[0] += sum(b * dt ** (k + 1) for k, b in enumerate(_B))
    for i, powers in enumerate(_C):
        for k, c in enumerate(powers):
            row[k + 1] += c * dt ** (i + 1)
    return tuple(row)


_AT_60F = _coefficients(PROOF_T_C)
ETHANOL_DENSITY_60F_KG_PER_M3 = sum(_AT_60F)
"""The formula's own density of ethanol at 60 F, to which US proof refers."""
_SLOPE_60F = tuple((k + 1) * a for k, a in enumerate(_AT_60F))


def abv_percent_from_mass_fraction(mass_fraction: float) -> float:
    """% vol at 20 C of ethanol and water of a known mass fraction.

    abv = 100 p rho(p, 20) / 789.239

    mass_fraction p: ethanol / (ethanol + water) by mass, 0 to 1. Result in % vol at 20 C.
    Range: 0 to 1; pure ethanol gives 100.000015, see ``ABV_MAX_PERCENT``.

    >>> f"{abv_percent_from_mass_fraction(0.4):.3f}"
    '47.395'

    Source: OIML R 22 (1975), definition of the alcoholic strength by volume and by mass.
    """
    return mass_fraction * density_20c_kg_per_m3(mass_fraction) * _PERCENT_PER_KG_PER_M3


ABV_MAX_PERCENT = abv_percent_from_mass_fraction(1.0)
"""% vol of pure ethanol in this model, 100.000015: the formula's own density of it is 789.23912 kg/m3."""


def mass_fraction_from_abv_percent(abv_percent: float) -> float:
    """Mass fraction of ethanol and water of a known % vol at 20 C.

    p from p rho(p, 20) = 7.89239 abv, by Newton's rule from the figure of volumes that simply add

    abv_percent: % vol at 20 C, 0 to 100. Result: ethanol / (ethanol + water) by mass.
    Range: 0 to 100; inverse of ``abv_percent_from_mass_fraction`` within 1e-10 % vol.

    >>> f"{mass_fraction_from_abv_percent(40.0):.5f}"
    '0.33300'

    Source: OIML R 22 (1975).
    """
    if not 0.0 <= abv_percent <= ABV_MAX_PERCENT:
        raise OutOfRange("abv_percent", abv_percent, 0.0, 100.0, SOURCE)
    wanted = abv_percent / _PERCENT_PER_KG_PER_M3
    p = wanted / (_A0 + (ETHANOL_DENSITY_20C_KG_PER_M3 - _A0) * abv_percent / 100.0)
    for _ in range(12):
        p = min(p, 1.0)
        slope = _A0 + p * (
            _D1 + p * (_D2 + p * (_D3 + p * (_D4 + p * (_D5 + p * (
                _D6 + p * (_D7 + p * (_D8 + p * (_D9 + p * (_D10 + p * _D11))))
            )))))
        )  # fmt: skip
        step = (p * density_20c_kg_per_m3(p) - wanted) / slope
        p -= step
        if -1e-14 < step < 1e-14:
            break
    return min(p, 1.0)


def mass_fraction_from_density_20c(density_kg_per_m3: float) -> float:
    """Mass fraction of ethanol and water of a known density at 20 C, as a density meter reads it.

    p from rho(p, 20) = density, by bisection; rho falls throughout

    density_kg_per_m3: 789.23912 (pure ethanol) to 998.20123 (water). Result: ethanol / (ethanol + water) by
    mass.
    Range: ethanol and water alone; dissolved solids make it read low.

    >>> f"{mass_fraction_from_density_20c(948.05):.4f}"
    '0.3330'

    Source: OIML R 22 (1975).
    """
    lightest = density_20c_kg_per_m3(1.0)
    if not lightest <= density_kg_per_m3 <= _A0:
        raise OutOfRange("density_kg_per_m3", density_kg_per_m3, lightest, _A0, SOURCE)
    low, high = 0.0, 1.0
    for _ in range(52):
        middle = 0.5 * (low + high)
        if density_20c_kg_per_m3(middle) > density_kg_per_m3:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def mass_fraction_from_us_proof(us_proof: float) -> float:
    """Mass fraction of ethanol and water of a known US proof.

    p from p rho(p, 60 F) = (proof / 200) rho(1, 60 F), by Newton's rule

    us_proof: 0 to 200, at 60 F (15.56 C). Result: ethanol / (ethanol + water) by mass.
    Range: 0 to 200.

    >>> f"{mass_fraction_from_us_proof(100.0):.4f}"
    '0.4248'

    Source: 27 CFR 30.11 (proof: twice the % vol at 60 F); density OIML R 22 (1975).
    """
    if not 0.0 <= us_proof <= 200.0:
        raise OutOfRange("us_proof", us_proof, 0.0, 200.0, "27 CFR 30.11")
    wanted = us_proof / 200.0 * ETHANOL_DENSITY_60F_KG_PER_M3
    p = wanted / (_AT_60F[0] + (ETHANOL_DENSITY_60F_KG_PER_M3 - _AT_60F[0]) * us_proof / 200.0)
    for _ in range(12):
        step = (p * _polynomial(_AT_60F, p) - wanted) / _polynomial(_SLOPE_60F, p)
        p = min(p - step, 1.0)
        if -1e-14 < step < 1e-14:
            break
    return p


def us_proof_from_mass_fraction(mass_fraction: float) -> float:
    """US proof of ethanol and water of a known mass fraction.

    proof = 200 p rho(p, 60 F) / rho(1, 60 F)

    mass_fraction p: ethanol / (ethanol + water) by mass, 0 to 1. Result in degrees of US proof, at 60 F
    (15.56 C).
    Range: 0 to 1.

    >>> f"{us_proof_from_mass_fraction(1.0):.1f}"
    '200.0'

    Source: 27 CFR 30.11 (proof: twice the % vol at 60 F); density OIML R 22 (1975).
    """
    if not 0.0 <= mass_fraction <= 1.0:
        raise _fraction_fault(mass_fraction)
    return 200.0 * mass_fraction * _polynomial(_AT_60F, mass_fraction) / ETHANOL_DENSITY_60F_KG_PER_M3


def us_proof_from_abv_percent(abv_percent: float) -> float:
    """US proof of ethanol and water of a known % vol at 20 C.

    proof = 200 p rho(p, 60 F) / rho(1, 60 F), p the mass fraction of abv at 20 C

    abv_percent: % vol at 20 C, 0 to 100. Result in degrees of US proof, which refers to 60 F (15.56 C).
    Range: 0 to 100. A strength already stated at 60 F, as on a US label, is simply doubled: 40 % at 60 F is
    80 proof, while 40 % at 20 C is 79.86.

    >>> f"{us_proof_from_abv_percent(40.0):.2f}"
    '79.86'

    Source: 27 CFR 30.11 (proof: twice the % vol at 60 F); densities OIML R 22 (1975).
    """
    return us_proof_from_mass_fraction(mass_fraction_from_abv_percent(abv_percent))


def abv_percent_from_us_proof(us_proof: float) -> float:
    """% vol at 20 C of ethanol and water of a known US proof.

    abv = 100 p rho(p, 20) / 789.239, p the mass fraction of the proof at 60 F

    us_proof: 0 to 200, at 60 F (15.56 C). Result in % vol at 20 C.
    Range: 0 to 200.

    >>> f"{abv_percent_from_us_proof(80.0):.2f}"
    '40.07'

    Source: 27 CFR 30.11 (proof: twice the % vol at 60 F); densities OIML R 22 (1975).
    """
    return abv_percent_from_mass_fraction(mass_fraction_from_us_proof(us_proof))
