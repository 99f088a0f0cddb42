"""The books as CSV (RFC 4180): one row a drink, then groups and the total; no cell can become a live formula."""

import csv
from collections.abc import Iterator
from io import StringIO
from typing import Any, Final

from service.renderers.book import inert, meta_notes, missing_notes

COLUMNS: Final = (
    "quantity", "gross", "discount", "complimentary", "service_charge", "deposit", "tax", "net", "pour_cost",
    "pour_cost_percent", "contribution", "contribution_each", "gross_margin_percent", "channel_cost", "after_channels",
    "share_percent",
)  # fmt: skip

WASTE: Final = (
    "venue", "base", "batch", "life_days", "used", "thrown", "thrown_percent", "waste", "waste_each",
    "waste_percent_of_sales",
)  # fmt: skip
"""Columns of the rows of waste, which have no figure in those of the others."""


def csv_of(body: dict[str, Any]) -> bytes:
    """The books of a period, UTF-8 with a byte order mark, by which spreadsheets know it; what is not known is blank.

    Figures are those of the JSON answer, unchanged; the last rows say what they rest on.
    """
    out = StringIO(newline="")
    writer = csv.writer(out)
    head = ["kind", "id", "modifiers", "name", "section", "menu", "currency", *COLUMNS, "class", "menu_price_to_target"]
    writer.writerow([*head, *WASTE])
    for row in _rows(body):
        writer.writerow([*row, *[""] * (len(head) + len(WASTE) - len(row))])
    return b"\xef\xbb\xbf" + out.getvalue().encode("utf-8")


def _rows(body: dict[str, Any]) -> Iterator[list[str]]:
    back = {(row["drink"], *row["with"]): row["menu_price"] for row in body["under_target"]}
    currency = body["currency"]
    for row in body["drinks"]:
        key = (row["drink"], *row["with"])
        about = [row["drink"], " ".join(row["with"]), row["name"], row["section"] or "", row["menu"] or ""]
        cells = ["drink", *(inert(one) for one in about), currency, *_figures(row["figures"])]
        yield [*cells, row["in_words"] or "", back.get(key, "")]
    for kind in ("sections", "menus", "venues", "channels"):
        for row in body[kind]:
            yield [kind[:-1], inert(row["id"] or ""), "", "", "", "", currency, *_figures(row["figures"]), "", ""]
    yield ["total", "", "", "", "", "", currency, *_figures(body["total"]), "", ""]
    if body["beside"] is not None:
        yield from _beside(body["beside"], currency)
    if body["waste"] is not None:
        yield from _waste(body["waste"], currency)
    for name, text in notes_of(body):
        yield ["note", name, "", inert(text)]


def _beside(beside: dict[str, Any], currency: str) -> Iterator[list[str]]:
    """Costs by the second valuation, and the second less the first."""
    for row in beside["drinks"]:
        about = [inert(row["drink"]), inert(" ".join(row["with"])), "", "", "", currency]
        for kind, name in (("drink, second valuation", "pour_cost_beside"), ("drink, second less first", "difference")):
            yield [kind, *about, *_some({"pour_cost": row[name]})]
    difference = {name: beside[f"{name}_difference"] for name in ("pour_cost", "contribution")}
    for kind, figures in (("total, second valuation", beside["total"]), ("total, second less first", difference)):
        yield [kind, "", "", "", "", "", currency, *_some(figures)]


def _waste(waste: dict[str, Any], currency: str) -> Iterator[list[str]]:
    """What is thrown away, in columns of its own: it is in no pour cost."""
    for row in waste.get("rows", ()):
        texts = [inert(row["venue"] or ""), inert(row["base"])]
        figures = [row[name] for name in ("batch", "life_days", "used", "thrown", "thrown_percent", "money")]
        shown = ["" if one is None else str(one) for one in figures]
        about = [inert(row["item"]), "", inert(row["kind"]), "", "", currency]
        yield ["waste", *about, *_some({}), *texts, *shown]
    sums = {
        "waste in all": (waste["money"], waste["each"], waste["percent_of_sales"]),
        "waste known": (waste["money_at_least"], None, None),
    }
    for kind, row in sums.items():
        yield [kind, "", "", "", "", "", currency, *_some({}), *[""] * (len(WASTE) - 3), *(one or "" for one in row)]


def _some(figures: dict[str, Any]) -> list[str]:
    return [*(figures.get(name) or "" for name in COLUMNS), "", ""]


def _figures(figures: dict[str, Any]) -> list[str]:
    return ["" if figures[name] is None else str(figures[name]) for name in COLUMNS]


def notes_of(body: dict[str, Any]) -> list[tuple[str, str]]:
    """What stands on every sheet: the period, what the figures rest on, what is missing."""
    period = body["period"]
    rows = [
        ("period", f"{period['name']}: trading days {period['first']} to {period['last']}"),
        *meta_notes(body),
        ("rows", f"{body['rows']} counted, {body['rows_outside']} of other days left out"),
        ("margin", "net sales less pour cost, in percent of net sales: no tax, discount, gift, service or deposit"),
        ("channels", "commission, fees and packaging stand beside the margin and are in none of it"),
        ("classes", "sells well: 70 % of an equal share or more; earns well: the mean contribution or more "
         "(Kasavana and Smith 1982)"),
    ]  # fmt: skip
    if body["beside"] is not None:
        rows.append(("second valuation", body["beside"]["valuation"]))
    listed = dict.fromkeys((*body["at_list"], *(body["beside"] or {"at_list": ()})["at_list"]))
    rows += [("at list price, since no stock of it is stated", item) for item in listed]
    if body["waste"] is not None:
        rows += [
            ("waste", "thrown away before it is used: a cost line of its own, in no pour cost and no margin"),
            ("waste assumes", body["waste"]["assumes"]),
        ]
        if "rows" not in body["waste"]:
            rows.append(("waste by thing", "only for keys that may see supplier prices (costs:read); here the sums"))
        lacking = body["waste"]["missing"]
        rows += [("not known of the waste", f"{one['drink']}: {one['item']}, {one['field']}") for one in lacking]
    return [*rows, *missing_notes(body["missing"])]
