"""Steps of a preparation: what each keeps, and what was measured after it.

``keeps`` says which share of each constituent stays; what is measured wins and is made to fit
(:mod:`service.fitting`).
"""

from collections.abc import Mapping, Sequence

from msgspec import Struct, field
from msgspec.structs import replace

from service.errors import InputFault
from service.fitting import DISTILLING, FERMENTING, fermented, fitted
from service.mixture import ACID, MOST, POLYOL, Assumption, Mixture, grams, of_contents, with_mass_of

STRENGTH_CHANGES = DISTILLING | {FERMENTING}
REMOVES_SOLIDS = frozenset(("clarifying", "washing", "milk_washing", "fat_washing"))


_FIELDS: Mapping[str, tuple[str, ...]] = {
    "ethanol": ("abv_percent",), "sugars": ("sugars_g", "carbohydrate_g", "polyols_g"), "acids": ("acids_g",),
    "salt": ("salt_g",), "protein": ("protein_g",), "fat": ("fat_g", "saturates_g"),
    "solids": ("fibre_g", "caffeine_mg", "quinine_mg", "glycyrrhizin_mg"),
}  # fmt: skip
"""What is no longer unknown where none of it is kept; sulphites are volatile and stay a question."""


class Step(Struct, frozen=True):
    """``keeps`` maps ethanol, water, sugars, acids, salt, protein, fat to shares where stated; ``measured``
    maps mass_g, volume_ml, brix (mass %), abv_percent to figures."""

    kind: str
    keeps: Mapping[str, float] = field(default_factory=dict)
    measured: Mapping[str, float] = field(default_factory=dict)


def after_steps(
    prep_id: str, start: Mixture, steps: Sequence[Step], spare: Mapping[str, float]
) -> tuple[Mixture, list[Assumption]]:
    """The mixture after all steps, and what had to be assumed.

    ``spare`` maps water, ethanol and sugars to the grams that what is strained out may have given to the
    liquid.
    """
    assumptions: list[Assumption] = []
    current = start
    for index, step in enumerate(steps):
        try:
            current = _after(prep_id, current, step, spare, assumptions)
        except InputFault as fault:
            raise fault.at(f"/steps/{index}") from None
    return current, assumptions


def _after(
    prep_id: str, start: Mixture, step: Step, spare: Mapping[str, float], assumptions: list[Assumption]
) -> Mixture:
    distilled = step.kind in DISTILLING
    default = dict.fromkeys(("sugars", "acids", "salt", "protein", "fat", "solids"), 0.0) if distilled else {}
    kept = _kept(start, {**default, **step.keeps})
    if distilled and (kept.mass_g is not None or "volume_ml" in step.measured):
        kept = _distillate(kept)
    if distilled and not step.keeps:
        detail = "Sugars, acids, salt, protein and fat are taken to stay in the still."
        assumptions.append(Assumption("distillate_without_solids", detail, prep_id))
    if step.kind in REMOVES_SOLIDS and not step.keeps:
        detail = "No share kept is stated: everything is taken to stay, so energy may read high."
        assumptions.append(Assumption("keeps_not_stated", detail, prep_id))
    if kept.volume_ml <= 0 and not (distilled and step.measured):
        raise InputFault("preparation_empty", f"Nothing of {prep_id} is left after this step.")
    if step.kind == FERMENTING:
        result = fermented(prep_id, kept, step.measured)
    else:
        result = fitted(prep_id, kept, start, step.kind, step.measured, spare)
    if result.overfull:
        detail = f"{prep_id} holds more ethanol than there is room for at this measured figure; check it."
        raise InputFault("measured_impossible", detail, "/measured" if step.measured else "/keeps")
    if step.kind in STRENGTH_CHANGES and "abv_percent" not in step.measured:
        result = replace(result, unknown=result.unknown.with_pairs([(prep_id, "abv_percent")]))
    return result


def _kept(start: Mixture, keeps: Mapping[str, float]) -> Mixture:
    if not keeps:
        return start
    contents: dict[str, float] = {}
    for name, amount in start.contents.items():
        if name.startswith(ACID):
            key = "acids"
        elif name == "carbohydrate" or name.startswith(POLYOL):
            key = "sugars"
        elif name == "saturates":
            key = "fat"
        elif name.removeprefix(MOST) in ("fibre", "caffeine_mg", "quinine_mg", "glycyrrhizin_mg"):
            key = "solids"
        else:
            key = name
        contents[name] = amount * keeps.get(key, 1.0)
    before = grams(start.contents)
    excess = start.excess_ml * (grams(contents) / before if before else 1.0)
    gone = {field for key, fields in _FIELDS.items() if keeps.get(key) == 0.0 for field in fields}
    kept = of_contents(contents, excess, with_mass_of(start, contents), start.unknown.without(gone))
    if kept.overfull:
        # What made the liquid heavier than the model has gone with its water.
        kept = of_contents(contents, 0.0, kept.mass_g, kept.unknown)
    return kept


def _distillate(kept: Mixture) -> Mixture:
    """What came over, without the matter that gave the liquid in the still another volume than the model's."""
    return of_contents(kept.contents, 0.0, grams(kept.contents), kept.unknown.without(("density_g_per_ml",)))
