"""What is not known of a thing: pairs of an item and one of its fields, kept by item.

A drink may hold hundreds of items of which a dozen fields each are unknown. Kept by item, two such sets are merged in
as many steps as there are items, and items share their sets of fields.
"""

from collections.abc import Collection, Iterable, Iterator, Mapping, Set
from functools import lru_cache
from operator import is_
from types import MappingProxyType
from typing import Any

Missing = tuple[str, str]
"""An item's id and the field of it that is not known."""


class Unknown(Set[Missing]):
    """A frozen set of (item, field)."""

    __slots__ = ("_by_item", "_fields")

    def __init__(self, by_item: Mapping[str, frozenset[str]]) -> None:
        self._by_item = by_item
        self._fields: frozenset[str] | None = None

    @classmethod
    def _from_iterable(cls, it: Iterable[Any]) -> "Unknown":  # type: ignore[override]  # its elements are pairs
        return unknown_of(it)

    @property
    def fields(self) -> frozenset[str]:
        """Fields that are unknown of any item."""
        if self._fields is None:
            self._fields = frozenset().union(*set(self._by_item.values()))
        return self._fields

    def __contains__(self, pair: object) -> bool:
        return isinstance(pair, tuple) and pair[1] in self._by_item.get(pair[0], ())

    def __iter__(self) -> Iterator[Missing]:
        return ((item, name) for item, names in self._by_item.items() for name in names)

    def __len__(self) -> int:
        return sum(map(len, self._by_item.values()))

    def __bool__(self) -> bool:
        return bool(self._by_item)

    def __hash__(self) -> int:
        return self._hash()

    def with_pairs(self, pairs: Iterable[Missing]) -> "Unknown":
        """This and some more pairs."""
        return self.union((unknown_of(pairs),))

    def without(self, names: Collection[str]) -> "Unknown":
        """The same without these fields of any item."""
        if self.fields.isdisjoint(names):
            return self
        left = {item: fields.difference(names) for item, fields in self._by_item.items()}
        return Unknown({item: fields for item, fields in left.items() if fields})

    def among(self, names: Collection[str]) -> list[Missing]:
        """The pairs whose field is among ``names``."""
        if self.fields.isdisjoint(names):
            return []
        return [(item, name) for item, fields in self._by_item.items() for name in fields if name in names]

    def union(self, others: Iterable["Unknown"]) -> "Unknown":
        """This and all ``others``; one of them itself where the rest adds nothing, so that parts share their sets."""
        distinct = {id(one): one for one in (self, *others) if one._by_item}
        if len(distinct) < 2:
            return next(iter(distinct.values()), KNOWN)
        largest, *rest = sorted(distinct.values(), key=lambda one: (-len(one._by_item), id(one)))
        merged: dict[str, frozenset[str]] = {}
        for other in rest:
            known = merged or largest._by_item
            if all(map(is_, map(known.get, other._by_item), other._by_item.values())):
                continue
            merged = merged or dict(largest._by_item)
            for item, fields in other._by_item.items():
                held = merged.get(item)
                if held is not fields:
                    merged[item] = fields if held is None else held | fields
        return Unknown(merged) if merged else largest


def unknown_of(pairs: Iterable[Missing]) -> Unknown:
    """The set of these pairs."""
    by_item: dict[str, set[str]] = {}
    for item, name in pairs:
        by_item.setdefault(item, set()).add(name)
    return Unknown({item: _shared(frozenset(names)) for item, names in by_item.items()})


@lru_cache(maxsize=1024)
def _shared(names: frozenset[str]) -> frozenset[str]:
    """One set for all items of which the same is unknown."""
    return names


KNOWN = Unknown(MappingProxyType({}))
"""Nothing is unknown."""
