"""What one item has to declare under one regime: its stated allergens on the regime's keys, less what is exempt.

An item states allergens under a group (nuts) or a member (almond); a regime lists groups, members or both. Sulphites
are apart, because the finished drink decides on them.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from service.item import AllergenEntry, Item
from service.labelling import exempt
from service.rules import Rules

SULPHITES = "sulphites"


class Exempted(NamedTuple):
    """An allergen that a jurisdiction does not ask to declare, and by which exemption."""

    allergen: str
    item: str
    source: str
    standing: str


@dataclass(frozen=True, slots=True)
class Regime:
    """A regime's keys: in order with what each covers, those shown by name, groups, those whose members are all listed.

    ``profiles`` holds those of embedded items, whose data never change, as they are asked for.
    """

    covers: Mapping[str, tuple[str, ...]]
    named: frozenset[str]
    groups: frozenset[str]
    spelt_out: frozenset[str]
    order: Mapping[str, int]
    profiles: dict[str, tuple[Item, "Profile"]] = field(default_factory=dict, compare=False)


Profile = tuple[tuple[tuple[str, str], ...], tuple[Exempted, ...]]
_regimes: dict[tuple[str, int], tuple[Rules, Regime]] = {}


def regime_of(rules: Rules) -> Regime:
    place = (rules.code, rules.day.toordinal())
    known = _regimes.get(place)
    if known is None or known[0] is not rules:
        if len(_regimes) > 256:
            _regimes.clear()
        known = _regimes[place] = (rules, _read_regime(rules))
    return known[1]


def _read_regime(rules: Rules) -> Regime:
    """A key covers the members that the regime names or else all of its group, and what counts as any of them."""
    regime, words = rules.allergens, rules.vocabulary
    keys = tuple(dict.fromkeys((*regime.listed, *regime.separate_statement, *regime.recommended)))
    covers: dict[str, tuple[str, ...]] = {}
    for key in keys:
        members = regime.members.get(key) or tuple(name for name, word in words.items() if word.group == key)
        whole = {key, *members}
        counted = tuple(name for name, word in words.items() if whole.intersection(word.counts_as))
        covers[key] = tuple(name for name in dict.fromkeys((*members, *counted)) if name != key)
    named = frozenset((*keys, *(member for members in regime.members.values() for member in members)))
    groups = frozenset(word.group for word in words.values() if word.group is not None and word.core)
    spelt_out = frozenset(
        group
        for group in groups
        if all(key in regime.listed for key, word in words.items() if word.group == group and word.core)
    )
    order: dict[str, int] = {}
    for key in (*regime.listed, *regime.separate_statement):
        order.setdefault(key, len(order))
        for member in regime.members.get(key, ()):
            order.setdefault(member, len(order))
    return Regime(covers, named, groups, spelt_out, order)


def in_order(rules: Rules, keys: Iterable[str]) -> tuple[str, ...]:
    """``keys``, each once, in the regime's order: a group, its members, what is listed apart, what is named beside the
    list, and last what is recommended."""
    order, recommended = regime_of(rules).order, rules.allergens.recommended
    place = {key: (0, order[key]) if key in order else (1, 0) for key in keys}
    for number, key in enumerate(recommended):
        if key in place and key not in order:
            place[key] = (2, number)
    return tuple(sorted(place, key=place.__getitem__))


def profile(item: Item, rules: Rules, regime: Regime) -> Profile:
    """(key, state) pairs of one item under one regime, sulphites apart, and what is exempt.

    Absent keys are left out.
    """
    if item.origin != "reference":
        return profile_of(item, rules)
    known = regime.profiles.get(item.id)
    if known is None or known[0] is not item:
        known = regime.profiles[item.id] = (item, profile_of(item, rules))
    return known[1]


def profile_of(item: Item, rules: Rules) -> Profile:
    if item.allergens_declared == "complete" and not item.allergens:
        return (), ()
    states: dict[tuple[str, str], None] = {}
    exempted: list[Exempted] = []
    regime = regime_of(rules)
    entries = [
        (key, *entry)
        for key, covered in regime.covers.items()
        if key != SULPHITES
        for entry in _entries(item, key, covered, rules, regime)
    ]
    for key, named, entry in (*entries, *_bare_groups(item, rules, regime)):
        if entry.state == "absent":
            continue
        # What may have got in got in anywhere: only a process of its own exempts it, not that of the whole item.
        own = entry.stated and (entry.state != "may_contain" or entry.process is not None)
        rule = exempt(rules, entry, item.process, item.kind, named) if own else None
        if rule is not None:
            exempted.append(Exempted(named, item.id, rule.source, rule.standing))
            continue
        states[key, entry.state] = None
        if named != key and named in regime.named:
            states[named, entry.state] = None
    return tuple(states), tuple(dict.fromkeys(exempted))


class _Entry(AllergenEntry, frozen=True):
    """What an item says of one key. An unknown that nobody ``stated`` is never exempt: the process of an item says
    nothing
    of what is added later."""

    stated: bool = False


def _entry(entry: AllergenEntry) -> _Entry:
    return _Entry(entry.state, entry.process, entry.state != "unknown" or entry.process is not None)


def _entries(item: Item, key: str, covered: Sequence[str], rules: Rules, regime: Regime) -> list[tuple[str, _Entry]]:
    """What an item says of one listed key: under the names it covers, then under the key, its group or by default."""
    stated = item.allergens
    found = [(name, _entry(stated[name])) for name in covered if name in stated]
    own = _entry(stated[key]) if key in stated else _by_group(item, key, rules, regime)
    return [*found, (key, own)]


def _by_group(item: Item, key: str, rules: Rules, regime: Regime) -> _Entry:
    """A listed member of which the item names at most the group: nuts without saying which."""
    default = _Entry("absent" if item.allergens_declared == "complete" else "unknown")
    group = rules.vocabulary[key].group
    if group is None or group not in item.allergens:
        return default
    entry = item.allergens[group]
    if entry.state in ("absent", "unknown"):
        return _entry(entry)
    if entry.state == "contains" and _names_member(item, group, rules):
        return default
    if group in regime.covers or group in regime.spelt_out:
        return _Entry("absent")
    # The group is there, which of its members is not told; that is stated enough for an exemption of the group's
    # process.
    return _Entry("unknown" if entry.state == "contains" else entry.state, entry.process, stated=True)


def _names_member(item: Item, group: str, rules: Rules, state: str = "contains") -> bool:
    return any(
        rules.vocabulary[other].group == group and stated.state == state for other, stated in item.allergens.items()
    )


def untold_groups(item: Item, states: Iterable[tuple[str, str]], rules: Rules) -> list[str]:
    """Groups that an item contains or may contain by ``states`` while it names none of their members in that state."""
    groups = regime_of(rules).groups
    return [
        key
        for key, state in states
        if key in groups and state != "unknown" and not _names_member(item, key, rules, state)
    ]


def _bare_groups(item: Item, rules: Rules, regime: Regime) -> list[tuple[str, str, _Entry]]:
    """A group that the regime does not list, where it lists all of its members: declared under the group's name."""
    return [
        (key, key, _entry(entry))
        for key, entry in item.allergens.items()
        if key in regime.spelt_out
        and key not in regime.covers
        and (entry.state == "may_contain" or (entry.state == "contains" and not _names_member(item, key, rules)))
    ]
