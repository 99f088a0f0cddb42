"""What a line may be instead: the items the bar may pour, and the same part with its fruit's water in it."""

from collections.abc import Mapping, Sequence

from msgspec.structs import replace

from schemas.drink import Drink
from service.build import Build, built, with_parts
from service.errors import InputFault
from service.extremes import Choice, choice_of, tried
from service.icewater import Dilution
from service.line import ResolvedLine, part_of, quantities_of
from service.mixture import CAUTIONED, Part, Substance
from service.specification import glass_of, method_of

SCALES = ("stated_fraction", "house_fraction", "energy_balance", "stirred_regression", "shaken_regression")
"""Models whose water grows with the volume of what is poured."""


def alternative_builds(
    drink: Drink, lines: Sequence[ResolvedLine], build: Build, fractions: Mapping[str, float]
) -> tuple[Sequence[Build], Sequence[Build]]:
    """Builds among which the weakest and the strongest are, each way with the most and the least ethanol too.

    ``build`` is as it is poured, and the first of each; both are empty where no line may be anything else. A part with
    the water of its strained-out fruit in it is an alternative to itself.
    """
    rows: dict[int, tuple[list[Part], list[Part]]] = {}
    for line in lines:
        if line.part is None or line.role not in ("pour", "top", "rinse"):
            continue
        own = line.part.substance
        if not line.alternatives and own.weaker is None and own.stronger is None and not own.others:
            continue
        choices = [line.part, *(alternative_part(line, made, drink.serves) for made in line.alternatives)]
        weaker = [part for poured in choices if (part := _with_fruit_water(line, poured, drink.serves))]
        stronger = [
            alternative_part(line, part.substance.stronger, drink.serves)
            for part in choices
            if part.substance.stronger is not None
        ]
        others = [alternative_part(line, made, drink.serves) for part in choices for made in part.substance.others]
        if line.alternatives or weaker or stronger or others:
            rows[line.number] = [*choices, *weaker, *others], [*choices, *stronger, *others]
    if not rows:
        return (), ()

    def made(parts: Sequence[Part]) -> Build:
        chosen = dict(zip(rows, parts, strict=True))
        return build if all(part is lines[number].part for number, part in chosen.items()) else rebuilt(chosen)

    def rebuilt(chosen: Mapping[int, Part]) -> Build:
        poured = _unfilled(with_parts(lines, chosen))
        try:
            return built(poured, method_of(drink), glass_of(drink), drink.serves, fractions)
        except InputFault as fault:
            if fault.code != "fill_no_room":
                raise
            # With more in the glass than is poured there is no room left: nothing of the fill comes in.
            return built(_unfilled(poured, empty=True), method_of(drink), glass_of(drink), drink.serves, fractions)

    weak, strong = (
        tried(
            [[_choice(lines[number], part, build.dilution) for part in row[end]] for number, row in rows.items()],
            made,
            (_abv_percent, _ethanol_g_of),
            sign,
            _strengths_of_fill(lines, rows),
        )
        for end, sign in ((0, -1.0), (1, 1.0))
    )
    return weak, strong


def _abv_percent(build: Build) -> float | None:
    return None if build.liquid is None or build.liquid.volume_ml <= 0 else build.liquid.abv_percent


def _ethanol_g_of(build: Build) -> float:
    return build.undiluted.ethanol_g


def _choice(line: ResolvedLine, part: Part, dilution: Dilution) -> Choice:
    """What a part brings to the glass: of a rinse what stays, of what is poured its share of the ice's water too."""
    if line.role == "rinse":
        bare = choice_of(part)
        return choice_of(part, line.residue_ml / bare.volume_ml if bare.volume_ml > 0 else 0.0)
    melts = line.role == "pour" and part.substance.gas_factor <= 1.0 and dilution.model in SCALES
    return choice_of(part, 1.0, 1.0 + (dilution.fraction or 0.0) if melts else 1.0)


