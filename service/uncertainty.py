"""How the uncertainties of inputs become that of a figure: linear propagation, as JCGM 100:2008 (GUM) has it.

Pure arithmetic on floats. The effect of one input is half the difference of the figure with that input one standard
uncertainty up and down (GUM 5.1.3, note 2); independent effects add by squares (GUM 5.1.2); the band is two of the
sum either way, about 95 % (GUM 6.3.3). Where one rectangular input rules, two are more than 95 %: its whole half-width
is 1.73 of its standard uncertainty. The band is then on the safe side.
"""

from collections.abc import Sequence
from math import fsum, hypot, sqrt

COVERAGE_FACTOR = 2.0
"""Standard uncertainties on either side of the figure."""

COVERAGE = "about 95 %"
"""How often a figure made this way lies within the band."""


def standard_uncertainty(half_width: float, distribution: str) -> float:
    """The standard uncertainty of an input known within ``half_width``, in its unit.

    rectangular: u = a / sqrt(3) (JCGM 100:2008, 4.3.7); normal: the figure is a standard deviation already

    >>> f"{standard_uncertainty(0.3, 'rectangular'):.4f}", standard_uncertainty(0.3, "normal")
    ('0.1732', 0.3)
    """
    return half_width if distribution == "normal" else half_width / sqrt(3.0)


def effect(centre: float, low: float | None, high: float | None) -> float | None:
    """What one standard uncertainty of an input does to a figure, signed.

    ``low`` and ``high`` are the figure with the input one down and one up; where one of them cannot be made the other
    stands for both, and ``None`` where neither can.

    >>> effect(10.0, 9.0, 11.0), effect(10.0, None, 11.0), effect(10.0, None, None)
    (1.0, 1.0, None)
    """
    if low is None and high is None:
        return None
    if low is None:
        assert high is not None
        return high - centre
    return centre - low if high is None else 0.5 * (high - low)


def combined(effects: Sequence[float]) -> float:
    """The standard uncertainty of a figure from the effects of independent inputs.

    u = sqrt(sum of squares) (JCGM 100:2008, equation 10)

    >>> combined([3.0, -4.0])
    5.0
    """
    return hypot(*effects)


def shares_percent(effects: Sequence[float]) -> tuple[float, ...]:
    """How much of the square of the uncertainty each effect makes, in percent; all 0 where there is none.

    >>> shares_percent([3.0, -4.0])
    (36.0, 64.0)
    """
    whole = fsum(one * one for one in effects)
    return tuple([100.0 * one * one / whole if whole else 0.0 for one in effects])
