"""Cautions as ``data/advisories.toml`` writes them: what sets one off, and what it says."""

from decimal import Decimal

from msgspec import Struct

from service.ruleentry import Dated


class Trigger(Struct, frozen=True, kw_only=True):
    """All conditions present have to hold; the head of ``data/advisories.toml`` explains each."""

    kind: str | None = None
    words: tuple[str, ...] = ()
    unless_words: tuple[str, ...] = ()
    unless_kinds: tuple[str, ...] = ()
    item_allergen: str | None = None
    item_holds: str | None = None
    allergen: str | None = None
    methods: tuple[str, ...] = ()
    steps: tuple[str, ...] = ()
    measure: str | None = None
    comparator: str | None = None
    limit_per_l: Decimal | None = None
    abv_comparator: str | None = None
    abv_percent: Decimal | None = None
    item_abv_from: Decimal | None = None
    with_alcohol: bool = False


class Advisory(Dated, frozen=True, kw_only=True):
    """A caution in words of our own, with the sentence that defers; no ``jurisdictions`` means everywhere
    but ``not_in``."""

    level: str
    text: str
    deferral: str
    trigger: Trigger
    jurisdictions: tuple[str, ...] = ()
    not_in: tuple[str, ...] = ()
