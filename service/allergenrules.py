"""Rules on allergens: what is listed, exempt and called what, and the threshold of sulphites."""

from collections.abc import Mapping
from decimal import Decimal
from types import MappingProxyType

from msgspec import field

from service.ruleentry import Dated


class Allergens(Dated, frozen=True, kw_only=True):
    """Allergens to be declared, in the regime's order; ``members`` says what a listed group holds in this
    regime.

    ``separate_statement`` is declared apart from the list; ``names`` are the regime's own words for a key.
    """

    listed: tuple[str, ...]
    recommended: tuple[str, ...] = ()
    members: Mapping[str, tuple[str, ...]] = field(default_factory=lambda: MappingProxyType({}))
    separate_statement: tuple[str, ...] = ()
    names: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
    note: str = ""


class Exemption(Dated, frozen=True, kw_only=True):
    """An allergen (``*``: any but ``excluding``) made by ``process`` in ``kinds`` is not declared."""

    allergen: str
    process: str | None = None
    kinds: tuple[str, ...] = ()
    excluding: tuple[str, ...] = ()


class Sulphites(Dated, frozen=True, kw_only=True):
    """Sulphites are declared where their mg per litre of the finished drink stand so to ``mg_per_l``."""

    comparator: str
    mg_per_l: Decimal


class AllergenName(Dated, frozen=True, kw_only=True):
    """One word of the vocabulary: its ``group``, what it also ``counts_as``, its GS1 code.

    ``core`` members are those that a bare group stands for; the others belong to it only where a regime lists
    them.
    """

    name: str
    group: str | None = None
    core: bool = True
    counts_as: tuple[str, ...] = ()
    gs1: str | None = None
