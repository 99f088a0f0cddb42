"""One entry of data/ingredients: its keys read plainly, checked and made an :class:`Item`."""

import re
from collections.abc import Callable, Collection, Mapping
from types import MappingProxyType
from typing import Any

from service.item import (
    ACIDS,
    KINDS,
    NUTRIENTS_G,
    POLYOLS,
    PROCESSES,
    TRACES_MG,
    AllergenEntry,
    Composition,
    Fact,
    Item,
    Piece,
    SqueezedFrom,
)
from service.reference_place import STANDINGS, Place, Source

ALLERGEN_GROUPS: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "gluten": ("wheat", "rye", "barley", "oats", "spelt", "khorasan", "triticale"),
        "nuts": (
            "almond", "hazelnut", "walnut", "cashew", "pecan", "brazil", "pistachio", "macadamia", "pine_nut",
            "black_walnut", "california_walnut", "heartnut",
        ),
        "crustaceans": ("shrimp", "crab"),
        "fish": ("salmon", "mackerel", "salmon_roe"),
        "molluscs": ("abalone", "squid"),
    }
)  # fmt: skip
"""Members that may be named in place of their group."""

ALLERGENS = frozenset(
    {
        "eggs", "peanuts", "soybeans", "milk", "celery", "mustard", "sesame", "sulphites", "lupin", "buckwheat",
        "orange", "kiwifruit", "beef", "chicken", "banana", "pork", "peach", "yam", "apple", "gelatin",
        *ALLERGEN_GROUPS, *(member for members in ALLERGEN_GROUPS.values() for member in members),
    }
)  # fmt: skip
"""Every allergen key an item may name."""

STATES = ("contains", "may_contain", "absent", "unknown")
"""What may be said of one allergen."""

ANIMAL_ORIGINS = (
    "egg", "milk", "honey", "beeswax", "insect", "fish", "fish_gelatine", "gelatine", "isinglass", "crustacean",
    "mollusc", "meat",
)  # fmt: skip
"""Animal matter an item may name."""

ITEM_KEYS = ("id", "name", "kind", "aliases", "facts")
FACT_KEYS = frozenset(("source", "detail", "standing", "since", "checked", "note", "basis"))
COMPOSITION_KEYS = frozenset((*NUTRIENTS_G, *TRACES_MG, "acids_g", "polyols_g"))
NUMBER_KEYS = {
    "abv_percent": 100.0, "density_g_per_ml": 3.0, "bulk_g_per_ml": 3.0, "each_g": 50_000.0, "bottle_residue_ml": 100.0,
}  # fmt: skip
"""Plain numbers of an item with the largest sensible one."""

_ID = re.compile(r"[a-z0-9][a-z0-9-]{0,63}")
_PIECE = re.compile(r"[a-z][a-z_]{0,31}")


def item_of(entry: Mapping[str, Any], sources: Mapping[str, Source], place: Place) -> Item:
    """The item of one ``[[item]]`` table, each key read by its own reader."""
    place.only_keys(entry, ITEM_KEYS)
    item_id = place.text("id", entry.get("id"))
    if not _ID.fullmatch(item_id):
        raise place.fault("id", "expected lower-case letters, digits and hyphens, at most 64")
    blocks = entry.get("facts")
    if not isinstance(blocks, list) or not blocks:
        raise place.fault("facts", "expected at least one [[item.facts]] block")
    values: dict[str, Any] = {}
    composition: dict[str, dict[str, Any]] = {}
    facts = tuple(_fact_of(place.table("facts", block), sources, place, values, composition) for block in blocks)
    return Item(
        id=item_id,
        name=place.text("name", entry.get("name")),
        kind=place.one_of("kind", entry.get("kind"), KINDS),
        aliases=place.words("aliases", entry.get("aliases", [])),
        per_100=tuple(_composition_of(basis, composition[basis]) for basis in sorted(composition)),
        facts=facts,
        origin="reference",
        **values,
    )


def _fact_of(
    block: Mapping[str, Any],
    sources: Mapping[str, Source],
    place: Place,
    values: dict[str, Any],
    composition: dict[str, dict[str, Any]],
) -> Fact:
    """The provenance of one block; its values are put into ``values`` or, by basis, into ``composition``."""
    source = sources.get(place.text("source", block.get("source")))
    if source is None:
        raise place.fault("source", "not among the [sources] of this file")
    fields = tuple([key for key in block if key not in FACT_KEYS])
    if not fields:
        raise place.fault("facts", "a block without a value")
    for key in fields:
        if key in COMPOSITION_KEYS:
            if any(key in amounts for amounts in composition.values()):
                raise place.fault(key, "stated twice")
            basis = place.one_of("basis", block.get("basis"), ("g", "ml"))
            composition.setdefault(basis, {})[key] = _constituent(key, block[key], place)
        elif key in READERS:
            if key in values:
                raise place.fault(key, "stated twice")
            values[key] = READERS[key](key, block[key], place)
        else:
            raise place.fault(key, "unknown key")
    detail = place.text("detail", block["detail"]) if "detail" in block else ""
    since = place.day("since", block["since"]) if "since" in block else source.since
    checked = place.day("checked", block["checked"]) if "checked" in block else source.checked
    if checked < since:
        raise place.fault("checked", "lies before since")
    return Fact(
        fields=fields,
        source=f"{source.title}; {detail}" if detail else source.title,
        standing=place.one_of("standing", block.get("standing", source.standing), STANDINGS),
        since=since,
        checked=checked,
        note=place.text("note", block["note"]) if "note" in block else "",
    )


