"""The dated rules of ``service/data``: read once, checked key by key, frozen, and asked by day.

``rules()`` is the book; ``jurisdiction(code).on(day)`` is what one jurisdiction holds on one day. A later
rule is an entry with a later ``since``; a proposal is kept for showing and never applied. A jurisdiction that
``extends`` another takes its rules, kind by kind and key by key, unless it has its own. One that holds no
food rules has a ``fallback``: the list of allergens, the sulphites threshold, the energy factors and the menu
wording shown are those of the fallback, ``rules_held`` is false, and no exemption is taken over, so that
nothing is left unsaid on a rule not read.
"""

import difflib
import functools
import hashlib
import typing
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from types import MappingProxyType

from service.errors import DataFault, InputFault
from service.rulefile import HEAD, check_unique, dated_entries, toml
from service.rulekinds import (
    Advisory,
    AllergenName,
    Allergens,
    Claim,
    Dated,
    Energy,
    Exemption,
    Fill,
    FoodClaim,
    LabelText,
    MenuCalories,
    MenuText,
    Nutrition,
    NutritionTable,
    PourMeasure,
    PriceFloor,
    Serving,
    StandardDrink,
    Statement,
    Sulphites,
)

DATA = Path(__file__).parent / "data"

SINGLE: Mapping[str, type[Dated]] = MappingProxyType(
    {
        "standard_drink": StandardDrink,
        "energy": Energy,
        "nutrition": Nutrition,
        "allergens": Allergens,
        "sulphites": Sulphites,
        "menu_text": MenuText,
        "menu_calories": MenuCalories,
        "price_floor": PriceFloor,
    }
)
"""Kinds of which one entry applies on a day."""

KEYED: Mapping[str, type[Dated]] = MappingProxyType(
    {
        "exemption": Exemption,
        "claim": Claim,
        "food_claim": FoodClaim,
        "fill": Fill,
        "serving": Serving,
        "label_text": LabelText,
        "statement": Statement,
        "pour_measure": PourMeasure,
    }
)
"""Kinds of which one entry for each ``key`` applies on a day."""

COMPETENT = "the competent authority"
"""Who decides where a file names nobody."""

FALLBACK_KINDS = ("energy", "allergens", "sulphites", "menu_text")
"""Kinds that are shown from the fallback where a jurisdiction has none of its own."""


@dataclass(frozen=True, slots=True)
class Rules:
    """What one jurisdiction holds on one day; ``held_by`` says from which code each kind was taken.

    ``ahead`` are statements that are adopted and not yet in force, and proposals: shown, never applied.
    """

    code: str
    name: str
    day: date
    rules_held: bool
    standard_drink: StandardDrink | None
    energy: Energy
    nutrition: NutritionTable | None
    allergens: Allergens
    sulphites: Sulphites
    menu_text: MenuText
    menu_calories: MenuCalories | None
    price_floor: PriceFloor | None
    exemptions: tuple[Exemption, ...]
    claims: tuple[Claim, ...]
    food_claims: tuple[FoodClaim, ...]
    fills: tuple[Fill, ...]
    servings: tuple[Serving, ...]
    label_texts: tuple[LabelText, ...]
    statements: tuple[Statement, ...]
    pour_measures: tuple[PourMeasure, ...]
    ahead: tuple[Statement, ...]
    lineage: tuple[str, ...]
    authority: str
    held_by: Mapping[str, str]
    vocabulary: Mapping[str, AllergenName]

    def allergen_name(self, key: str) -> str:
        """The regime's word for an allergen, else that of the vocabulary."""
        return self.allergens.names.get(key) or self.vocabulary[key].name


@dataclass(frozen=True, slots=True, eq=False)
class Jurisdiction:
    """One file of ``data/jurisdictions`` with those that it extends or falls back on."""

    code: str
    name: str
    entries: Mapping[str, tuple[Dated, ...]]
    extends: "Jurisdiction | None"
    fallback: "Jurisdiction | None"
    tables: Mapping[str, tuple[NutritionTable, ...]]
    vocabulary: Mapping[str, AllergenName]
    authority: str | None = None

    def lineage(self) -> "Iterator[Jurisdiction]":
        """This jurisdiction, then the one that it extends, and so on."""
        place: Jurisdiction | None = self
        while place is not None:
            yield place
            place = place.extends

    def on(self, day: date) -> Rules:
        """The rules in force on that day."""
        return _rules_on(self, day)

    def dated(self, kind: str) -> tuple[Dated, ...]:
        """Every entry of one kind, own and inherited, past, future and proposed."""
        return tuple(entry for place in self.lineage() for entry in place.entries.get(kind, ()))


@dataclass(frozen=True, slots=True)
class RuleBook:
    """All rules; ``version`` is a short sha256 over the bytes of the files they were read from."""

    version: str
    jurisdictions: Mapping[str, Jurisdiction]
    allergens: Mapping[str, AllergenName]
    advisories: tuple[Advisory, ...]


