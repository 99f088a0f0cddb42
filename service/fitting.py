"""A mixture made to agree with what was measured after a step, and refused where its mass balance cannot give
that.

What a step can change decides what a figure fixes. Where water leaves (reducing, freezing out, distilling) a
measured mass or volume fixes the water, a strength the ethanol, Brix the sugars. Where product is lost
(straining, clarifying, washing) a smaller mass or volume is product lost with its composition unchanged, and a
strength or Brix alone fixes the water. Fermenting turns sugars into ethanol in the same volume.
"""

from collections.abc import Mapping

from msgspec.structs import replace

from service.errors import InputFault, OutOfRange
from service.mixture import Mixture, changed, of_contents, scaled, water_for_volume

DISTILLING = frozenset(("distilling", "redistilling"))
TAKES_WATER = DISTILLING | {"reducing", "drying", "heating", "freezing_out"}
FERMENTING = "fermenting"

ETHANOL_G_PER_ML = 0.789239
BALANCE = 1.02
"""Measured figures may exceed the balance by 2 %, the accuracy of a bar's scales and hydrometers; common
practice, no source."""

ETHANOL_G_PER_G_SUGAR = 0.5384
"""Most ethanol that a gram of sucrose can give: 4 x 46.07 / 342.30, by stoichiometry."""

CO2_G_PER_G_ETHANOL = 0.9553
"""Carbon dioxide that leaves with each gram of ethanol made: 44.01 / 46.07, by stoichiometry."""

_FIELDS: Mapping[str, str | None] = {"water": None, "ethanol": "abv_percent", "sugars": "sugars_g"}
_ROUNDS = 200


def fitted(
    prep_id: str, mix: Mixture, before: Mixture, kind: str, measured: Mapping[str, float], spare: Mapping[str, float]
) -> Mixture:
    """``mix`` after a step of ``kind`` with its ``measured`` figures (mass_g, volume_ml, brix, abv_percent).

    ``mix`` is what the stated shares keep of ``before``; a measured figure wins over them and has to fit ``before``.

    ``spare`` maps water, ethanol and sugars to grams that may have come in from what is strained out.
    """
    if not measured:
        return mix
    _check_mass_known(prep_id, mix, measured)
    try:
        if kind in TAKES_WATER and ("mass_g" in measured or "volume_ml" in measured):
            found = _of_total(mix, measured)
        else:
            found = _of_strength(mix, measured.get("abv_percent"), measured.get("brix"))
            if found.volume_ml <= 0:
                raise _impossible(f"The figures leave no liquid of {prep_id}; check them.")
            found = _product_lost(prep_id, found, measured)
    except OutOfRange:
        raise _impossible("Ethanol and dissolved matter leave no room for water at this measured figure.") from None
    if found.volume_ml <= 0:
        raise _impossible(f"The figures leave no liquid of {prep_id}; check them.")
    _refuse_excess(prep_id, found, before, spare)
    return _now_known(found, measured)


def _check_mass_known(prep_id: str, mix: Mixture, measured: Mapping[str, float]) -> None:
    for name in ("mass_g", "brix"):
        if name in measured and mix.mass_g is None:
            detail = f"A measured mass or Brix needs the density of everything in {prep_id}."
            raise InputFault("density_unknown", detail, f"/measured/{name}")


def _impossible(detail: str) -> InputFault:
    return InputFault("measured_impossible", detail, "/measured")


def _now_known(mix: Mixture, measured: Mapping[str, float]) -> Mixture:
    """What is measured is no longer unknown."""
    names = {field for key, field in (("abv_percent", "abv_percent"), ("brix", "sugars_g")) if key in measured}
    return replace(mix, unknown=mix.unknown.without(names))


def _ethanol_g(volume_ml: float, abv_percent: float) -> float:
    return volume_ml * abv_percent / 100.0 * ETHANOL_G_PER_ML


def _with_sugars(mix: Mixture, sugars_g: float) -> Mixture:
    """``mix`` with so much sugar; starch and polyols stay as they are."""
    rest = max(mix.content("carbohydrate") - mix.content("sugars"), 0.0)
    return changed(mix, sugars=sugars_g, carbohydrate=sugars_g + rest)


def _of_total(mix: Mixture, measured: Mapping[str, float]) -> Mixture:
    """The mixture of a measured mass or volume: water fills what ethanol and dissolved matter leave of it."""
    mass, volume = measured.get("mass_g"), measured.get("volume_ml")
    abv, brix = measured.get("abv_percent"), measured.get("brix")
    for _ in range(_ROUNDS):
        last = mix
        if abv is not None:
            mix = changed(mix, ethanol=_ethanol_g(mix.volume_ml if volume is None else volume, abv))
        if brix is not None:
            mix = _with_sugars(mix, (mix.mass_g or 0.0) * brix / 100.0 if mass is None else mass * brix / 100.0)
        if mass is not None:
            assert mix.mass_g is not None
            mix = changed(mix, water=mix.content("water") + mass - mix.mass_g)
        else:
            assert volume is not None
            mix = water_for_volume(mix, volume)
        if _settled(last, mix):
            break
    if mass is not None and volume is not None:
        if not mix.volume_ml / BALANCE <= volume <= mix.volume_ml * BALANCE:
            raise _impossible("The measured mass and volume do not go together; check both figures.")
        mix = of_contents(mix.contents, mix.excess_ml + volume - mix.volume_ml, mix.mass_g, mix.unknown)
    return mix


