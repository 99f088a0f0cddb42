"""Allergens and diet of one drink, by jurisdiction, from the bought items in it.

Contract, arithmetic 7: an allergen is contained if any part contains it; otherwise ``may_contain`` and ``unknown`` are each
listed if any part has them; absent only if all are absent. Unknown is never shown as absent, and a diet is never read as
an allergen statement.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from service.item import AllergenEntry, Item
from service.labelling import exempt, sulphites_declarable
from service.mixture import Leaf, Mixture
from service.rules import Rules

ORDER = ("contains", "may_contain", "unknown")
SULPHITES = "sulphites"


@dataclass(frozen=True, slots=True)
class Route:
    """How an allergen comes into the drink: ids from the drink to the bought item, or to the bar's own tool."""

    allergen: str
    state: str
    path: tuple[str, ...]
    equipment: str | None = None


@dataclass(frozen=True, slots=True)
class Exempted:
    """An allergen that a jurisdiction does not ask to declare, and by which exemption."""

    allergen: str
    item: str
    source: str
    standing: str


@dataclass(frozen=True, slots=True)
class Carry:
    """What the bar's own tools may carry over: ``allergens`` through ``equipment``, under ``control``."""

    allergens: tuple[str, ...]
    equipment: str
    control: str


@dataclass(frozen=True, slots=True)
class Declaration:
    """What one jurisdiction asks to be declared; keys of the vocabulary, in the regime's order."""

    rules: Rules
    contains: tuple[str, ...]
    may_contain: tuple[str, ...]
    unknown: tuple[str, ...]
    recommended: tuple[str, ...]
    exempted: tuple[Exempted, ...]
    cross_contact: str
    routes: tuple[Route, ...]


@dataclass(slots=True)
class _Found:
    """States of each key with the items behind them, while a declaration is put together."""

    states: dict[str, dict[str, list[Leaf]]] = field(default_factory=dict)
    exempted: list[Exempted] = field(default_factory=list)

    def add(self, key: str, state: str, leaf: Leaf) -> None:
        self.states.setdefault(key, {}).setdefault(state, []).append(leaf)


Profile = tuple[tuple[tuple[str, str], ...], tuple[Exempted, ...]]
_profiles: dict[tuple[str, str, int], Profile] = {}


def profile(item: Item, rules: Rules) -> Profile:
    """(key, state) pairs of one item under one regime, sulphites apart, and what is exempt. Absent keys are left out."""
    if item.origin != "reference":
        return _profile(item, rules)
    place = (item.id, rules.code, rules.day.toordinal())
    known = _profiles.get(place)
    if known is None:
        if len(_profiles) > 50_000:
            _profiles.clear()
        known = _profiles[place] = _profile(item, rules)
    return known


def _profile(item: Item, rules: Rules) -> Profile:
    if item.allergens_declared == "complete" and not item.allergens:
        return (), ()
    states: dict[tuple[str, str], None] = {}
    exempted: list[Exempted] = []
    regime = rules.allergens
    for key in (*regime.listed, *regime.separate_statement, *regime.recommended):
        if key == SULPHITES:
            continue
        members = regime.members.get(key, ())
        for named, entry in _entries(item, key, members, rules):
            if entry.state == "absent":
                continue
            rule = exempt(rules, entry, item.process, item.kind, named) if _may_be_exempt(item, named, entry) else None
            if rule is not None:
                exempted.append(Exempted(named, item.id, rule.source, rule.standing))
                continue
            states[key, entry.state] = None
            if named != key and entry.state != "absent":
                states[named, entry.state] = None
    return tuple(states), tuple(dict.fromkeys(exempted))


def _may_be_exempt(item: Item, key: str, entry: AllergenEntry) -> bool:
    """An unknown that nobody stated stays unknown: the process of an item says nothing of what is added later."""
    return entry.state != "unknown" or entry.process is not None


def _entries(item: Item, key: str, members: Sequence[str], rules: Rules) -> list[tuple[str, AllergenEntry]]:
    """What an item says of one listed key: under the key, under its members, under its group, or by default."""
    stated = item.allergens
    default = AllergenEntry("absent" if item.allergens_declared == "complete" else "unknown")
    found = [(member, stated[member]) for member in members if member in stated]
    named = any(entry.state == "contains" for _, entry in found)
    if key in stated:
        own = stated[key]
        if own.state != "contains" or not named:
            found.append((key, own))
        return found
    if found:
        # Members were named one by one; of the others a partial declaration says nothing.
        return found if item.allergens_declared == "complete" else [*found, (key, default)]
    return [(key, _by_group(item, key, default, rules))]


