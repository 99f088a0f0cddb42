"""Allergens of one drink, by jurisdiction, from the bought items in it.

Contract, arithmetic 7: an allergen is contained if any part contains it; otherwise ``may_contain`` and ``unknown`` are
each listed if any part has them; absent only if all are absent. Unknown is never shown as absent.
"""

from collections.abc import Collection, Iterable, Mapping, Sequence

from msgspec import Struct, field

from service.allergen_profile import SULPHITES, Exempted, in_order, profile, profile_of, regime_of, untold_groups
from service.item import AllergenEntry, Item
from service.labelling import sulphites_declarable
from service.leaves import Leaf
from service.rules import Rules
from service.sulphites import Sulphites

ORDER = ("contains", "may_contain", "unknown")
CONTAINED = ("contains",)


class Route(Struct, frozen=True):
    """How an allergen comes into the drink: ids from the drink to the bought item, or to the bar's own tool."""

    allergen: str
    state: str
    path: tuple[str, ...]
    equipment: str | None = None


class Carry(Struct, frozen=True):
    """What the bar's own tools may carry over: ``allergens`` through ``equipment``, under ``control``."""

    allergens: tuple[str, ...]
    equipment: str
    control: str


class Declaration(Struct, frozen=True):
    """What one jurisdiction asks to be declared; keys of the vocabulary, in the regime's order.

    ``open_groups`` are groups of which one member is known and others are not: nuts that hold almond and perhaps more,
    with the items that leave it open, none where the bar's tools do.
    """

    rules: Rules
    contains: tuple[str, ...]
    may_contain: tuple[str, ...]
    unknown: tuple[str, ...]
    recommended: tuple[str, ...]
    exempted: tuple[Exempted, ...]
    cross_contact: str
    routes: tuple[Route, ...]
    open_groups: Mapping[str, tuple[Leaf, ...]]


def is_judged(rules: Rules, key: str) -> bool:
    """Whether a jurisdiction lists an allergen, by itself or in a group; of any other its declaration says nothing."""
    covers = regime_of(rules).covers
    return key in covers or any(key in members for members in covers.values())


def left_open(found: Declaration, key: str) -> bool:
    """Whether an allergen that is not declared itself may be in the drink, since its group is not told apart."""
    if any(key in declared for declared in (found.contains, found.may_contain, found.unknown)):
        return False
    words = found.rules.vocabulary
    groups = {group: members for group, members in regime_of(found.rules).covers.items() if key in members}
    own = words[key].group
    if own is not None:  # Declared by itself where the regime lists its members alone.
        groups.setdefault(own, tuple(name for name, word in words.items() if word.group == own))
    return any(
        group in found.unknown
        or group in found.open_groups
        or (group in (*found.contains, *found.may_contain) and not {*found.contains, *found.may_contain} & {*members})
        for group, members in groups.items()
    )


def may_be_brought(found: Declaration, leaves: Iterable[Leaf], keys: Collection[str]) -> bool:
    """Whether an item may hold one of ``keys``, or nobody knows it of one, or a tool of the bar may carry one over.

    Each may be so beside another item that contains it.
    """
    rules, regime = found.rules, regime_of(found.rules)
    return any(route.equipment is not None and route.allergen in keys for route in found.routes) or any(
        key in keys and state in ("may_contain", "unknown")
        for leaf in leaves
        for key, state in profile(leaf.item, rules, regime)[0]
    )


class _Found(Struct):
    """States of each key with the items behind them, while a declaration is put together."""

    states: dict[str, dict[str, list[Leaf]]] = field(default_factory=dict)
    exempted: list[Exempted] = field(default_factory=list)

    def add(self, key: str, state: str, leaf: Leaf) -> None:
        self.states.setdefault(key, {}).setdefault(state, []).append(leaf)


