"""The waste of a period's books: what the serves that sold took of what is kept, and what of it was thrown away."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Final

from service.api.books import Books
from service.api.questions import Question
from service.margins.sales import NetSale
from service.margins.waste import Shelf, Wasted
from service.report import stock as told
from service.report.figures import Json

ASSUMES: Final = (
    "Serves over the life of a batch are a Poisson count with the mean of the period (common practice for slow movers, "
    "no source), serves of different size count by their mean, and days that differ much make the true waste larger. "
    "A batch is what a part yields, one unit of a pack or one piece; one that is used up is followed by the next at "
    "once. Making a part takes what goes into it as one serve does. A life of 0 days is the day itself."
)


def waste_body(rows: Sequence[NetSale], question: Question, books: Books) -> Json | None:
    """The waste by venue and thing; ``None`` where the question states no sales a day.

    A key without ``costs:read`` is told the sums alone: money over quantity is a supplier's price.
    """
    if not question.paced:
        return None
    shelves: dict[str | None, Shelf] = {}
    missing: dict[tuple[str, str, str], None] = {}
    for row in rows:
        sale = row.sale
        name = "+".join((sale.drink, *sale.with_))
        made = None if sale.drink in question.stated else books.made(sale.key, sale.day, sale.venue)
        if made is None:
            missing[name, sale.drink, "contents"] = None
            continue
        missing |= {(name, ref, "amount"): None for ref in made.contents.unknown}
        shelf = shelves.setdefault(sale.venue, Shelf())
        shelf.sold(sale.quantity, made.contents.uses, made.contents.parts, made.stored)
    thrown: list[tuple[str | None, Wasted]] = []
    for venue, shelf in shelves.items():
        thrown += [(venue, one) for one in shelf.wasted(question.period.days)]
        missing |= {("several", ref, "use"): None for ref in shelf.idle()}
    missing |= {("several", one.taken.stored.ref, one.lacks): None for _, one in thrown if one.lacks is not None}
    sold = sum((row.sale.quantity for row in rows), Decimal(0)), sum((row.net for row in rows), Decimal(0))
    section = told.waste_section(thrown, tuple(missing), sold, question.currency, ASSUMES)
    if not books.request.state.principal.sees_costs:
        del section["rows"]
    return section