def _by_group(item: Item, key: str, default: AllergenEntry, rules: Rules) -> AllergenEntry:
    """A listed member of which the item names only the group: nuts without saying which."""
    word = rules.vocabulary[key]
    for group in (word.group, *word.counts_as):
        if group is None or group not in item.allergens:
            continue
        entry = item.allergens[group]
        named = any(
            rules.vocabulary[other].group == group and stated.state == "contains" for other, stated in item.allergens.items()
        )
        if entry.state != "contains":
            return entry
        if named:
            return default
        if group in rules.allergens.listed or (word.core and _lists_all(rules, group)):
            return AllergenEntry("absent")
        return AllergenEntry("unknown", entry.process)
    return default


def _lists_all(rules: Rules, group: str) -> bool:
    """Whether a regime lists every core member of a group one by one."""
    core = [key for key, word in rules.vocabulary.items() if word.group == group and word.core]
    return bool(core) and all(key in rules.allergens.listed for key in core)


def declaration(
    rules: Rules,
    drink_id: str,
    leaves: Iterable[Leaf],
    sulphites: "Sulphites",
    carries: Sequence[Carry] | None,
) -> Declaration:
    """The declaration of one jurisdiction."""
    found = _Found()
    for leaf in leaves:
        states, exempted = profile(leaf.item, rules)
        for key, state in states:
            found.add(key, state, leaf)
        found.exempted.extend(exempted)
        _add_bare_groups(found, leaf, rules)
    _add_sulphites(found, rules, sulphites)
    tools = _tools(carries, rules, drink_id)
    contains, may_contain, unknown, recommended = _listed(found, rules, tools)
    routes = [
        Route(key, state, (drink_id, *leaf.path))
        for key, states in found.states.items()
        for state in ORDER
        if state == "contains" or "contains" not in states
        for leaf in states.get(state, ())
    ]
    assessed = "not_assessed" if carries is None else "assessed"
    exempted = tuple(dict.fromkeys(found.exempted))
    return Declaration(rules, contains, may_contain, unknown, recommended, exempted, assessed, (*routes, *tools))


def _add_bare_groups(found: _Found, leaf: Leaf, rules: Rules) -> None:
    """A group that the regime does not list, where it lists all of its members: declared under the group's name."""
    for key, entry in leaf.item.allergens.items():
        if entry.state != "contains" or key in rules.allergens.listed or not _lists_all(rules, key):
            continue
        named = any(
            rules.vocabulary[other].group == key and stated.state == "contains"
            for other, stated in leaf.item.allergens.items()
        )
        rule = exempt(rules, entry, leaf.item.process, leaf.item.kind, key)
        if rule is not None:
            found.exempted.append(Exempted(key, leaf.item.id, rule.source, rule.standing))
        elif not named:
            found.add(key, "contains", leaf)


def _tools(carries: Sequence[Carry] | None, rules: Rules, drink_id: str) -> tuple[Route, ...]:
    """Allergens that the bar's tools may carry over; a tool of its own carries nothing."""
    regime = rules.allergens
    known = {*regime.listed, *regime.separate_statement, *regime.recommended}
    known |= {member for members in regime.members.values() for member in members}
    routes: dict[Route, None] = {}
    for carry in carries or ():
        if carry.control == "dedicated":
            continue
        for key in carry.allergens:
            if key in known:
                routes[Route(key, "may_contain", (drink_id,), carry.equipment)] = None
            group = rules.vocabulary[key].group
            if group in known:
                routes[Route(group, "may_contain", (drink_id,), carry.equipment)] = None
    return tuple(routes)


def _listed(
    found: _Found, rules: Rules, tools: Sequence[Route]
) -> tuple[tuple[str, ...], tuple[str, ...], tuple[str, ...], tuple[str, ...]]:
    """Keys by state in the regime's order: a group, then its members, then what is listed apart."""
    regime = rules.allergens
    order: dict[str, None] = {}
    for key in (*regime.listed, *regime.separate_statement):
        order.setdefault(key)
        for member in regime.members.get(key, ()):
            order.setdefault(member)
    for key in found.states:
        if key not in regime.recommended:
            order.setdefault(key)
    carried = {route.allergen for route in tools}
    contains: list[str] = []
    may_contain: list[str] = []
    unknown: list[str] = []
    for key in (*order, *regime.recommended):
        states = found.states.get(key, {})
        if "contains" in states:
            contains.append(key)
            continue
        if "may_contain" in states or key in carried:
            may_contain.append(key)
        if "unknown" in states:
            unknown.append(key)
    recommended = tuple(key for key in regime.recommended if key in {*contains, *may_contain, *unknown})
    unique = dict.fromkeys
    return tuple(unique(contains)), tuple(unique(may_contain)), tuple(unique(unknown)), recommended


@dataclass(frozen=True, slots=True)
class Sulphites:
    """Sulphites of the finished drink: ``mg_per_l`` is ``None`` where a source has no quantity or nobody declared one.

    ``known_mg_per_l`` counts the sources with a quantity; ``sources`` are leaves by state that have none.
    """

    mg_per_l: float | None
    known_mg_per_l: float | None
    sources: Mapping[str, tuple[Leaf, ...]]
    quantified: tuple[Leaf, ...]


