"""What a bar measured of a finished drink, held against the model: volume, mass, hydrometer, refractometer.

A hydrometer's reading is freed of temperature (OIML R 22) and of what dissolved matter hides (obscuration), for which
the model's own sugars, acids and salt in 100 ml are taken. A refractometer cannot tell sugar from alcohol, so that the
Brix of a drink with alcohol in it is shown and not reconciled. What is measured takes the place of the model's water
only where the spec or the house says so.
"""

from collections.abc import Sequence
from typing import NamedTuple

from msgspec import Struct

from schemas.drink import Drink, Hydrometer, MeasuredDrink, Water
from service.build import Build
from service.errors import InputFault, OutOfRange
from service.icewater import WATER_G_PER_ML
from service.line import ResolvedLine
from service.mixture import Mixture, liquid_of, water_for_volume
from service.physics import hydrometer as reading
from service.physics.ethanol import PROOF_T_C, mass_fraction_from_abv_percent, mass_fraction_from_us_proof
from service.physics.mixing import Liquid

POINTER = "/drink/measured"
SLACK = 0.02
"""How far below what was poured a measured drink may lie: what sticks to the tin; common practice, no source."""

MOST_WATER = 5.0
"""Water over the undiluted volume above which a measurement is a slip of the pen, as for method.water.fraction."""

DRY_G_PER_100_ML = 1.0
"""Dissolved matter up to which a hydrometer alone tells how much water there is."""

NEARLY_NO_ALCOHOL_PERCENT = 0.5
"""Up to this strength a refractometer is read as one of a drink without alcohol; 0.5 % vol reads as some 0.2 Brix."""

OIML = "OIML R 22 for temperature; obscuration by the model's dissolved matter"
ARITHMETIC = "arithmetic"


class Row(NamedTuple):
    """One figure measured and modelled, for one serve; ``model`` is ``None`` where the two are not reconciled."""

    quantity: str
    measured: float
    model: float | None
    unit: str
    note: str
    source: str


class Reconciliation(Struct, frozen=True):
    """Everything measured beside the model; ``used`` where it took the place of the model's water."""

    used: bool
    rows: tuple[Row, ...]


def measured_water_ml(drink: Drink, lines: Sequence[ResolvedLine], build: Build, house: bool) -> float | None:
    """Water of one serve by what was measured; ``None`` where it is not to be used, or of no use by the house's rule.

    Raises ``InputFault`` where the spec asks for it and it cannot be.
    """
    found = drink.measured
    if found is None or not (found.use or house):
        return None
    try:
        return _water_ml(found, lines, build, drink.serves)
    except InputFault as fault:
        if fault.code == "measured_incomplete" and not found.use:
            return None
        raise fault.at(POINTER) from None


def with_measured_water(drink: Drink, water_ml: float) -> Drink:
    """The spec with that much water for one serve as its own."""
    method = drink.method.model_copy(update={"water": Water(ml=water_ml * drink.serves)})
    return drink.model_copy(update={"method": method})


def _water_ml(found: MeasuredDrink, lines: Sequence[ResolvedLine], build: Build, serves: int) -> float:
    if any(line.amount.dimension == "fill" for line in lines):
        detail = "A drink that is filled to a line has that volume whatever its water: it cannot be used here."
        raise InputFault("measured_incomplete", detail)
    undiluted = build.undiluted
    if found.volume_ml is not None:
        return _checked(_water_g_for(undiluted, found.volume_ml / serves), undiluted, "/volume_ml")
    if found.mass_g is not None:
        if undiluted.mass_g is None:
            raise InputFault("density_unknown", "The mass of a line is not known: measure the volume.", "/mass_g")
        return _checked(found.mass_g / serves - undiluted.mass_g, undiluted, "/mass_g")
    if found.hydrometer is not None:
        return _checked(_water_g_by_density(found.hydrometer, undiluted), undiluted, "/hydrometer")
    raise InputFault("measured_incomplete", "To be used it needs volume_ml, mass_g or hydrometer.")


def _water_g_for(undiluted: Mixture, volume_ml: float) -> float:
    """Grams of water that bring a mixture to a volume; negative where it is smaller."""
    if volume_ml < undiluted.volume_ml:
        return (volume_ml - undiluted.volume_ml) * WATER_G_PER_ML
    return water_for_volume(undiluted, volume_ml).content("water") - undiluted.content("water")