def codes() -> tuple[str, ...]:
    """All known codes, sorted."""
    return tuple(rules().jurisdictions)


def jurisdiction(code: str) -> Jurisdiction:
    """The jurisdiction of that code; an unknown one is refused with the nearest."""
    known = rules().jurisdictions
    if code in known:
        return known[code]
    wanted = code.upper()
    # UK is asked for where GB is meant: the initials of a name are the commonest wrong code.
    near = [place.code for place in known.values() if "".join(word[0] for word in place.name.split()) == wanted]
    near += [region for region in known if region.split("-")[0] == wanted.split("-")[0]]
    near += difflib.get_close_matches(wanted, known, n=3, cutoff=0.4)
    near = list(dict.fromkeys(near))[:3]
    advice = f"nearest: {', '.join(near)}" if near else f"known: {', '.join(known)}"
    raise InputFault("jurisdiction_unknown", f"Give EU or an ISO 3166 code that is held; {advice}.")


@functools.lru_cache(maxsize=4096)
def advisories_on(code: str, day: date) -> tuple[Advisory, ...]:
    """The advisories that hold in a jurisdiction on a day, in the order of the file."""
    lineage = {place.code for place in jurisdiction(code).lineage()}
    return tuple(
        advisory
        for advisory in rules().advisories
        if advisory.applies_on(day)
        and (not advisory.jurisdictions or lineage.intersection(advisory.jurisdictions))
        and not lineage.intersection(advisory.not_in)
    )


@functools.cache
def rules() -> RuleBook:
    """The rules of this installation, read once."""
    return rule_book(DATA)


@functools.lru_cache(maxsize=4096)
def _rules_on(place: Jurisdiction, day: date) -> Rules:
    held_by: dict[str, str] = {}
    found: dict[str, typing.Any] = {}
    for kind in SINGLE:
        found[kind] = None
        for ancestor in place.lineage():
            current = [entry for entry in ancestor.entries.get(kind, ()) if entry.applies_on(day)]
            if current:
                found[kind] = max(current, key=lambda entry: entry.since)
                held_by[kind] = ancestor.code
                break
    rules_held = found["allergens"] is not None
    if place.fallback is not None:
        spare = place.fallback.on(day)
        for kind in FALLBACK_KINDS:
            if found[kind] is None:
                found[kind], held_by[kind] = getattr(spare, kind), spare.held_by[kind]
    for kind in FALLBACK_KINDS:
        if found[kind] is None:
            raise InputFault("rules_not_held", f"No {kind} rule of {place.code} is held for that day.")
    nutrition = found["nutrition"]
    found["nutrition"] = nutrition and _latest(place.tables[nutrition.table], day)
    found |= {f"{kind}s": _keyed_on(place, kind, day) for kind in KEYED}
    return Rules(
        code=place.code, name=place.name, day=day, rules_held=rules_held, **found,
        ahead=_ahead(place, day), lineage=tuple(ancestor.code for ancestor in place.lineage()),
        authority=next((one.authority for one in place.lineage() if one.authority), COMPETENT),
        held_by=MappingProxyType(held_by), vocabulary=place.vocabulary,
    )  # fmt: skip


def _ahead(place: Jurisdiction, day: date) -> tuple[Statement, ...]:
    """Statements that come into force later, and proposals made by that day; of each key those of the nearest."""
    found: list[Statement] = []
    nearer: set[str] = set()
    for ancestor in place.lineage():
        own = typing.cast(tuple[Statement, ...], ancestor.entries.get("statement", ()))
        found += [entry for entry in own if entry.key not in nearer and _is_ahead(entry, day)]
        nearer |= {entry.key for entry in own}
    return tuple(sorted(found, key=lambda entry: (entry.status == "proposal", entry.since)))


def _is_ahead(entry: Statement, day: date) -> bool:
    if entry.status == "proposal":
        return entry.since <= day and (entry.until is None or day <= entry.until)
    return day < entry.since and (entry.adopted is None or entry.adopted <= day)


def _latest(tables: tuple[NutritionTable, ...], day: date) -> NutritionTable | None:
    current = [table for table in tables if table.applies_on(day)]
    return max(current, key=lambda table: table.since) if current else None


def _keyed_on(place: Jurisdiction, kind: str, day: date) -> tuple[Dated, ...]:
    """Of each key the entry of the nearest jurisdiction of the line; parents first."""
    current: dict[str, Dated] = {}
    for ancestor in reversed(tuple(place.lineage())):
        own: dict[str, Dated] = {}
        for entry in ancestor.entries.get(kind, ()):
            if entry.applies_on(day) and (entry.key not in own or own[entry.key].since < entry.since):
                own[entry.key] = entry
        current.update(own)
    return tuple(current.values())


