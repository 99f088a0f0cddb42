"""Steps of a preparation: what each keeps, and what was measured after it.

``keeps`` says which share of each constituent stays. What is measured then fixes what is still free: one measured figure
fixes the water; of two, the second fixes ethanol or sugars. A figure that would need more of something than the step was
given is refused, fermenting apart.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from service.errors import InputFault, OutOfRange
from service.mixture import ACID, POLYOL, Assumption, Missing, Mixture, of_contents
from service.physics import mixing

DISTILLING = frozenset(("distilling", "redistilling"))
STRENGTH_CHANGES = DISTILLING | {"fermenting"}
REMOVES_SOLIDS = frozenset(("clarifying", "washing", "milk_washing", "fat_washing"))
ETHANOL_G_PER_ML = 0.789239
BALANCE = 1.02
"""Measured figures may exceed the balance by 2 %, the accuracy of a bar's scales and hydrometers; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Step:
    """``keeps`` maps ethanol, water, sugars, acids, salt, protein, fat to shares where stated; ``measured`` maps mass_g,
    volume_ml, brix (mass %), abv_percent to figures."""

    kind: str
    keeps: Mapping[str, float] = field(default_factory=dict)
    measured: Mapping[str, float] = field(default_factory=dict)


def after_steps(prep_id: str, start: Mixture, steps: Sequence[Step]) -> tuple[Mixture, list[Assumption]]:
    """The mixture after all steps, and what had to be assumed."""
    assumptions: list[Assumption] = []
    current = start
    for index, step in enumerate(steps):
        try:
            current = _after(prep_id, current, step, assumptions)
        except InputFault as fault:
            raise fault.at(f"/steps/{index}") from None
    return current, assumptions


def _after(prep_id: str, start: Mixture, step: Step, assumptions: list[Assumption]) -> Mixture:
    default = dict.fromkeys(("sugars", "acids", "salt", "protein", "fat", "solids"), 0.0) if step.kind in DISTILLING else {}
    kept = _kept(start, {**default, **step.keeps})
    if step.kind in DISTILLING and not step.keeps:
        assumptions.append(
            Assumption("distillate_without_solids", "Sugars, acids, salt, protein and fat are taken to stay in the still.", prep_id)
        )
    if step.kind in REMOVES_SOLIDS and not step.keeps:
        detail = "No share kept is stated: everything is taken to stay, so energy may read high."
        assumptions.append(Assumption("keeps_not_stated", detail, prep_id))
    if step.kind == "fermenting":
        kept = _with_unknown(kept, {(prep_id, name) for name in ("sugars_g", "carbohydrate_g", "acids_g")})
    measured = dict(step.measured)
    result = _fitted(prep_id, kept, step, measured) if measured else kept
    if step.kind in STRENGTH_CHANGES and "abv_percent" not in measured:
        result = _with_unknown(result, {(prep_id, "abv_percent")})
    return result


def _kept(start: Mixture, keeps: Mapping[str, float]) -> Mixture:
    contents: dict[str, float] = {}
    for name, amount in start.contents.items():
        if name.startswith(ACID):
            key = "acids"
        elif name == "carbohydrate" or name.startswith(POLYOL):
            key = "sugars"
        elif name == "saturates":
            key = "fat"
        elif name in ("fibre", "caffeine_mg", "quinine_mg", "sulphites_mg", "glycyrrhizin_mg"):
            key = "solids"
        else:
            key = name
        contents[name] = amount * keeps.get(key, 1.0)
    excess = start.excess_ml * (sum(contents.values()) / total if (total := sum(start.contents.values())) else 1.0)
    return of_contents(contents, excess, _mass(start, contents), start.unknown)


_WEIGHED = ("ethanol", "water", "protein", "fat", "fibre", "salt")


def grams(contents: Mapping[str, float]) -> float:
    """Mass in grams of constituents: carbohydrate counts once, sugars and polyols within it."""
    sugars_polyols, total = contents.get("sugars", 0.0), 0.0
    for name, amount in contents.items():
        if name.startswith(POLYOL):
            sugars_polyols += amount
        elif name.startswith(ACID) or name in _WEIGHED:
            total += amount
    return total + max(contents.get("carbohydrate", 0.0), sugars_polyols)


def _mass(before: Mixture, contents: Mapping[str, float]) -> float | None:
    return None if before.mass_g is None else before.mass_g - grams(before.contents) + grams(contents)


def _with_unknown(mix: Mixture, more: set[Missing]) -> Mixture:
    return Mixture(mix.contents, mix.excess_ml, mix.volume_ml, mix.mass_g, mix.unknown | more)


