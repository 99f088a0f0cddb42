"""What moved, and a price ladder, as sheets."""

from collections.abc import Iterator
from typing import Any, Final

from service.renderers.book import MONEY, PERCENT, QUANTITY, Book, Column, Sheet, meta_notes, missing_notes, sheet

_DRINK: Final = (Column("drink", "Drink"), Column("with", "With"))
_MOVED: Final = (
    *_DRINK, Column("name", "Name"), Column("menu_price", "Menu price", MONEY, "none"),
    Column("cost_before", "Cost before", MONEY), Column("cost_after", "Cost after", MONEY),
    Column("cost_change_percent", "Change %", "0.00"), Column("gross_margin_before", "Margin % before", PERCENT),
    Column("gross_margin_after", "Margin % after", PERCENT), Column("meets_before", "Meets its target before"),
    Column("meets_after", "Meets its target after"), Column("falls_under", "Falls under"),
    Column("suggested_after", "Suggested price after", MONEY),
)  # fmt: skip
_NINE: Final = "0.000000000"
_PARTS: Final = (
    *_DRINK, Column("item", "Item"), Column("offer", "Offer"), Column("cost", "Cost in one serve", _NINE),
    Column("per_percent", "For 1 % on its price", _NINE), Column("price", "Price of the pack", QUANTITY),
    Column("price_currency", "Currency of the pack"),
    Column("breaks_even_at", "Pack price that just meets the target", "0.000000", "none"),
)  # fmt: skip
_ROWS: Final = (
    Column("row", "Row", QUANTITY), Column("outcome", "Outcome"), Column("code", "Code", absent=""),
    Column("name", "Name", absent=""), Column("item", "Item", absent=""), Column("offer", "Offer", absent=""),
    Column("pack_text", "Pack", absent=""), Column("old_price", "Old price", QUANTITY, "none"),
    Column("new_price", "New price", QUANTITY), Column("row_currency", "Currency of the row"),
    Column("why", "Why it does not count"),
)  # fmt: skip
_CHANGES: Final = (*_DRINK, Column("from", "Price today", MONEY), Column("to", "New price", MONEY))
_MARGIN: Final = (Column("what", "What"), Column("margin", "Weighted margin %", PERCENT))


def moves_book(body: dict[str, Any]) -> Book:
    """Every drink before and after a change of supplier prices."""
    meta, listed = body["meta"], body["price_list"]
    changed = f"{body['offers_changed']} changed and {body['offers_new']} new, of items that the drinks use"
    notes = [*meta_notes(body), ("offers", changed)]
    if listed is not None:
        notes.append(("price list", f"{listed['supplier']}, file {listed['file_sha256']}"))
        notes += [("row of the list that does not count", str(row)) for row in listed["not_counted"]]
    notes.append(("before and after", "what sells, and the steps of menu prices, stay as they are; nothing is stored"))
    notes += missing_notes(body["missing"])
    about = f"Supplier prices as of {meta['as_of']}"
    return Book("What moved", about, body["currency"], meta["valuation"], tuple(notes), tuple(_sheets(body)))


def _sheets(body: dict[str, Any]) -> Iterator[Sheet]:
    falls = set(body["fall_under"])
    drinks = [{**row, "falls_under": "+".join((row["drink"], *row["with"])) in falls} for row in body["drinks"]]
    yield sheet("Drinks", _MOVED, drinks, frozen=3)
    for name, key in (("Price by price now", "sensitivities"), ("Price by price then", "sensitivities_after")):
        rows = [{"drink": row["drink"], "with": row["with"], **one} for row in drinks for one in row[key]]
        yield sheet(name, _PARTS, rows, frozen=2)
    if body["price_list"] is not None:
        yield sheet("Rows to look at", _ROWS, [_listed(row) for row in body["price_list"]["to_look_at"]])


def _listed(row: dict[str, Any]) -> dict[str, Any]:
    why = "; ".join(one["detail"] for one in (*row["reasons"], *row["must_confirm"]))
    return {**row, "row_currency": row["currency"], "why": why}


def ladder_book(body: dict[str, Any]) -> Book:
    """The fewest and smallest changes of menu prices that meet a margin."""
    meta = body["meta"]
    notes = [
        *meta_notes(body), ("margin met", "yes" if body["met"] else "no, by no allowed prices"),
        ("no fewer or smaller changes do", "yes" if body["exact"] else "not known: too many choices to look at"),
        ("method", body["method"]), ("what sells", "taken to stay as it is"),
        ("costs", "as the question states them, those of the catalogue where it states none"),
    ]  # fmt: skip
    margins = [{"what": when.capitalize(), "margin": body[f"margin_{when}"]} for when in ("before", "after")]
    made = (sheet("Changes", _CHANGES, body["changes"], frozen=2), sheet("Margin", _MARGIN, margins))
    about = f"Menu prices as of {meta['as_of']}"
    return Book("Price ladder", about, body["currency"], meta["valuation"], tuple(notes), made)
