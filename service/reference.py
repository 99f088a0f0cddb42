"""The embedded reference of generic items: data/ingredients/*.toml read once, checked, frozen and searchable.

A file holds ``[sources.<key>]`` (title, standing, since, checked) and ``[[item]]`` entries (id, name, kind, aliases)
whose values all lie in ``[[item.facts]]`` blocks, each naming its source. Whatever is malformed stops the start with
a :class:`DataFault` that names file, entry and key.
"""

import difflib
import functools
import hashlib
import re
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from types import MappingProxyType
from typing import Any

import tomli
from msgspec import Struct

from service.errors import DataFault
from service.item import Item
from service.reference_balance import checked_item
from service.reference_entry import ALLERGEN_GROUPS, item_of
from service.reference_place import Place, Source, sources_of

INGREDIENTS = Path(__file__).parent / "data" / "ingredients"
"""The folder that :func:`reference` reads."""

VERSION_DIGITS = 12
"""Hexadecimal digits of the sha256 that are shown as ``reference_version``."""

ALIKE = 12
"""Texts of like spelling that are looked through for ids; several may be names of one."""

ALIKENESS = 0.6
"""How alike a spelling must be (0 to 1) where nothing else is near."""

ALIKENESS_BESIDE = 0.75
"""The same where ids with the asked words were found already."""

WHOLE_KINDS = ("fruit", "spice", "nut", "egg", "other")
"""Kinds that can be bought by the piece and squeezed, cracked or pressed."""


class Reference(Struct, frozen=True):
    """All items by id, in the order of their ids.

    ``words`` holds what :meth:`search` looks through; ``phrases`` leads from the sorted words of an id, a name or an
    alias, with hyphens, to the ids that are called so.
    """

    items: Mapping[str, Item]
    version: str
    words: Mapping[str, frozenset[str]]
    phrases: Mapping[str, tuple[str, ...]]

    def search(self, text: str = "", kind: str | None = None, allergen: str | None = None) -> tuple[Item, ...]:
        """Items in the order of their ids for which every given condition holds.

        Every word of ``text`` begins a word of the id, name or aliases; ``kind`` is the item's; ``allergen`` (or a
        member of that group) is contained, possibly contained or unknown by name.
        """
        wanted = words_of(text)
        return tuple(
            item
            for item in self.items.values()
            if (kind is None or item.kind == kind)
            and (allergen is None or _concerns(item, allergen))
            and all(any(word.startswith(start) for word in self.words[item.id]) for start in wanted)
        )

    def nearest_ids(self, item_id: str, n: int = 3, also: Iterable[str] = ()) -> tuple[str, ...]:
        """At most ``n`` ids that may have been meant, best first; ``also`` are ids known from elsewhere.

        What is called so in any order of words comes first, then an id that begins so, one that holds all the
        words, one whose name or aliases do, and last whatever is spelt much alike.
        """
        asked = words_of(item_id)
        if not asked:
            return ()
        known = sorted({*self.items, *also})
        called = set(self.phrases.get("-".join(sorted(asked)), ()))
        begins, wanted = "-".join(asked) + "-", tuple(f"-{word}-" for word in asked)

        def rank(known_id: str) -> int | None:
            if known_id in called or known_id == item_id:
                return 0
            if known_id.startswith(begins):
                return 1
            framed = f"-{known_id}-"
            if all(word in framed for word in wanted):
                return 2
            return 3 if self.words.get(known_id, frozenset()).issuperset(asked) else None

        ranked = sorted((place, known_id) for known_id in known if (place := rank(known_id)) is not None)
        found = [known_id for _, known_id in ranked[:n]]
        if len(found) < n:
            found += self._ids_spelt_like(item_id, known, ALIKENESS_BESIDE if found else ALIKENESS)
        return tuple(dict.fromkeys(found))[:n]

    def _ids_spelt_like(self, item_id: str, known: Sequence[str], alikeness: float) -> list[str]:
        """Ids that are, or are called, something spelt much like ``item_id``, best first."""
        texts = sorted({*known, *self.phrases})
        alike = difflib.get_close_matches(item_id, texts, n=ALIKE, cutoff=alikeness)
        own = frozenset(known)
        return [found for text in alike for found in ((text,) if text in own else self.phrases[text])]


