"""Which drinks carry a menu: how often each sells beside what each contributes.

The split is that of Kasavana and Smith, Menu Engineering (1982); standing: from memory. A drink sells well where its
share of all serves is 70 % of an equal share or more, and earns well where its contribution of one serve is the menu's
weighted mean or more. The words for the four classes are our own.
"""

from collections.abc import Mapping
from decimal import Decimal
from typing import Final

from msgspec import Struct

from service.margins.sales import Key
from service.margins.statement import Figures
from service.money import EXACT, ZERO

POPULAR: Final = Decimal("0.70")
"""Share of an equal share of serves from which a drink counts as popular (Kasavana and Smith; standing: memory)."""

WORDS: Final[Mapping[tuple[bool, bool], str]] = {
    (True, True): "sells well, earns well",
    (True, False): "sells well, earns little",
    (False, True): "sells little, earns well",
    (False, False): "sells little, earns little",
}


class Classed(Struct, frozen=True):
    """A drink in its class; ``share`` of all serves from 0 to 1, ``each`` its contribution of one serve."""

    key: Key
    share: Decimal
    each: Decimal
    sells_well: bool
    earns_well: bool

    @property
    def words(self) -> str:
        """The class in words."""
        return WORDS[self.sells_well, self.earns_well]


class Classes(Struct, frozen=True):
    """The drinks with the two thresholds; ``left_out`` have no known cost or nothing sold."""

    share_from: Decimal
    each_from: Decimal
    drinks: tuple[Classed, ...]
    left_out: tuple[Key, ...]


def classes(drinks: Mapping[Key, Figures]) -> Classes | None:
    """The class of each drink; ``None`` where none can be judged.

    popular: quantity / all >= 0.70 / n, compared as quantity x n >= 0.70 x all; earns well: contribution of one
    serve >= contribution of all / all. n and all count the drinks that are judged.
    """
    judged = {key: one for key, one in drinks.items() if one.complete and one.quantity > 0}
    left_out = tuple(key for key in drinks if key not in judged)
    if not judged:
        return None
    total = sum((one.quantity for one in judged.values()), ZERO)
    earned = ZERO
    for one in judged.values():
        earned = EXACT.add(earned, one.contribution or ZERO)
    count = Decimal(len(judged))
    found = []
    for key, one in judged.items():
        contribution = one.contribution or ZERO
        sells = EXACT.multiply(one.quantity, count) >= EXACT.multiply(POPULAR, total)
        earns = EXACT.multiply(contribution, total) >= EXACT.multiply(earned, one.quantity)
        each = EXACT.divide(contribution, one.quantity)
        found.append(Classed(key, EXACT.divide(one.quantity, total), each, sells, earns))
    return Classes(EXACT.divide(POPULAR, count), EXACT.divide(earned, total), tuple(found), left_out)