def _checked(water_g: float, undiluted: Mixture, pointer: str) -> float:
    """Millilitres of water, none where what stuck to the tin explains that there is less than was poured."""
    water_ml = water_g / WATER_G_PER_ML
    if water_ml < -SLACK * undiluted.volume_ml:
        detail = "The finished drink is less than what was poured into it; check the lines and what was measured."
        raise InputFault("measured_impossible", detail, pointer)
    if water_ml > MOST_WATER * undiluted.volume_ml:
        detail = "The finished drink is more than six times what was poured into it; check what was measured."
        raise InputFault("measured_impossible", detail, pointer)
    return max(0.0, water_ml)


def _water_g_by_density(found: Hydrometer, undiluted: Mixture) -> float:
    """Grams of water that give a drink without sugar its density; the lighter it is, the less water.

    Of a drink of which nobody says what is dissolved in it, sugar would be read as so much less alcohol.
    """
    unstated = _unstated(undiluted)
    if unstated:
        detail = f"What is dissolved in {', '.join(unstated)} is not stated and would hide alcohol: measure the volume."
        raise InputFault("measured_incomplete", detail)
    liquid = liquid_of(undiluted.contents)
    dissolved = liquid.mass_g - liquid.ethanol_g - liquid.water_g
    if not liquid.ethanol_g or dissolved > DRY_G_PER_100_ML * undiluted.volume_ml / 100.0:
        detail = "Density alone does not tell water from sugar: measure volume_ml or mass_g too."
        raise InputFault("measured_incomplete", detail)
    wanted = _density(found)
    low, high = -SLACK * undiluted.volume_ml, (MOST_WATER + 1.0) * undiluted.volume_ml
    low = max(low, -liquid.water_g)

    def density(water_g: float) -> float:
        watered = liquid._replace(water_g=liquid.water_g + water_g)
        return reading.density_at_kg_per_m3(watered, undiluted.excess_ml, found.t_c)

    if not density(low) <= wanted <= density(high):
        detail = "No water gives the drink this reading; check the lines and the temperature."
        raise InputFault("measured_impossible", detail, "/hydrometer")
    for _ in range(60):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if density(middle) < wanted else (low, middle)
    return 0.5 * (low + high)


def reconciliation(drink: Drink, modelled: Build, build: Build, used: bool) -> Reconciliation | None:
    """What was measured beside the model, for one serve; ``build`` is the drink as it is answered."""
    found = drink.measured
    if found is None:
        return None
    rows: list[Row] = []
    liquid = modelled.liquid
    if found.volume_ml is not None:
        volume_ml = found.volume_ml / drink.serves
        model_ml = None if liquid is None else liquid.volume_ml
        rows.append(Row("volume_ml", volume_ml, model_ml, "ml", _why(modelled), ARITHMETIC))
        rows += _implied(modelled, _water_or_none(modelled.undiluted, volume_ml), "by the volume")
    if found.mass_g is not None:
        mass_g = found.mass_g / drink.serves
        rows.append(Row("mass_g", mass_g, None if liquid is None else liquid.mass_g, "g", _why(modelled), ARITHMETIC))
        whole = modelled.undiluted.mass_g
        rows += _implied(modelled, None if whole is None else mass_g - whole, "by the mass")
    if found.hydrometer is not None:
        rows += _by_hydrometer(found.hydrometer, modelled, build)
    if found.brix is not None:
        rows.append(_by_refractometer(found.brix, build))
    return Reconciliation(used, tuple(rows))


def _why(modelled: Build) -> str:
    if modelled.liquid is not None and modelled.liquid.mass_g is not None:
        return ""
    return "Not reconciled: the model's water or a density is not known."


def _water_or_none(undiluted: Mixture, volume_ml: float) -> float | None:
    try:
        return _water_g_for(undiluted, volume_ml)
    except OutOfRange:
        return None


def _implied(modelled: Build, water_g: float | None, how: str) -> list[Row]:
    """The water that what was measured implies, beside the model's."""
    if water_g is None:
        return []
    note = f"Water that the drink took up, {how}; below 0, less came out than was poured in."
    return [Row("water_ml", water_g / WATER_G_PER_ML, modelled.dilution.water_ml, "ml", note, ARITHMETIC)]