def words_of(text: str) -> tuple[str, ...]:
    """Case-folded words of a text without accents, so that ``Crème`` is found by ``creme``."""
    if not text.isascii():  # Nearly all names are plain, and taking accents off is most of the work of reading them.
        text = "".join(sign for sign in unicodedata.normalize("NFKD", text) if not unicodedata.combining(sign))
    return tuple(re.findall(r"[^\W_]+", text.casefold()))


def _concerns(item: Item, allergen: str) -> bool:
    """Whether the item names the allergen, or a member of its group, as anything but absent."""
    keys = (allergen, *ALLERGEN_GROUPS.get(allergen, ()))
    return any(key in item.allergens and item.allergens[key].state != "absent" for key in keys)


def load_reference(folder: Path = INGREDIENTS) -> Reference:
    """Read every ``*.toml`` of the folder, in the order of their names."""
    digest = hashlib.sha256()
    items: dict[str, Item] = {}
    files: dict[str, str] = {}
    for path in sorted(folder.glob("*.toml")):
        content = path.read_bytes()
        digest.update(path.name.encode() + b"\0" + content + b"\0")
        for item in _items_of_file(path.name, content):
            if item.id in items:
                raise DataFault(f"{path.name}, item {item.id}, id: the id stands in {files[item.id]} already.")
            items[item.id], files[item.id] = item, path.name
    if not items:
        raise DataFault(f"{folder.name}: no item was found.")
    _check_links(items, files)
    ordered = {item_id: items[item_id] for item_id in sorted(items)}
    words = {item.id: frozenset(words_of(" ".join((item.id, item.name, *item.aliases)))) for item in ordered.values()}
    version = digest.hexdigest()[:VERSION_DIGITS]
    phrases = MappingProxyType(_phrases_of(ordered.values()))
    return Reference(MappingProxyType(ordered), version, MappingProxyType(words), phrases)


def _phrases_of(items: Iterable[Item]) -> dict[str, tuple[str, ...]]:
    phrases: dict[str, tuple[str, ...]] = {}
    for item in items:
        for phrase in {"-".join(sorted(words_of(text))) for text in (item.id, item.name, *item.aliases)}:
            phrases[phrase] = (*phrases.get(phrase, ()), item.id)
    return phrases


def _items_of_file(name: str, content: bytes) -> Sequence[Item]:
    try:
        document: dict[str, Any] = tomli.loads(content.decode("utf-8"))
    except (UnicodeDecodeError, tomli.TOMLDecodeError) as fault:
        raise DataFault(f"{name}: not a TOML file ({fault}).") from fault
    head = Place(name, "file")
    head.only_keys(document, ("sources", "item"))
    sources = sources_of(name, document.get("sources"))
    entries = document.get("item")
    if not isinstance(entries, list) or not entries:
        raise head.fault("item", "expected at least one [[item]]")
    return [_item_of_entry(name, entry, sources) for entry in entries]


def _item_of_entry(name: str, entry: object, sources: Mapping[str, Source]) -> Item:
    if not isinstance(entry, dict):
        raise Place(name, "item").fault("item", "expected a table")
    place = Place(name, f"item {entry.get('id', '(without id)')}")
    return checked_item(item_of(entry, sources, place), place)


def _check_links(items: Mapping[str, Item], files: Mapping[str, str]) -> None:
    """What an item is squeezed from must be an item too, and a whole one rather than a liquid."""
    for item in items.values():
        if item.squeezed_from is None:
            continue
        place = Place(files[item.id], f"item {item.id}")
        whole = items.get(item.squeezed_from.item)
        if whole is None:
            raise place.fault("squeezed_from", f"no item has the id {item.squeezed_from.item!r}")
        if whole.kind not in WHOLE_KINDS:
            raise place.fault("squeezed_from", f"{whole.id} is of kind {whole.kind}, not something bought whole")


@functools.cache
def reference() -> Reference:
    """The reference of this service, loaded at the first call and kept."""
    return load_reference()
