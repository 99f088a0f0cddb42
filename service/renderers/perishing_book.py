"""What perishes as sheets: one row a thing, and one a batch: that which costs least and that which is made now."""

from typing import Any, Final

from service.renderers.book import PERCENT, QUANTITY, Book, Column, sheet

VALUATION: Final = "costs as stated in the question"

_SIX: Final = "0.000000"
_ITEMS: Final = (
    Column("id", "What"), Column("mean_demand", "Serves over a life", QUANTITY),
    Column("dearer_each", "Made now, dearer for one serve by", _SIX, "none"),
    Column("line_loss_each", "Line and rest of a keg, for one serve", _SIX, "none"),
)  # fmt: skip
_BATCHES: Final = (
    Column("id", "What"), Column("batch", "Batch"), Column("serves", "Serves", QUANTITY),
    Column("sold", "Sold", "0.00"),
    Column("thrown", "Thrown away", "0.00"), Column("thrown_percent", "Thrown away %", PERCENT),
    Column("waste_each", "Waste of one serve sold", _SIX, "none"),
    Column("cost_each", "All costs of one serve sold", _SIX, "none"),
)  # fmt: skip


def book_of(body: dict[str, Any]) -> Book:
    """The answer as sheets."""
    batches = [
        {"id": row["id"], "batch": words, **row[name]}
        for row in body["items"]
        for name, words in (("best", "costs least"), ("wanted", "made now"))
        if row[name] is not None
    ]
    notes = (
        ("currency", body["currency"]), ("valuation", VALUATION), ("assumes", body["assumes"]),
        ("waste", "a cost line of its own, in no pour cost"),
    )  # fmt: skip
    sheets = (sheet("Items", _ITEMS, body["items"]), sheet("Batches", _BATCHES, batches, frozen=2))
    return Book("What perishes", "Batches and their waste", body["currency"], VALUATION, notes, sheets)