def rule_book(folder: Path) -> RuleBook:
    """The rules of a data folder; a fault in a file is a :class:`DataFault` naming file, entry and key."""
    paths = sorted((folder / "jurisdictions").glob("*.toml"))
    digest = hashlib.sha256()
    for path in (*paths, folder / "allergens.toml", folder / "advisories.toml", folder / "rounding.toml"):
        digest.update(path.name.encode() + b"\0" + path.read_bytes())
    vocabulary = _vocabulary(folder / "allergens.toml")
    tables: dict[str, tuple[NutritionTable, ...]] = {}
    for table in dated_entries(folder / "rounding.toml", {"table": NutritionTable})["table"]:
        tables[table.key] = (*tables.get(table.key, ()), typing.cast(NutritionTable, table))
    known = _jurisdictions(paths, tables, vocabulary)
    advisories = dated_entries(folder / "advisories.toml", {"advisory": Advisory})["advisory"]
    check_unique(folder / "advisories.toml", "advisory", advisories)
    for advisory in typing.cast(tuple[Advisory, ...], advisories):
        for code in (*advisory.jurisdictions, *advisory.not_in):
            if code not in known:
                raise DataFault(f"advisories.toml: advisory {advisory.key}: jurisdictions: {code} is not held")
    return RuleBook(
        digest.hexdigest()[:12],
        MappingProxyType(known),
        vocabulary,
        typing.cast(tuple[Advisory, ...], advisories),
    )


def _vocabulary(path: Path) -> Mapping[str, AllergenName]:
    words = typing.cast(tuple[AllergenName, ...], dated_entries(path, {"allergen": AllergenName})["allergen"])
    check_unique(path, "allergen", words)
    vocabulary = {word.key: word for word in words}
    for word in words:
        for other in (*word.counts_as, *([word.group] if word.group else [])):
            if other not in vocabulary:
                raise DataFault(f"{path.name}: allergen {word.key}: {other} is not in the vocabulary")
    return MappingProxyType(vocabulary)


def _jurisdictions(
    paths: list[Path],
    tables: Mapping[str, tuple[NutritionTable, ...]],
    vocabulary: Mapping[str, AllergenName],
) -> dict[str, Jurisdiction]:
    kinds = {**SINGLE, **KEYED}
    heads = {path.stem: (path, _head(path)) for path in paths}
    built: dict[str, Jurisdiction] = {}

    def place(code: str, below: tuple[str, ...]) -> Jurisdiction:
        if code in built:
            return built[code]
        if code not in heads or code in below:
            raise DataFault(f"{below[-1]}.toml: extends or falls back on {code}, which is not held or is a circle")
        path, head = heads[code]
        entries = dated_entries(path, kinds)
        _check_lists(path, entries, tables, vocabulary)
        parents = {key: place(head[key], (*below, code)) if key in head else None for key in ("extends", "fallback")}
        built[code] = Jurisdiction(
            code=code, name=head["name"], entries=MappingProxyType(entries), **parents, tables=tables,
            vocabulary=vocabulary, authority=head.get("authority"),
        )  # fmt: skip
        return built[code]

    for code in heads:
        place(code, ())
    return {code: built[code] for code in sorted(built)}


def _head(path: Path) -> dict[str, str]:
    raw = toml(path)
    head = {key: value for key, value in raw.items() if key in HEAD}
    for key in ("code", "name"):
        if not isinstance(head.get(key), str):
            raise DataFault(f"{path.name}: {key}: text is required")
    if not isinstance(head.get("authority", ""), str):
        raise DataFault(f"{path.name}: authority: text is expected")
    if head["code"] != path.stem:
        raise DataFault(f"{path.name}: code: must be {path.stem}, as the file is named")
    return head


def _check_lists(
    path: Path,
    entries: Mapping[str, tuple[Dated, ...]],
    tables: Mapping[str, object],
    vocabulary: Mapping[str, object],
) -> None:
    """Names that stand for something elsewhere have to exist there."""
    for kind in KEYED:
        check_unique(path, kind, entries[kind])
    named: list[tuple[str, str]] = []
    for entry in entries["allergens"]:
        assert isinstance(entry, Allergens)
        members = (member for group in entry.members.values() for member in group)
        every = (
            *entry.listed,
            *entry.recommended,
            *entry.members,
            *members,
            *entry.separate_statement,
            *entry.names,
        )
        named += [("allergens", key) for key in every]
    for entry in entries["exemption"]:
        assert isinstance(entry, Exemption)
        named += [(f"exemption {entry.key}", key) for key in (entry.allergen, *entry.excluding) if key != "*"]
    for where, key in named:
        if key not in vocabulary:
            raise DataFault(f"{path.name}: {where}: {key} is not in allergens.toml")
    for entry in entries["nutrition"]:
        assert isinstance(entry, Nutrition)
        if entry.table not in tables:
            raise DataFault(f"{path.name}: nutrition: table {entry.table} is not in rounding.toml")
