"""Usage and loss as sheets: items, what moved, what is explained, counts that were rolled, sums."""

from collections.abc import Iterator
from typing import Any, Final

from service.renderers.book import MONEY, QUANTITY, Book, Column, Sheet, meta_notes, missing_notes, sheet

_SHARE: Final = "0.00"
_WORTH: Final = (
    Column("money", "Money", MONEY),
    Column("percent_of_sales", "% of net sales", _SHARE),
)
_ITEM: Final = (
    Column("item", "Item"), Column("base", "Unit"), Column("opening", "Opening", QUANTITY),
    Column("closing", "Closing", QUANTITY), Column("actual", "Used by the counts", QUANTITY),
    Column("theoretical", "Used by what sold", QUANTITY), Column("variance_quantity", "Variance", QUANTITY),
    Column("variance_money", "Variance in money", MONEY), Column("variance_percent", "Variance % of net sales", _SHARE),
    Column("unexplained_quantity", "Unexplained", QUANTITY), Column("unexplained_money", "Unexplained in money", MONEY),
    Column("unexplained_percent", "Unexplained % of net sales", _SHARE),
    Column("unit_value", "Value of one unit", "0.000000000"), Column("closing_value", "Closing stock", MONEY),
)  # fmt: skip
_BESIDE: Final = (
    Column("closing_value_beside", "Closing stock, second valuation", MONEY),
    Column("value_difference", "Second less first", MONEY),
)
_MOVED: Final = (Column("item", "Item"), Column("type", "Type"), Column("quantity", "Quantity", QUANTITY))
_ROLLED: Final = (
    Column("item", "Item"), Column("counted_on", "Counted on"), Column("cut_off", "Cut-off"),
    Column("counted", "Counted", QUANTITY), Column("sold", "Sold between", QUANTITY), Column("day", "Moved on"),
    Column("type", "Type"), Column("moved", "Moved", QUANTITY), Column("quantity", "At the cut-off", QUANTITY),
)  # fmt: skip
_TOTAL: Final = (Column("what", "What"), *_WORTH)


def book_of(body: dict[str, Any]) -> Book:
    """The answer as sheets."""
    period, beside = body["period"], body["beside"]
    notes = [("period", f"{period['name']}: trading days {period['first']} to {period['last']}"), *meta_notes(body)]
    if beside is not None:
        notes.append(("second valuation", beside))
    notes += [
        ("variance", "by the counts less by what sold; over 0 is a loss; explained and unexplained are all of it"),
        *(("not counted", item) for item in body["not_counted"]), *missing_notes(body["missing"]),
    ]  # fmt: skip
    valuation = body["valuation"] if beside is None else f"{body['valuation']}; beside it {beside}"
    return Book("Usage and loss", period["name"], body["currency"], valuation, tuple(notes), tuple(_sheets(body)))


def _sheets(body: dict[str, Any]) -> Iterator[Sheet]:
    second = body["beside"] is not None
    items, total = body["items"], body["total"]
    last = {
        "item": "Total", "variance_money": total["variance"], "unexplained_money": total["unexplained"],
        "unexplained_percent": total["unexplained_percent_of_sales"], "closing_value": total["closing_value"],
        "closing_value_beside": total["closing_value_beside"], "value_difference": total["value_difference"],
    }  # fmt: skip
    columns = (*_ITEM, *_BESIDE) if second else _ITEM
    yield sheet("Items", columns, [*(_item(row) for row in items), last], totals=1)
    moved = [
        {"item": row["item"], "type": name, "quantity": one} for row in items for name, one in row["moved"].items()
    ]
    yield sheet("Movements", _MOVED, moved)
    explained = [
        {"item": row["item"], "type": one["type"], **one["variance"]} for row in items for one in row["explained"]
    ]
    yield sheet("Explained", (*_MOVED, *_WORTH), explained)
    rolled = list(_rolled(items))
    if rolled:
        yield sheet("Rolled counts", _ROLLED, rolled)
    yield sheet("Total", _TOTAL, _total(total, second))


def _item(row: dict[str, Any]) -> dict[str, Any]:
    """One item in one row."""
    found = dict(row)
    for name in ("variance", "unexplained"):
        part = row[name]
        found |= {f"{name}_quantity": part["quantity"], f"{name}_money": part["money"],
                  f"{name}_percent": part["percent_of_sales"]}  # fmt: skip
    return found


def _rolled(items: list[dict[str, Any]]) -> Iterator[dict[str, Any]]:
    """One row a count, and one for each movement between it and the cut-off."""
    for row in items:
        for one in row["rolled"]:
            held = {name: one[name] for name in ("counted_on", "cut_off", "counted", "sold", "quantity")}
            yield {"item": row["item"], **held}
            for step in one["moved"]:
                yield {"item": row["item"], "day": step["day"], "type": step["type"], "moved": step["quantity"]}


def _total(total: dict[str, Any], second: bool) -> Iterator[dict[str, Any]]:
    """The sums, the explained ones by type."""
    yield {"what": "Net sales", "money": total["net_sales"]}
    yield {"what": "Variance", "money": total["variance"]}
    for name, money in total["explained"].items():
        yield {"what": f"Explained: {name}", "money": money}
    share = total["unexplained_percent_of_sales"]
    yield {"what": "Unexplained", "money": total["unexplained"], "percent_of_sales": share}
    yield {"what": "Closing stock", "money": total["closing_value"]}
    if second:
        yield {"what": "Closing stock, second valuation", "money": total["closing_value_beside"]}
        yield {"what": "Second less first", "money": total["value_difference"]}