def _changed(mix: Mixture, **amounts: float) -> Mixture:
    contents = {**mix.contents, **amounts}
    return of_contents(contents, mix.excess_ml, _mass(mix, contents), mix.unknown)


def water_for_volume(mix: Mixture, volume_ml: float) -> Mixture:
    """The mixture with as much water as gives ``volume_ml``. Raises ``OutOfRange`` where the rest needs more room."""
    acids = {name[5:]: amount for name, amount in mix.contents.items() if name.startswith(ACID)}
    polyols = mix.polyols_g
    sugars = mix.content("sugars")
    other = {name: mix.contents[name] for name in ("protein", "fat", "fibre") if name in mix.contents}
    if polyols:
        other["polyols"] = polyols
    starch = mix.content("carbohydrate") - sugars - polyols
    if starch > 1e-12:
        other["starch"] = starch
    water = mixing.water_g_for_volume(volume_ml - mix.excess_ml, mix.ethanol_g, sugars, acids, mix.content("salt"), other)
    return _changed(mix, water=water)


def _fitted(prep_id: str, mix: Mixture, step: Step, measured: Mapping[str, float]) -> Mixture:
    """``mix`` made to agree with what was measured; refused where the balance cannot give it."""
    limits = dict(mix.contents)
    volume, mass, brix, abv = (measured.get(name) for name in ("volume_ml", "mass_g", "brix", "abv_percent"))
    if mass is not None and mix.mass_g is None:
        raise InputFault("density_unknown", f"A measured mass needs the density of everything in {prep_id}.", "/measured/mass_g")
    try:
        mix = _with_total(mix, mass, volume, abv, brix)
    except OutOfRange:
        raise InputFault(
            "measured_impossible", "Ethanol and dissolved matter leave no room for water at this measured figure.", "/measured"
        ) from None
    _refuse_excess(prep_id, mix, limits, step)
    return mix


def _with_total(mix: Mixture, mass: float | None, volume: float | None, abv: float | None, brix: float | None) -> Mixture:
    if mass is None and volume is None:
        if abv is not None and abv > 0 and mix.ethanol_g > 0:
            mix = water_for_volume(mix, mix.ethanol_g / ETHANOL_G_PER_ML * 100.0 / abv)
        elif abv is not None:
            mix = _changed(mix, ethanol=mix.volume_ml * abv / 100.0 * ETHANOL_G_PER_ML)
        if brix is None:
            return mix
        if abv is None and brix > 0:
            return _changed(mix, water=mix.content("water") + mix.content("sugars") * 100.0 / brix - grams(mix.contents))
        return _with_sugars(mix, grams(mix.contents) * brix / 100.0)
    if volume is not None and abv is not None:
        mix = _changed(mix, ethanol=volume * abv / 100.0 * ETHANOL_G_PER_ML)
    if brix is not None:
        total = mass if mass is not None else None
        for _ in range(1 if total is not None else 30):
            base = total if total is not None else grams(mix.contents)
            mix = _with_sugars(mix, base * brix / 100.0)
            if volume is not None:
                mix = water_for_volume(mix, volume)
    if volume is not None:
        return water_for_volume(mix, volume)
    assert mass is not None and mix.mass_g is not None
    if abv is not None:
        for _ in range(30):
            mix = _changed(mix, ethanol=mix.volume_ml * abv / 100.0 * ETHANOL_G_PER_ML)
            mix = _changed(mix, water=mix.content("water") + mass - (mix.mass_g or 0.0))
        return mix
    return _changed(mix, water=mix.content("water") + mass - mix.mass_g)


def _with_sugars(mix: Mixture, sugars_g: float) -> Mixture:
    starch = max(mix.content("carbohydrate") - mix.content("sugars"), 0.0)
    return _changed(mix, sugars=sugars_g, carbohydrate=sugars_g + starch)


def _refuse_excess(prep_id: str, mix: Mixture, limits: Mapping[str, float], step: Step) -> None:
    for name in ("water", "ethanol", "sugars"):
        had, has = limits.get(name, 0.0), mix.content(name)
        if name == "ethanol" and step.kind == "fermenting":
            had += 0.5111 * max(limits.get("sugars", 0.0) - mix.content("sugars"), 0.0) if "brix" in step.measured else has
        if has < -1e-9:
            raise InputFault("measured_impossible", f"What is measured would need less than no {name} in {prep_id}.", "/measured")
        if has > had * BALANCE + 0.01:
            raise InputFault(
                "measured_impossible",
                f"What is measured would need more {name} than {prep_id} holds before the step; check the figures.",
                "/measured",
            )