def _density(found: Hydrometer) -> float:
    """Density that a reading means, at its temperature, in kg/m3."""
    if found.density_kg_per_m3 is not None:
        return found.density_kg_per_m3
    if found.us_proof is not None:
        return reading.density_of_reading_kg_per_m3(mass_fraction_from_us_proof(found.us_proof), found.t_c, PROOF_T_C)
    assert found.abv_percent is not None
    return reading.density_of_reading_kg_per_m3(mass_fraction_from_abv_percent(found.abv_percent), found.t_c)


def _by_hydrometer(found: Hydrometer, modelled: Build, build: Build) -> list[Row]:
    """Density at the reading's temperature and strength at 20 C, each beside the model's."""
    density = _density(found)
    drunk, model = build.liquid, modelled.liquid
    if drunk is None or drunk.mass_g is None or drunk.volume_ml <= 0:
        note = "Not reconciled: what is dissolved in 100 ml is not known without the water and every density."
        return [Row("density_kg_per_m3", density, None, "kg/m3", note, OIML)]
    expected = None if model is None else _density_of(model, found.t_c)
    rows = [Row("density_kg_per_m3", density, expected, "kg/m3", f"At {found.t_c:g} C.", OIML)]
    per_100, excess = _per_100_ml(drunk)
    try:
        strength = reading.abv_percent_from_density(density, found.t_c, per_100, excess)
    except OutOfRange:
        note = "Not reconciled: with what is dissolved in the drink no strength has this density."
        return [rows[0]._replace(note=f"{rows[0].note} {note}")]
    modelled_percent = None if model is None else model.abv_percent
    return [*rows, Row("abv_percent", strength, modelled_percent, "% vol", _hidden(drunk, per_100), OIML)]


def _hidden(drunk: Mixture, per_100: Liquid) -> str:
    dissolved = max(0.0, per_100.mass_g - per_100.ethanol_g - per_100.water_g)  # what floats leave is below 0 at times
    note = f"At 20 C, with {dissolved:.2f} g of dissolved matter in 100 ml taken from the model."
    unstated = _unstated(drunk)
    if unstated:
        note += f" What is dissolved in {', '.join(unstated)} is not stated and counts as 0 here."
    return note


def _unstated(mix: Mixture) -> list[str]:
    """Items of which it is not known what is dissolved in them."""
    return sorted({item for item, _ in mix.missing("sugars_g", "carbohydrate_g", "polyols_g", "acids_g")})


def _density_of(mix: Mixture, t_c: float) -> float | None:
    if mix.mass_g is None or mix.volume_ml <= 0:
        return None
    return reading.density_at_kg_per_m3(liquid_of(mix.contents), mix.excess_ml, t_c)


def _per_100_ml(mix: Mixture) -> tuple[Liquid, float]:
    """Grams in 100 ml, and the millilitres in them that stated densities leave unexplained."""
    share = 100.0 / mix.volume_ml
    scaled = {name: amount * share for name, amount in mix.contents.items()}
    return liquid_of(scaled), mix.excess_ml * share


def _by_refractometer(brix: float, build: Build) -> Row:
    """Dissolved matter of a drink without alcohol; of any other the reading is shown alone."""
    source = "refractive index of aqueous sucrose (ICUMSA)"
    drunk = build.liquid
    strength = None if drunk is None else drunk.abv_percent
    if drunk is None or strength is None or strength > NEARLY_NO_ALCOHOL_PERCENT:
        note = "Not reconciled: alcohol bends light too, so that the Brix of a drink with it cannot be read as sugar."
        return Row("brix", brix, None, "Brix", note, source)
    unknown = drunk.missing("sugars_g", "acids_g")
    if not drunk.mass_g or unknown:
        return Row("brix", brix, None, "Brix", "Not reconciled: not all dissolved matter is stated.", source)
    liquid = liquid_of(drunk.contents)
    dissolved = liquid.sugars_g + sum(liquid.acids_g.values()) + liquid.salt_g
    note = "Sugars, acids and salt in g per 100 g; a refractometer reads acids a little lower than sugar."
    return Row("brix", brix, 100.0 * dissolved / drunk.mass_g, "Brix", note, source)
