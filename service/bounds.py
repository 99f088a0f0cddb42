"""What a part may be besides what it is: its weakest, its strongest, and the most it holds of what is cautioned for.

Each is a batch of its own, made of other choices for its lines by the same steps and yield.
"""

from collections.abc import Callable, Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from service.errors import InputFault
from service.extremes import choice_of, tried
from service.mixture import CAUTIONED, MOST, POLYOL, Mixture, Part, mixture, with_water
from service.recipe import Batch, PreparationLine, PreparationSpec

BatchOf = Callable[[PreparationSpec, Mixture, Mapping[str, float]], Batch]
"""Makes a batch of mixed lines, with the grams that what is strained out may have given."""


class Tried(Struct, frozen=True):
    """Lines mixed, and the batch that they give."""

    whole: Mixture
    batch: Batch

    @property
    def abv_percent(self) -> float | None:
        return self.batch.mixture.abv_percent

    @property
    def ethanol_in_a_gram(self) -> float | None:
        """Grams of ethanol in a gram, 0 where the mass is not known."""
        left = self.batch.mixture
        return None if self.abv_percent is None else left.ethanol_g / left.mass_g if left.mass_g else 0.0


_MEASURES: Sequence[Callable[["Tried"], float | None]] = (
    lambda one: one.whole.abv_percent,
    lambda one: one.abv_percent,
    lambda one: one.ethanol_in_a_gram,
)
"""By what the ends of a part are sought: strength before its steps, which they may raise alike, strength after them,
and what decides where an amount of the part is by mass."""


FEW = 6
"""So many batches of a part are all kept to choose from, where it stands by mass beside what fills a glass."""


def stronger(spec: PreparationSpec, own: Batch, batch_of: BatchOf) -> tuple[Batch | None, list[Batch]]:
    """The batch with the choices that make it strongest, ``None`` where that is its own, and further ones, those
    with the most and the least ethanol in a gram among them; refused where one that was tried cannot be."""
    if not any(line.variants for line in spec.lines):
        return None, []
    rows = [[choice_of(part) for part in (line.part, *line.variants) if part is not None] for line in _kept(spec)]

    def made(parts: Sequence[Part]) -> Tried:
        return _made(spec, batch_of, parts, 0.0)

    found = [one for sign in (1.0, -1.0) for one in tried(rows, made, _MEASURES, sign)]
    unknown = next((one.batch for one in found if one.abv_percent is None), None)
    if unknown is not None:
        return None if own.mixture.abv_percent is None else unknown, []
    strongest = max(found, key=lambda one: one.abv_percent or 0.0).batch
    is_own = (strongest.mixture.abv_percent or 0.0) <= (own.mixture.abv_percent or 0.0)
    if len(found) > FEW:
        by_mass = sorted(found, key=lambda one: one.ethanol_in_a_gram or 0.0)
        found = [by_mass[0], by_mass[-1]]
    return None if is_own else strongest, [one.batch for one in found]


def weakest(spec: PreparationSpec, batch_of: BatchOf) -> Batch | None:
    """The batch with the choices that make it weakest and all water of strained-out fresh fruit, its own and that of
    its parts.

    ``None`` where that is its own. Where what was measured does not go with all the water of the fruit, none of it is
    taken to have come; where it does not go with an alternative, the alternative is refused.
    """
    water = sum(
        line.part.content("water")
        for line in spec.lines
        if line.strained_out and line.part is not None and line.substance.kind == "fruit"
    )
    if not water and not any(line.variants or line.weaker for line in spec.lines):
        return None
    rows = []
    kept = _kept(spec)
    for line in kept:
        assert line.part is not None
        own = () if line.substance.weaker is not None else (line.part,)
        rows.append([choice_of(part) for part in (*own, *line.weaker, *line.variants)])
    for grams_come in dict.fromkeys((water, 0.0)):

        def made(parts: Sequence[Part], come: float = grams_come) -> Tried:
            return _made(spec, batch_of, parts, come)

        try:
            found = tried(rows, made, _MEASURES, -1.0)
        except InputFault as fault:
            if not grams_come and fault.pointer.endswith("/alternatives"):
                raise
        else:
            least = min(found, key=lambda one: (one.abv_percent is None, one.abv_percent or 0.0))
            is_own = least is found[0] and not grams_come and all(line.substance.weaker is None for line in kept)
            return None if is_own else least.batch
    return None


def _kept(spec: PreparationSpec) -> list[PreparationLine]:
    return [line for line in spec.lines if not line.strained_out and line.part is not None]


def _made(spec: PreparationSpec, batch_of: BatchOf, parts: Sequence[Part], fruit_water_g: float) -> Tried:
    """The batch of one choice for each line that is kept; a fault of one is at the first line with an alternative."""
    whole = with_water(mixture(parts), fruit_water_g)
    spare = spare_of(spec)
    spare["water"] = max(spare["water"] - fruit_water_g, 0.0)
    try:
        return Tried(whole, batch_of(spec, whole, spare))
    except InputFault as fault:
        chosen = dict(zip([id(line) for line in _kept(spec)], parts, strict=True))
        for number, line in enumerate(spec.lines):
            part = chosen.get(id(line))
            if line.alternatives and part is not None and part.substance.id != line.substance.id:
                detail = f"With {part.substance.id} instead: {fault.detail}"
                raise InputFault(fault.code, detail, f"/lines/{number}/alternatives") from None
        raise


def spare_of(spec: PreparationSpec) -> dict[str, float]:
    """Grams that what is strained out may have given to the liquid; without bound where they are not known."""
    spare = dict.fromkeys(("water", "ethanol", "sugars"), 0.0)
    for line in spec.lines:
        if not line.strained_out or line.substance.undissolved:
            continue
        known = line.part is not None and bool(line.substance.contents)
        for name in spare:
            spare[name] += line.part.content(name) if known and line.part is not None else float("inf")
    return spare


def most(spec: PreparationSpec, batch_of: BatchOf) -> dict[str, float]:
    """What of :data:`CAUTIONED` a ml holds with the alternatives that have most of it, where that is more.

    It goes through the steps of the batch as constituents without mass, polyols with the share of sugars.
    """
    kept = [line for line in _kept(spec) if line.alternatives or line.substance.most]
    if not kept:
        return {}
    parts = [line.part for line in _kept(spec) if line.part is not None]
    more = {
        measure: sum(
            max(part.most_of(measure) for part in (line.part, *line.variants) if part is not None)
            - (0.0 if line.part is None else line.part.of(measure))
            for line in kept
        )
        for measure in CAUTIONED
    }
    whole = mixture(parts)
    names = {measure: POLYOL + MOST if measure == "polyols_g" else MOST + measure for measure in CAUTIONED}
    contents = {**whole.contents, **{names[measure]: amount for measure, amount in more.items() if amount > 0}}
    if len(contents) == len(whole.contents):
        return {}
    batch = batch_of(spec, replace(whole, contents=contents), spare_of(spec)).mixture
    own = {measure: sum(batch.content(name) for name in held) for measure, held in CAUTIONED.items()}
    return {
        measure: (own[measure] + batch.content(name)) / batch.volume_ml
        for measure, name in names.items()
        if name in contents
    }
