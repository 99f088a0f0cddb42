"""A mapping whose values are made when first asked for."""

from collections.abc import Callable, Iterator, Mapping
from typing import Any, Generic, TypeVar

Value = TypeVar("Value")


class LazyMap(Mapping[str, Value], Generic[Value]):
    """A mapping whose values are made when first asked for."""

    def __init__(self, keys: Mapping[str, Any], make: Callable[[str], Value]) -> None:
        self._keys = keys
        self._make = make
        self._made: dict[str, Value] = {}

    def __getitem__(self, key: str) -> Value:
        found = self._made.get(key)
        if found is None:
            if key not in self._keys:
                raise KeyError(key)
            found = self._made[key] = self._make(key)
        return found

    def get(self, key: str, default: Any = None) -> Any:
        """The value of a key; most that are asked for are not there, so that no fault is raised for them."""
        return self[key] if key in self._keys else default

    def __contains__(self, key: object) -> bool:
        return key in self._keys

    def __iter__(self) -> Iterator[str]:
        return iter(self._keys)

    def __len__(self) -> int:
        return len(self._keys)
