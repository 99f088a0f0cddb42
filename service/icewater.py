"""Water from ice: stated or measured, by the house's figure, by a published model or by an energy balance.

The dilution model acts on the lines of role pour alone, never on a top, a rinse, a foam or a garnish.
"""

from collections.abc import Mapping

from msgspec import Struct

from service.errors import OutOfRange
from service.line import LEAST
from service.mixture import Assumption, Mixture
from service.physics import dilution as model
from service.preparation import Warn

WATER_G_PER_ML = 0.99820123
"""Water at 20 C (OIML R 22, A1)."""

WITHOUT_WATER = frozenset(("none", "carbonated", "dry_shaken", "prediluted"))
"""Methods that take no water unless some is stated."""

MELTS_ALL = frozenset(("blended", "frozen"))
"""Methods in which all the ice becomes part of the drink."""

ENERGY_BALANCE = "energy balance: ice melts until the mix is at its own freezing point (333.55 J/g)"


class Water(Struct, frozen=True):
    """Water of the whole spec, one way of saying it: ``ml``, ``fraction`` of the mixed volume, or ``ice_g`` at
    ``ice_c``."""

    ml: float | None = None
    fraction: float | None = None
    ice_g: float | None = None
    ice_c: float | None = None


class Method(Struct, frozen=True):
    """How the drink is made; ``water`` as stated, ``None`` where a model or the house decides."""

    kind: str = "none"
    water: Water | None = None


class Dilution(Struct, frozen=True):
    """Water from ice: ``water_ml`` is ``fraction`` x ``base_ml``; both ``None`` where unknown."""

    model: str
    base_ml: float
    fraction: float | None
    water_ml: float | None
    in_range: bool | None
    source: str

    @property
    def water_g(self) -> float | None:
        """Grams of water added."""
        return None if self.water_ml is None else self.water_ml * WATER_G_PER_ML


def diluted(
    base: Mixture,
    method: Method,
    serves: int,
    house_fractions: Mapping[str, float],
    warnings: list[Warn],
    assumptions: list[Assumption],
) -> Dilution:
    """Water from ice for one serve: what is stated wins, then the house's figure, then a published model."""
    volume = base.volume_ml
    if method.water is not None:
        return _stated(base, method, serves, warnings)
    if method.kind in house_fractions:
        fraction = house_fractions[method.kind]
        detail = f"Water of a {method.kind} drink taken as the house's {fraction:g} of the mixed volume."
        assumptions.append(Assumption("house_water_fraction", detail))
        return Dilution(
            "house_fraction", volume, fraction, fraction * volume, None, "house setting measures.water_fraction"
        )
    if method.kind in WITHOUT_WATER:
        return Dilution("none", volume, 0.0, 0.0, None, "contract: this method adds no water unless some is stated")
    if volume <= 0 and method.kind not in MELTS_ALL:
        return Dilution("none", volume, 0.0, 0.0, None, "nothing is poured that the ice could dilute")
    formula = model.MODELS.get(method.kind)
    strength = base.abv_percent if volume > 0 else None
    if formula is None or strength is None:
        return _unknown(volume, "no published model; state method.water or measures.water_fraction")
    share = min(max(strength / 100.0, 0.0), 1.0)  # rounding alone may put pure ethanol above 1
    fraction = formula(share)
    in_range = model.in_range(share)
    if not in_range:
        low, high = (100 * bound for bound in model.IN_RANGE)
        detail = (
            f"The dilution model was published for {low:g} to {high:g} % vol before ice; measure the water instead."
        )
        warnings.append(Warn("dilution_out_of_range", detail))
    return Dilution(
        f"{method.kind}_regression", volume, fraction, fraction * volume, in_range, model.SOURCES[method.kind]
    )


def _unknown(volume_ml: float, source: str) -> Dilution:
    return Dilution("unknown", volume_ml, None, None, None, source)


def _stated(base: Mixture, method: Method, serves: int, warnings: list[Warn]) -> Dilution:
    water, volume = method.water, base.volume_ml
    assert water is not None
    if water.fraction is not None:
        return Dilution("stated_fraction", volume, water.fraction, water.fraction * volume, None, "stated in the spec")
    if water.ml is not None:
        ml, name, source = water.ml / serves, "measured", "measured, stated in the spec"
    else:
        assert water.ice_g is not None and water.ice_c is not None
        ice_g = water.ice_g / serves
        if method.kind in MELTS_ALL:
            ml, name, source = (
                ice_g / WATER_G_PER_ML,
                "all_ice_melts",
                "contract: blended and frozen melt all their ice",
            )
        else:
            melt_ml = _melt_ml(base, ice_g, water.ice_c, warnings)
            if melt_ml is None:
                return _unknown(volume, "outside the range of the energy balance; state method.water in ml")
            ml, name, source = melt_ml, "energy_balance", ENERGY_BALANCE
    if ml < LEAST:
        ml = 0.0
    return Dilution(name, volume, ml / volume if volume > 0 else None, ml, None, source)


def _melt_ml(base: Mixture, ice_g: float, ice_c: float, warnings: list[Warn]) -> float | None:
    """Water from the energy balance; ``None`` where it does not hold or the strength is not known."""
    if base.abv_percent is None:
        return None
    try:
        grams = model.energy_balance_water_g(
            base.ethanol_g, base.content("water"), base.content("sugars"), ice_g, ice_c
        )
    except OutOfRange:
        detail = "The energy balance holds for ice of -40 to 0 C in drinks up to 67 % vol; measure the water instead."
        warnings.append(Warn("energy_balance_out_of_range", detail))
        return None
    warnings.append(
        Warn("energy_balance", "Water from an energy balance gives the direction; a measured figure is better.")
    )
    return grams / WATER_G_PER_ML
