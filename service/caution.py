"""One caution of an answer, and what stands in the blanks of its text."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import NamedTuple

from msgspec import Struct


class Caution(Struct, frozen=True):
    """One advisory of the answer: ``jurisdictions`` that it is for, empty for all; ``items`` that call for it."""

    code: str
    level: str
    text: str
    deferral: str
    source: str
    standing: str
    jurisdictions: tuple[str, ...] = ()
    items: tuple[str, ...] = ()
    blanks: Mapping[str, "Blank"] = MappingProxyType({})


class Blank(NamedTuple):
    """What stands in a blank of a caution: a ``figure`` by itself, or in the word for ``how`` far it goes."""

    figure: str
    how: str | None = None