def declaration(
    rules: Rules,
    drink_id: str,
    leaves: Iterable[Leaf],
    sulphites: Sulphites,
    carries: Sequence[Carry] | None,
) -> Declaration:
    """The declaration of one jurisdiction."""
    found = _Found()
    untold: dict[str, list[Leaf]] = {}
    regime = regime_of(rules)
    for leaf in leaves:
        states, exempted = profile(leaf.item, rules, regime)
        for key, state in states:
            found.add(key, state, leaf)
        for key in untold_groups(leaf.item, states, rules):
            untold.setdefault(key, []).append(leaf)
        if exempted:
            found.exempted.extend(exempted)
    _add_sulphites(found, rules, sulphites)
    tools, by_tools = _tools(carries, rules, drink_id)
    for key in by_tools:
        untold.setdefault(key, [])
    contains, may_contain, unknown, recommended = _listed(found, rules, tools)
    routes = [
        Route(key, state, (drink_id, *leaf.path))
        for key, states in found.states.items()
        for state in (CONTAINED if "contains" in states else ORDER)
        for leaf in states.get(state, ())
    ]
    assessed = "not_assessed" if carries is None else "assessed"
    exempted = tuple(dict.fromkeys(found.exempted))
    open_groups = _open_groups(rules, found, untold, contains, may_contain)
    return Declaration(
        rules, contains, may_contain, unknown, recommended, exempted, assessed, (*routes, *tools), open_groups
    )


def _tools(carries: Sequence[Carry] | None, rules: Rules, drink_id: str) -> tuple[tuple[Route, ...], tuple[str, ...]]:
    """Allergens that the bar's tools may carry over, and the groups of them of which no member is named.

    Only a tool kept for one use carries nothing: how well the others are rinsed or washed is not known here.
    """
    routes: dict[Route, None] = {}
    untold: dict[str, None] = {}
    for carry in carries or ():
        if carry.control == "dedicated":
            continue
        stated = {key: AllergenEntry("may_contain") for key in carry.allergens}
        tool = Item("tool", carry.equipment, allergens=stated, allergens_declared="complete")
        states, _ = profile_of(tool, rules)
        carried = [key for key, _ in states]
        if SULPHITES in carry.allergens and SULPHITES in regime_of(rules).covers:
            carried.append(SULPHITES)
        for key in carried:
            routes[Route(key, "may_contain", (drink_id,), carry.equipment)] = None
        untold |= dict.fromkeys(untold_groups(tool, states, rules))
    return tuple(routes), tuple(untold)


def _open_groups(
    rules: Rules,
    found: _Found,
    untold: Mapping[str, Sequence[Leaf]],
    contains: Sequence[str],
    may_contain: Sequence[str],
) -> dict[str, tuple[Leaf, ...]]:
    """Groups that are told apart in part: what names a member does not answer for what names the group alone."""
    named = {rules.vocabulary[key].group for key in (*contains, *may_contain)}
    groups: dict[str, tuple[Leaf, ...]] = {}
    for key in (*contains, *may_contain):
        unknown = found.states.get(key, {}).get("unknown", []) if key in contains else []
        told_apart = key in untold and key in named
        if told_apart or (unknown and key in rules.allergens.members):
            open_to = [*unknown, *(untold[key] if told_apart else ())]
            groups[key] = tuple({leaf.path: leaf for leaf in open_to}.values())
    return groups


def _listed(
    found: _Found, rules: Rules, tools: Sequence[Route]
) -> tuple[tuple[str, ...], tuple[str, ...], tuple[str, ...], tuple[str, ...]]:
    """Keys by state in the regime's order: a group, then its members, then what is listed apart."""
    regime = rules.allergens
    carried = dict.fromkeys(route.allergen for route in tools)
    contains: list[str] = []
    may_contain: list[str] = []
    unknown: list[str] = []
    for key in in_order(rules, (*found.states, *carried)):
        states = found.states.get(key, {})
        if "contains" in states:
            contains.append(key)
            continue
        if "may_contain" in states or key in carried:
            may_contain.append(key)
        if "unknown" in states:
            unknown.append(key)
    shown = {*contains, *may_contain, *unknown}
    recommended = tuple(key for key in regime.recommended if key in shown) if shown else ()
    return tuple(contains), tuple(may_contain), tuple(unknown), recommended


def _add_sulphites(found: _Found, rules: Rules, sulphites: Sulphites) -> None:
    """Contract, arithmetic 6: the figure decides where every source has one; a source without one is declared."""
    if SULPHITES not in regime_of(rules).covers:
        return
    passed = sulphites_declarable(rules, sulphites.known_mg_per_l)
    if passed or passed is None:
        for leaf in sulphites.quantified:
            found.add(SULPHITES, "contains", leaf)
    for state, leaves in sulphites.sources.items():
        for leaf in leaves:
            found.add(SULPHITES, state, leaf)