def sulphites_of(leaves: Iterable[Leaf], drink: Mixture, volume_ml: float | None) -> Sulphites:
    """Sulphites per litre of the finished drink; without its volume, per litre before ice, which is never too low."""
    sources: dict[str, list[Leaf]] = {}
    quantified: list[Leaf] = []
    for leaf in leaves:
        item = leaf.item
        entry = item.allergens.get(SULPHITES)
        if entry is not None:
            state = entry.state
        else:
            state = "absent" if item.allergens_declared == "complete" else "unknown"
        if leaf.drunk and any("sulphites_mg" in composition.amounts for composition in item.per_100):
            quantified.append(leaf)
        elif state != "absent":
            sources.setdefault(state, []).append(leaf)
    volume = drink.volume_ml if volume_ml is None else volume_ml
    known = 1000.0 * drink.content("sulphites_mg") / volume if volume > 0 else None
    figure = None if sources or volume_ml is None else known
    return Sulphites(figure, known, {state: tuple(rows) for state, rows in sources.items()}, tuple(quantified))


def _add_sulphites(found: _Found, rules: Rules, sulphites: Sulphites) -> None:
    """Contract, arithmetic 6: the figure decides where every source has one; a source without one is declared."""
    regime = rules.allergens
    if SULPHITES not in regime.listed and SULPHITES not in regime.separate_statement:
        return
    if sulphites_declarable(rules, sulphites.known_mg_per_l):
        for leaf in sulphites.quantified:
            found.add(SULPHITES, "contains", leaf)
        return
    for state, leaves in sulphites.sources.items():
        for leaf in leaves:
            found.add(SULPHITES, state, leaf)


VEGETARIAN_ORIGINS = frozenset(
    ("egg", "eggs", "milk", "dairy", "lactose", "whey", "casein", "honey", "beeswax", "bee_pollen", "royal_jelly", "propolis")
)
"""Animal origins that a vegetarian accepts; common practice, no source."""

KILLED_ORIGINS = frozenset(
    ("fish", "fish_gelatine", "gelatine", "gelatin", "isinglass", "insect", "cochineal", "carmine", "shellac", "meat", "beef",
     "pork", "chicken", "crustaceans", "molluscs", "oyster", "clam", "anchovy", "animal_rennet", "bone")
)  # fmt: skip
"""Animal origins that no vegetarian accepts; common practice, no source."""

_ANIMAL_ALLERGENS = {
    "milk": "milk", "eggs": "egg", "fish": "fish", "crustaceans": "crustaceans", "molluscs": "molluscs", "beef": "beef",
    "pork": "pork", "chicken": "chicken", "gelatin": "gelatin", "salmon_roe": "fish", "shrimp": "crustaceans",
    "crab": "crustaceans", "squid": "molluscs", "abalone": "molluscs", "salmon": "fish", "mackerel": "fish",
}  # fmt: skip
_FINED = {"fined_egg": "egg", "fined_milk": "milk", "fined_isinglass": "isinglass"}


@dataclass(frozen=True, slots=True)
class Diet:
    """``yes``, ``no`` or ``unknown``, with the routes that decide each."""

    vegan: str
    vegetarian: str
    routes: tuple[tuple[str, str, tuple[str, ...]], ...]


def diet(drink_id: str, leaves: Iterable[Leaf]) -> Diet:
    """Vegan and vegetarian, from the animal origin of every part; routes are (diet, answer, path)."""
    answers = {"vegan": "yes", "vegetarian": "yes"}
    routes: list[tuple[str, str, tuple[str, ...]]] = []
    for leaf in leaves:
        vegan, vegetarian = _diet_of(leaf.item)
        for name, answer in (("vegan", vegan), ("vegetarian", vegetarian)):
            if answer == "yes":
                continue
            routes.append((name, answer, (drink_id, *leaf.path)))
            if answers[name] != "no":
                answers[name] = answer
    return Diet(answers["vegan"], answers["vegetarian"], tuple(routes))


def _diet_of(item: Item) -> tuple[str, str]:
    origins = set(item.animal_origin or ())
    origins |= {_FINED[process] for process in item.process if process in _FINED}
    origins |= {
        _ANIMAL_ALLERGENS[key] for key, entry in item.allergens.items() if entry.state == "contains" and key in _ANIMAL_ALLERGENS
    }
    if not origins:
        answer = "yes" if item.animal_origin is not None else "unknown"
        return answer, answer
    if origins & KILLED_ORIGINS:
        return "no", "no"
    stated = item.animal_origin is not None and origins <= VEGETARIAN_ORIGINS
    return "no", "yes" if stated else "unknown"
