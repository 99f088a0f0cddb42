"""What the drinks that sold should have taken, by day, in items and parts."""

from collections import defaultdict
from collections.abc import Sequence
from datetime import date
from decimal import Decimal

from msgspec import Struct, field

from service.api.books import Books
from service.margins.bought import Part, Used, bought
from service.margins.sales import NetSale
from service.money import EXACT, ZERO

Bought = dict[tuple[str, str], Decimal]
"""Quantities of bought items by item and base."""


class _Recipes(Struct):
    """What sold while parts were made in one way: a part that is revised is another from then on."""

    by_day: dict[date, list[Used]] = field(default_factory=lambda: defaultdict(list))
    parts: dict[str, Part] = field(default_factory=dict)

    def agrees(self, parts: Sequence[Part]) -> bool:
        """Whether none of the parts is made in another way here."""
        return all(self.parts.get(part.id, part) == part for part in parts)

    def apart(self, uses: Sequence[Used]) -> Bought:
        """Items and parts in bought items."""
        return bought(uses, self.parts, tuple(self.parts))

    @property
    def outputs(self) -> set[str]:
        """What the parts give."""
        return {output for part in self.parts.values() for output in part.outputs}


class Theory(Struct):
    """What sold, by day, in items and parts; taken apart to bought items for any days, as parts were made on each."""

    recipes: list[_Recipes] = field(default_factory=list)

    def add(self, day: date, uses: Sequence[Used], parts: Sequence[Part]) -> None:
        """Counts what a row of sales took."""
        held = next((one for one in self.recipes if one.agrees(parts)), None)
        if held is None:
            held = _Recipes()
            self.recipes.append(held)
        for part in parts:
            held.parts.setdefault(part.id, part)
        held.by_day[day] += uses

    @property
    def outputs(self) -> set[str]:
        """What the parts behind the drinks give."""
        return {output for one in self.recipes for output in one.outputs}

    def used(self, first: date, last: date) -> Bought:
        """Bought items by item and base over some days."""
        found: Bought = {}
        for one in self.recipes:
            uses = [use for day, rows in one.by_day.items() if first <= day <= last for use in rows]
            _add(found, one.apart(uses))
        return found

    def apart(self, counted: Sequence[Used], latest: bool) -> Bought:
        """Counted parts in bought items: by the recipe of each that was the last to be sold from, or the first."""
        ordered = sorted(self.recipes, key=lambda one: max(one.by_day), reverse=True)
        if not latest:
            ordered = sorted(self.recipes, key=lambda one: min(one.by_day))
        found: Bought = {}
        left = list(counted)
        for one in ordered:
            outputs = one.outputs
            _add(found, one.apart([use for use in left if use.ref in outputs]))
            left = [use for use in left if use.ref not in outputs]
        return found


def _add(found: Bought, more: Bought) -> None:
    for key, quantity in more.items():
        found[key] = EXACT.add(found.get(key, ZERO), quantity)


def theory_of(rows: Sequence[NetSale], books: Books) -> Theory:
    """What the drinks that sold should have taken, each as it was made on its day."""
    found = Theory()
    for row in rows:
        sale = row.sale
        name = "+".join((sale.drink, *sale.with_))
        made = books.made(sale.key, sale.day, sale.venue)
        if made is None:
            continue  # ``missing`` says why.
        for ref in made.contents.unknown:
            books.missing[name, ref, "amount"] = None
        uses = [Used(use.ref, use.base, EXACT.multiply(use.quantity, sale.quantity)) for use in made.contents.uses]
        found.add(sale.day, uses, made.contents.parts)
    return found