def _strengths_of_fill(
    lines: Sequence[ResolvedLine], rows: Mapping[int, tuple[Sequence[Part], Sequence[Part]]]
) -> list[float]:
    """Strengths, as fractions, of what may fill the glass: what takes its room takes the place of so much ethanol."""
    fills = [line for line in lines if line.amount.dimension == "fill" and line.part is not None]
    parts = [line.part for line in fills]
    parts += [part for line in fills for end in rows.get(line.number, ()) for part in end]
    bare = [choice_of(part) for part in parts if part is not None]
    return [choice.ethanol_ml / choice.volume_ml for choice in bare if choice.volume_ml > 0]


def _unfilled(lines: Sequence[ResolvedLine], *, empty: bool = False) -> list[ResolvedLine]:
    """The lines with the one that fills the glass open again, or with none of it poured."""
    return [
        replace(line, part=Part(line.substance, 0.0) if empty else None) if line.amount.dimension == "fill" else line
        for line in lines
    ]


def _with_fruit_water(line: ResolvedLine, poured: Part, serves: int) -> Part | None:
    """The same amount of the weaker variant of what is poured; ``None`` where that holds no less ethanol.

    What stays of a rinse is a volume, so there the volume is the same.
    """
    weaker = poured.substance.weaker
    if weaker is None:
        return None
    by_volume = line.role == "rinse" or line.amount.dimension == "fill"
    part = Part(weaker, poured.base) if by_volume else alternative_part(line, weaker, serves)
    return part if _ethanol_g(part) < _ethanol_g(poured) * (1 - 1e-9) else None


def more_sulphites_mg(lines: Sequence[ResolvedLine], serves: int) -> float:
    """Milligrams of sulphites by which the alternatives with the most exceed what is poured."""
    poured = [line for line in lines if line.alternatives and line.part is not None and not line.eaten]
    return _more(poured, serves, "sulphites_mg")


def more_of_cautioned(lines: Sequence[ResolvedLine], serves: int) -> dict[str, float]:
    """By how much the alternatives with the most of a thing that is cautioned for exceed what is poured and eaten."""
    poured = [line for line in lines if line.part is not None and (line.alternatives or line.substance.most)]
    if not poured:
        return {}
    more = {measure: _more(poured, serves, measure) for measure in CAUTIONED}
    return {measure: amount for measure, amount in more.items() if amount > 0}


def _more(lines: Sequence[ResolvedLine], serves: int, measure: str) -> float:
    more = 0.0
    for line in lines:
        if line.part is None or not (line.role in ("pour", "top", "rinse") or line.eaten):
            continue
        share = 1.0
        if line.role == "rinse":
            share = line.residue_ml / line.part.volume_ml if line.part.volume_ml else 0.0
        parts = [line.part]
        for made in line.alternatives:
            try:
                parts.append(alternative_part(line, made, serves))
            except InputFault:
                if not line.eaten:
                    raise
                # How much of a garnish is eaten may stay unknown; its leaf is a source without a quantity.
        more += max(max(part.most_of(measure) for part in parts) - line.part.of(measure), 0.0) * share
    return more


def _ethanol_g(part: Part) -> float:
    return part.content("ethanol")


def alternative_part(line: ResolvedLine, made: Substance, serves: int) -> Part:
    """The part that ``made`` would be on a line, in the line's amount. Raises ``InputFault``."""
    if line.amount.dimension == "fill":
        assert line.part is not None
        return Part(made, line.part.base)
    try:
        part = part_of(line.amount, made, quantities_of(line.amount, made), serves)
    except InputFault as fault:
        raise fault.at(line.pointer + "/alternatives") from None
    if part is None:
        detail = f"A piece of {made.id} has no known mass, so it cannot stand in for this line."
        raise InputFault("piece_mass_unknown", detail, line.pointer + "/alternatives")
    return part