def _of_strength(mix: Mixture, abv: float | None, brix: float | None) -> Mixture:
    """The mixture of a measured strength or Brix; sugars stay before ethanol, ethanol before water."""
    if abv is None and brix is None:
        return mix
    sugars_stay = bool(brix) and mix.content("sugars") > 0 and mix.knows("sugars_g")
    ethanol_stays = bool(abv) and mix.ethanol_g > 0 and mix.knows("abv_percent") and not sugars_stay
    for _ in range(_ROUNDS):
        last = mix
        if brix is not None and not sugars_stay:
            mix = _with_sugars(mix, (mix.mass_g or 0.0) * brix / 100.0)
        elif brix is not None:
            mix = changed(mix, water=mix.content("water") + mix.content("sugars") * 100.0 / brix - (mix.mass_g or 0.0))
        if abv is not None and ethanol_stays:
            mix = water_for_volume(mix, mix.ethanol_g / ETHANOL_G_PER_ML * 100.0 / abv)
        elif abv is not None:
            mix = changed(mix, ethanol=_ethanol_g(mix.volume_ml, abv))
        if _settled(last, mix):
            break
    return mix


def _settled(last: Mixture, mix: Mixture) -> bool:
    size = 1e-13 * (1.0 + abs(mix.volume_ml))
    return all(abs(last.content(name) - mix.content(name)) <= size for name in ("water", "ethanol", "sugars"))


def _product_lost(prep_id: str, mix: Mixture, measured: Mapping[str, float]) -> Mixture:
    """``mix`` of which only the measured mass or volume is left, composition unchanged."""
    shares = []
    if "mass_g" in measured and mix.mass_g:
        shares.append(measured["mass_g"] / mix.mass_g)
    if "volume_ml" in measured:
        shares.append(measured["volume_ml"] / mix.volume_ml)
    if not shares:
        return mix
    if max(shares) > BALANCE:
        raise _impossible(f"More is measured than {prep_id} holds before the step; check the figures.")
    if max(shares) > min(shares) * BALANCE:
        raise _impossible("The measured mass and volume do not go together; check both figures.")
    return scaled(mix, min(1.0, shares[-1]))


def _refuse_excess(prep_id: str, mix: Mixture, before: Mixture, spare: Mapping[str, float]) -> None:
    """Refuses more of anything than there was; what was not known before cannot be exceeded."""
    for name, field in _FIELDS.items():
        if (field is not None and not before.knows(field)) or (field is None and before.mass_g is None):
            continue
        if mix.content(name) > (before.content(name) + spare.get(name, 0.0)) * BALANCE + 0.01:
            detail = f"What is measured would need more {name} than {prep_id} holds before the step; check the figures."
            raise _impossible(detail)


def fermented(prep_id: str, mix: Mixture, measured: Mapping[str, float]) -> Mixture:
    """``mix`` after fermenting: the volume stays, sugars become ethanol and gas by what is measured.

    How much sugar is left is unknown unless Brix is measured, and so are the acids; a sum of what is at least
    there counts none of them.
    """
    _check_mass_known(prep_id, mix, measured)
    share = measured["volume_ml"] / mix.volume_ml if "volume_ml" in measured else 1.0
    if share > BALANCE:
        raise _impossible(f"More is measured than {prep_id} holds before the step; check the figures.")
    start = scaled(mix, min(1.0, share))
    sugars_before = max(start.content("carbohydrate"), start.content("sugars"))
    ethanol = start.ethanol_g if "abv_percent" not in measured else _ethanol_g(start.volume_ml, measured["abv_percent"])
    made = ethanol - start.ethanol_g
    mass = None if start.mass_g is None else start.mass_g - CO2_G_PER_G_ETHANOL * max(made, 0.0)
    if mass is not None and "mass_g" in measured and measured["mass_g"] > mass * BALANCE:
        raise _impossible(f"More is measured than {prep_id} holds before the step; check the figures.")
    sugars = (mass or 0.0) * measured["brix"] / 100.0 if "brix" in measured else 0.0
    if start.unknown.fields.isdisjoint({"carbohydrate_g", "sugars_g", "abv_percent"}):
        if made > ETHANOL_G_PER_G_SUGAR * max(sugars_before - sugars, 0.0) * BALANCE + 0.01:
            detail = f"The sugars of {prep_id} cannot give so much ethanol; check the strength, Brix and the lines."
            raise _impossible(detail)
        if sugars > sugars_before * BALANCE + 0.01:
            raise _impossible(f"What is measured would need more sugars than {prep_id} holds before the step.")
    contents = {**start.contents, "ethanol": ethanol, "sugars": sugars, "carbohydrate": sugars + start.polyols_g}
    unknown = start.unknown.with_pairs((prep_id, name) for name in ("sugars_g", "carbohydrate_g", "acids_g"))
    bare = of_contents(contents, 0.0, mass, unknown)
    kept = replace(bare, excess_ml=start.volume_ml - bare.volume_ml, volume_ml=start.volume_ml)
    if mass and "mass_g" in measured and "volume_ml" not in measured:
        kept = scaled(kept, min(1.0, measured["mass_g"] / mass))
    if "abv_percent" in measured:
        kept = replace(kept, unknown=kept.unknown.without(("abv_percent",)))
    return kept
