"""What a line may be instead: the items the bar may pour, and the same part with its fruit's water in it."""

from collections.abc import Mapping, Sequence

from schemas.drink import Drink
from service.build import Build, built, with_parts
from service.errors import InputFault
from service.line import ResolvedLine, part_of, quantities_of
from service.mixture import Part, Substance
from service.specification import glass_of, method_of


def alternative_builds(
    drink: Drink, lines: Sequence[ResolvedLine], build: Build, fractions: Mapping[str, float]
) -> tuple[Build | None, Build | None]:
    """The drink with the weakest and with the strongest of every line's alternatives; ``build`` is as it is poured.

    A part with the water of its strained-out fruit in it is an alternative to itself.
    """
    low: dict[int, Part] = {}
    high: dict[int, Part] = {}
    for line in lines:
        if line.part is None or line.role not in ("pour", "top", "rinse"):
            continue
        choices = [line.part, *(alternative_part(line, made, drink.serves) for made in line.alternatives)]
        weaker = [part for poured in choices if (part := _with_fruit_water(line, poured, drink.serves))]
        stronger = [
            alternative_part(line, part.substance.stronger, drink.serves)
            for part in choices
            if part.substance.stronger is not None
        ]
        if line.alternatives or weaker or stronger:
            low[line.number] = min(
                (*choices, *weaker), key=lambda part: (_knows_strength(part), part.content("ethanol"))
            )
            high[line.number] = max(
                (*choices, *stronger), key=lambda part: (not _knows_strength(part), part.content("ethanol"))
            )
    if not low:
        return None, None
    weak, strong = (
        build
        if all(part is lines[number].part for number, part in chosen.items())
        else built(with_parts(lines, chosen), method_of(drink), glass_of(drink), drink.serves, fractions)
        for chosen in (low, high)
    )
    return weak, strong


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
    more = 0.0
    for line in lines:
        if not line.alternatives or line.part is None or line.role not in ("pour", "top", "rinse"):
            continue
        share = 1.0
        if line.role == "rinse":
            share = line.residue_ml / line.part.volume_ml if line.part.volume_ml else 0.0
        most = max(alternative_part(line, made, serves).content("sulphites_mg") for made in line.alternatives)
        more += max(most - line.part.content("sulphites_mg"), 0.0) * share
    return more


def _knows_strength(part: Part) -> bool:
    return "abv_percent" not in part.substance.unknown.fields


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
