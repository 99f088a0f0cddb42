"""What the drinks that sold should have taken, by day, in items and parts."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from service.api.books import Books
from service.margins.bought import Part, Used, bought
from service.margins.sales import NetSale
from service.money import EXACT


@dataclass(slots=True)
class Theory:
    """What sold, by day, in items and parts; taken apart to bought items for any days."""

    by_day: dict[date, list[Used]] = field(default_factory=lambda: defaultdict(list))
    parts: dict[str, Part] = field(default_factory=dict)

    def used(self, first: date, last: date) -> dict[tuple[str, str], Decimal]:
        """Bought items by item and base over some days."""
        uses = [use for day, rows in self.by_day.items() if first <= day <= last for use in rows]
        return bought(uses, self.parts, tuple(self.parts))


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
        for part in made.contents.parts:
            found.parts.setdefault(part.id, part)
        for use in made.contents.uses:
            quantity = EXACT.multiply(use.quantity, sale.quantity)
            found.by_day[sale.day].append(Used(use.ref, use.base, quantity))
    return found
