"""Energy of a drink over everything that may be poured for it: the least, the most, and how many drinks that makes.

A guest's modifiers count by what they are. One that pours something else or another size is a choice of its own; one
that only adds is an add-on, whose energy is told apart; one that only leaves something out is a custom order, which a
menu need not count (21 CFR 101.11, from memory), as are several modifiers at once.
"""

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from typing import NamedTuple

from schemas.drink import Drink, Modifier
from service.alternatives import alternative_part
from service.build import Build, built, with_parts
from service.errors import InputFault, InputFaults
from service.line import ResolvedLine
from service.mixture import Mixture, Part, mixture, together
from service.modifiers import modified
from service.nutrition import energy
from service.preparation import Prepared
from service.rules import Rules
from service.specification import glass_of, method_of


class AddOn(NamedTuple):
    """A modifier that only adds, with the kcal that it adds to a serve (``None``: unknown)."""

    modifier: str
    name: str
    kcal: float | None


class EnergyOptions(NamedTuple):
    """kcal of one serve with the leanest and with the richest choice (``None``: unknown), and how many choices."""

    low_kcal: float | None
    high_kcal: float | None
    options: int
    add_ons: tuple[AddOn, ...] = ()


ByCode = Mapping[str, EnergyOptions]
"""Energy over the choices by jurisdiction."""

UNKNOWN = EnergyOptions(None, None, 1)


def with_modifiers(own: ByCode, drink: Drink, energies: Callable[[Drink], ByCode]) -> ByCode:
    """The choices of a drink with those that its modifiers open; ``energies`` gives those of a modified drink.

    Where one of them cannot be made or has no known energy, neither end of the whole is known.
    """
    if not own or not drink.modifiers:
        return own
    made = [(modifier, _energies(drink, modifier, own, energies)) for modifier in drink.modifiers if _counts(modifier)]
    return {
        code: _joined(found, [(modifier, by_code[code]) for modifier, by_code in made]) for code, found in own.items()
    }


def _counts(modifier: Modifier) -> bool:
    """Whether it is more than leaving something out."""
    return bool(modifier.add or modifier.replace or modifier.scale)


def _energies(drink: Drink, modifier: Modifier, own: ByCode, energies: Callable[[Drink], ByCode]) -> ByCode:
    try:
        return energies(modified(drink, [modifier.id]).drink)
    except (InputFault, InputFaults):
        return dict.fromkeys(own, UNKNOWN)


def _joined(own: EnergyOptions, rows: Iterable[tuple[Modifier, EnergyOptions]]) -> EnergyOptions:
    add_ons, choices = [], [own]
    for modifier, found in rows:
        only_adds = not (modifier.remove or modifier.replace or modifier.scale)
        kcal = None if None in (own.low_kcal, found.low_kcal) else (found.low_kcal or 0.0) - (own.low_kcal or 0.0)
        if only_adds and (kcal is None or kcal >= 0.0):
            add_ons.append(AddOn(modifier.id, modifier.name or modifier.id.replace("-", " "), kcal))
        else:
            choices.append(found)
    low, high = _end(min, [one.low_kcal for one in choices]), _end(max, [one.high_kcal for one in choices])
    return EnergyOptions(low, high, sum(one.options for one in choices), tuple(add_ons))


def _end(end: Callable[[Iterable[float]], float], figures: Sequence[float | None]) -> float | None:
    """The least or the most of some figures; ``None`` where one is not known, since it could be either."""
    known = [figure for figure in figures if figure is not None]
    return end(known) if len(known) == len(figures) else None


def energies_by_code(
    drink: Drink,
    rules: Sequence[Rules],
    parts: Collection[Prepared],
    lines: Sequence[ResolvedLine],
    build: Build,
    eaten: Mixture | None,
    fractions: Mapping[str, float],
) -> dict[str, EnergyOptions]:
    """Energy over the alternatives of each jurisdiction that has a rule for a chain's menu."""
    return {
        regime.code: energy_options(drink, lines, build, eaten, fractions, regime, parts)
        for regime in rules
        if regime.menu_calories is not None
    }


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
