"""What of an item decides whether its pack can be costed: is it known by the piece, how much is a bunch of it."""

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from service.errors import InputFault
from service.item import Item
from service.pieces import EACH
from service.suppliers.packs import WrittenPack, base_of


@dataclass(frozen=True, slots=True)
class ItemFacts:
    """``bases`` are those of ml, g and each by which the item can be used; ``bunch_g`` is the mass of one bunch."""

    bases: frozenset[str]
    bunch_g: Decimal | None = None


PRODUCE: Final = frozenset(("fruit", "spice", "egg", "nut", "dairy"))
"""Kinds of items that are bought by the piece and used by mass or volume."""

FactsOf = Callable[[str], ItemFacts | None]
"""Facts of an item by its id; ``None`` where there is no such item."""


def facts_of(item: Item) -> ItemFacts:
    """The facts of an item: produce counts by the piece where the mass of a whole one, or its shares, are known.

    What is no produce, such as a straw, is bought and used by the piece.
    """
    shares = any(piece.share is not None for piece in item.pieces.values())
    by_piece = item.kind not in PRODUCE or item.each_g is not None or shares
    bunch = item.pieces.get("bunch")
    bunch_g = None
    if bunch is not None:
        if bunch.g is not None:
            bunch_g = Decimal(repr(bunch.g))
        elif bunch.share is not None and item.each_g is not None:
            bunch_g = Decimal(repr(bunch.share)) * Decimal(repr(item.each_g))
    bases = frozenset(("ml", "g", EACH)) if by_piece else frozenset(("ml", "g"))
    return ItemFacts(bases, bunch_g)


def usable_pack(pack: WrittenPack, facts: ItemFacts) -> WrittenPack:
    """The pack as this item can be costed by it; a bunch becomes its grams."""
    if pack.bunch:
        if facts.bunch_g is None:
            detail = "The mass of a bunch of this item is not known: give it a piece named bunch with its grams."
            raise InputFault("bunch_unknown", detail)
        return WrittenPack(pack.count, f"{facts.bunch_g.normalize():f} g")
    base = base_of(pack.size)[1]
    if base not in facts.bases:
        if base == EACH:
            detail = "This item is sold by the piece, and the mass of one is not known: give it each_g or pieces."
            raise InputFault("pieces_unknown", detail)
        raise InputFault("measure_unknown", f"This item cannot be used by {base}: give it what converts it.")
    return pack