def _constituent(key: str, value: object, place: Place) -> float | Mapping[str, float]:
    if key == "acids_g":
        acids = _amounts(key, value, ACIDS, place)
        if "titratable_as_citric" in acids and len(acids) > 1:
            raise place.fault(key, "titratable acidity covers the single acids, so only one of the two may stand")
        return acids
    if key == "polyols_g":
        return _amounts(key, value, POLYOLS, place)
    return place.number(key, value, 100_000.0 if key in TRACES_MG else 160.0)


def _amounts(key: str, value: object, allowed: Collection[str], place: Place) -> Mapping[str, float]:
    table = place.table(key, value)
    place.only_keys(table, allowed)
    return MappingProxyType({name: place.number(f"{key}.{name}", amount, 160.0) for name, amount in table.items()})


def _composition_of(basis: str, amounts: Mapping[str, Any]) -> Composition:
    plain = {key: amount for key, amount in amounts.items() if key not in ("acids_g", "polyols_g")}
    return Composition(basis, MappingProxyType(plain), amounts.get("acids_g"), amounts.get("polyols_g"))


def _number_of(key: str, value: object, place: Place) -> float:
    positive = key not in ("abv_percent", "bottle_residue_ml")
    return place.number(key, value, NUMBER_KEYS[key], positive=positive)


def _varies(key: str, value: object, place: Place) -> bool:
    if value is not True:
        raise place.fault(key, "expected true, or no such key")
    return True


def _open_life_of(key: str, value: object, place: Place) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or not 0 < value <= 3650:
        raise place.fault(key, "expected whole days from 1 to 3650")
    return value


def _pieces_of(key: str, value: object, place: Place) -> Mapping[str, Piece]:
    pieces: dict[str, Piece] = {}
    for word, entry in place.table(key, value).items():
        table = place.table(f"{key}.{word}", entry)
        place.only_keys(table, ("g", "share"))
        if len(table) != 1 or not _PIECE.fullmatch(word):
            raise place.fault(f"{key}.{word}", "expected a lower-case word with either g or share")
        ((measure, amount),) = table.items()
        high = 1.0 if measure == "share" else 50_000.0
        pieces[word] = Piece(**{measure: place.number(f"{key}.{word}", amount, high, positive=True)})
    return MappingProxyType(pieces)


def _squeezed_from_of(key: str, value: object, place: Place) -> SqueezedFrom:
    table = place.table(key, value)
    place.only_keys(table, ("item", "ml_each"))
    ml_each = place.number(f"{key}.ml_each", table.get("ml_each"), 10_000.0, positive=True)
    return SqueezedFrom(place.text(f"{key}.item", table.get("item")), ml_each)


def _allergens_of(key: str, value: object, place: Place) -> Mapping[str, AllergenEntry]:
    entries: dict[str, AllergenEntry] = {}
    for allergen, entry in place.table(key, value).items():
        place.one_of(f"{key}.{allergen}", allergen, ALLERGENS)
        table = {"state": entry} if isinstance(entry, str) else place.table(f"{key}.{allergen}", entry)
        place.only_keys(table, ("state", "process"))
        process = table.get("process")
        entries[allergen] = AllergenEntry(
            place.one_of(f"{key}.{allergen}", table.get("state"), STATES),
            None if process is None else place.one_of(f"{key}.{allergen}", process, PROCESSES),
        )
    return MappingProxyType(entries)


READERS: Mapping[str, Callable[[str, object, Place], object]] = MappingProxyType(
    {
        **dict.fromkeys(NUMBER_KEYS, _number_of),
        "strength_varies": _varies,
        "open_life_days": _open_life_of,
        "pieces": _pieces_of,
        "squeezed_from": _squeezed_from_of,
        "allergens": _allergens_of,
        "allergens_declared": lambda key, value, place: place.one_of(key, value, ("complete", "partial")),
        "process": lambda key, value, place: place.words(key, value, PROCESSES),
        "animal_origin": lambda key, value, place: place.words(key, value, ANIMAL_ORIGINS),
    }
)
"""How each value outside the composition is read."""
