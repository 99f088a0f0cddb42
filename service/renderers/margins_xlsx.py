"""The books of a period as a workbook of several sheets."""

from collections.abc import Iterator
from typing import Any, Final

from service.renderers import book_xlsx
from service.renderers.book import MONEY, PERCENT, QUANTITY, Book, Column, Sheet, sheet
from service.renderers.margins_csv import notes_of

TITLES: Final = {
    "quantity": "Serves", "gross": "Gross", "discount": "Discounts", "complimentary": "Given away",
    "service_charge": "Service", "deposit": "Deposits", "tax": "Tax", "net": "Net sales", "pour_cost": "Pour cost",
    "pour_cost_percent": "Pour cost %", "contribution": "Contribution", "contribution_each": "Contribution each",
    "gross_margin_percent": "Gross margin %", "channel_cost": "Channel costs", "after_channels": "After channels",
    "share_percent": "Share of sales %",
}  # fmt: skip
_FIGURES: Final = tuple(
    Column(name, title, QUANTITY if name == "quantity" else PERCENT if name.endswith("percent") else MONEY)
    for name, title in TITLES.items()
)
_DRINKS: Final = (
    Column("drink", "Drink"), Column("with", "With"), Column("name", "Name"), Column("section", "Section", absent=""),
    Column("menu", "Menu", absent=""), *_FIGURES, Column("in_words", "Class", absent=""),
)  # fmt: skip
_UNDER: Final = (
    Column("drink", "Drink"), Column("with", "With"), Column("net_each", "Net each", MONEY),
    Column("asked_net", "Asked net", MONEY), Column("menu_price", "Menu price", MONEY),
    Column("determined_by", "Target"),
)  # fmt: skip
_BESIDE: Final = (
    Column("drink", "Pour cost by drink"), Column("with", "With"), Column("pour_cost", "First valuation", MONEY),
    Column("pour_cost_beside", "Second valuation", MONEY), Column("difference", "Second less first", MONEY),
)  # fmt: skip
_WASTE: Final = (
    Column("item", "What"), Column("venue", "Venue", absent="(none)"), Column("kind", "Kind"), Column("base", "Unit"),
    Column("batch", "Batch", QUANTITY), Column("life_days", "Life in days", QUANTITY),
    Column("used", "Used", QUANTITY), Column("thrown", "Thrown away", QUANTITY),
    Column("thrown_percent", "Thrown away %", PERCENT), Column("money", "Waste", MONEY),
    Column("each", "Waste of one serve sold", "0.000000"), Column("percent_of_sales", "% of net sales", "0.00"),
)  # fmt: skip
_EFFECTS: Final = (Column("what", "What"), Column("amount", "Amount", MONEY))


def xlsx_of(body: dict[str, Any]) -> bytes:
    """Sheets: notes, drinks, sections, menus, venues, channels, and where there are any, under target and effects."""
    return book_xlsx.xlsx_of(book_of(body))


def book_of(body: dict[str, Any]) -> Book:
    """The answer as sheets."""
    name = body["period"]["name"]
    notes = tuple(notes_of(body))
    valuation, beside = body["meta"]["valuation"], body["beside"]
    if beside is not None:
        valuation = f"{valuation}; beside it {beside['valuation']}"
    return Book("Margins", name, body["currency"], valuation, notes, tuple(_sheets(body)))


def _sheets(body: dict[str, Any]) -> Iterator[Sheet]:
    drinks = [{**row, **row["figures"]} for row in body["drinks"]]
    yield sheet("Drinks", _DRINKS, [*drinks, {"drink": "Total", **body["total"]}], totals=1, frozen=3)
    for kind in ("sections", "menus", "venues", "channels"):
        columns = (Column("id", kind[:-1].capitalize(), absent="(none)"), *_FIGURES)
        rows = [{"id": row["id"], **row["figures"]} for row in body[kind]]
        yield sheet(kind.capitalize(), columns, [*rows, {"id": "Total", **body["total"]}], totals=1)
    if body["under_target"]:
        yield sheet("Under target", _UNDER, body["under_target"])
    if body["beside"] is not None:
        yield beside_sheet(body)
    if body["waste"] is not None:
        yield waste_sheet(body["waste"])
    if body["effects"] is not None:
        yield sheet("Effects", _EFFECTS, _effects(body["effects"], body["period"]["name"]))


def beside_sheet(body: dict[str, Any]) -> Sheet:
    """The pour cost of each drink by two valuations with the difference, and of all."""
    beside = body["beside"]
    total = {
        "drink": "All drinks", "pour_cost": body["total"]["pour_cost"],
        "pour_cost_beside": beside["total"]["pour_cost"], "difference": beside["pour_cost_difference"],
    }  # fmt: skip
    contribution = {
        "drink": "Contribution of all drinks", "pour_cost": body["total"]["contribution"],
        "pour_cost_beside": beside["total"]["contribution"], "difference": beside["contribution_difference"],
    }  # fmt: skip
    return sheet("Two valuations", _BESIDE, [*beside["drinks"], total, contribution], totals=2, frozen=2)


def waste_sheet(waste: dict[str, Any]) -> Sheet:
    """What is thrown away, with the sum and with what of it is known."""
    sums = [
        {
            "item": "Total",
            "money": waste["money"],
            "each": waste["each"],
            "percent_of_sales": waste["percent_of_sales"],
        },
        {"item": "Known of it", "money": waste["money_at_least"]},
    ]
    return sheet("Waste", _WASTE, [*waste.get("rows", ()), *sums], totals=2)


def _effects(effects: dict[str, Any], name: str) -> Iterator[dict[str, Any]]:
    """Why the contribution differs."""
    yield {"what": f"Contribution of {effects['compared_with']}", "amount": effects["before"]}
    for one in ("price", "mix", "volume", "cost"):
        yield {"what": f"{one.capitalize()} effect", "amount": effects[one]}
    yield {"what": f"Contribution of {name}", "amount": effects["after"]}
    for key in effects["left_out"]:
        yield {"what": f"Left out, cost not known: {key}"}
