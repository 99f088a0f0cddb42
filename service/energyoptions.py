"""Energy of a drink over everything that may be poured for it: the least, the most, and how many drinks that makes."""

from collections.abc import Collection, Mapping, Sequence
from typing import NamedTuple

from schemas.drink import Drink
from service.alternatives import alternative_part
from service.build import Build, built, with_parts
from service.line import ResolvedLine
from service.mixture import Mixture, Part, mixture, together
from service.nutrition import energy
from service.preparation import Prepared
from service.rules import Rules
from service.specification import glass_of, method_of


class EnergyOptions(NamedTuple):
    """kcal of one serve with the leanest and with the richest choice (``None``: unknown), and how many choices."""

    low_kcal: float | None
    high_kcal: float | None
    options: int


def energy_options(
    drink: Drink,
    lines: Sequence[ResolvedLine],
    build: Build,
    eaten: Mixture | None,
    fractions: Mapping[str, float],
    rules: Rules,
    parts: Collection[Prepared] = (),
) -> EnergyOptions:
    """The energy of a drink by one regime's factors over the alternatives of its lines.

    Where the energy of any choice is unknown both ends are, since it could be either; so are they with a house-made
    part that has alternatives of its own, of which the strongest is known and not the richest.
    """
    low: dict[int, Part] = {}
    high: dict[int, Part] = {}
    options, known = 1, not any(line.alternatives for part in parts for line in part.spec.lines)
    for line in lines:
        if not line.alternatives or line.part is None or line.role not in ("pour", "top", "rinse"):
            continue
        choices = [line.part, *(alternative_part(line, made, drink.serves) for made in line.alternatives)]
        found = [(_kcal(mixture((part,)), rules), part) for part in choices]
        options *= len(found)
        figures = [(kcal, part) for kcal, part in found if kcal is not None]
        known = known and len(figures) == len(found)
        if known:
            low[line.number] = min(figures, key=lambda pair: pair[0])[1]
            high[line.number] = max(figures, key=lambda pair: pair[0])[1]
    if not known:
        return EnergyOptions(None, None, options)
    if options == 1:
        kcal = _of_build(build, eaten, rules)
        return EnergyOptions(kcal, kcal, 1)
    ends = [
        _of_build(
            built(with_parts(lines, chosen), method_of(drink), glass_of(drink), drink.serves, fractions), eaten, rules
        )
        for chosen in (low, high)
    ]
    return EnergyOptions(ends[0], ends[1], options)


def _of_build(build: Build, eaten: Mixture | None, rules: Rules) -> float | None:
    drunk = build.liquid or build.undiluted
    return _kcal(drunk if eaten is None else together(drunk, eaten), rules)


def _kcal(drink: Mixture, rules: Rules) -> float | None:
    return energy(drink, rules).energy_kcal
