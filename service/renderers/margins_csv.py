"""The books as CSV (RFC 4180): one row a drink, then groups and the total; no cell can become a live formula."""

import csv
from collections.abc import Iterator
from io import StringIO
from typing import Any, Final

COLUMNS: Final = (
    "quantity", "gross", "discount", "complimentary", "service_charge", "deposit", "tax", "net", "pour_cost",
    "pour_cost_percent", "contribution", "contribution_each", "gross_margin_percent", "channel_cost", "after_channels",
    "share_percent",
)  # fmt: skip

_LIVE: Final = ("=", "+", "-", "@", "\t", "\r", "\n", "|", "%")
"""First characters by which spreadsheets take a cell for a formula or a command."""


def inert(text: str) -> str:
    """Text that no spreadsheet runs: an apostrophe stands before a first character that would make it live.

    >>> inert("=1+1"), inert("Fog Signal"), inert(" @x")
    ("'=1+1", 'Fog Signal', "' @x")
    """
    return "'" + text if text.lstrip(" \u00a0\u3000").startswith(_LIVE) else text


def csv_of(body: dict[str, Any]) -> bytes:
    """The books of a period, UTF-8 with a byte order mark, by which spreadsheets know it; what is not known is blank.

    Figures are those of the JSON answer, unchanged; the last rows say what they rest on.
    """
    out = StringIO(newline="")
    writer = csv.writer(out)
    head = ["kind", "id", "modifiers", "name", "section", "menu", "currency", *COLUMNS, "class", "menu_price_to_target"]
    writer.writerow(head)
    for row in _rows(body):
        writer.writerow(row)
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
    for name, text in notes_of(body):
        yield ["note", name, "", inert(text)]


def _figures(figures: dict[str, Any]) -> list[str]:
    return ["" if figures[name] is None else str(figures[name]) for name in COLUMNS]


def notes_of(body: dict[str, Any]) -> list[tuple[str, str]]:
    """What stands on every sheet: the period, what the figures rest on, what is missing."""
    meta, period = body["meta"], body["period"]
    rows = [
        ("period", f"{period['name']}: trading days {period['first']} to {period['last']}"),
        ("currency", body["currency"]),
        ("venue", meta["venue"] or "the group"),
        ("valuation", meta["valuation"]),
        ("as of", meta["as_of"]),
        ("rules version", meta["rules_version"]),
        ("data version", str(meta["data_version"])),
        ("cost version", str(meta["cost_version"])),
        ("rows", f"{body['rows']} counted, {body['rows_outside']} of other days left out"),
        ("margin", "net sales less pour cost, in percent of net sales: no tax, discount, gift, service or deposit"),
        ("channels", "commission, fees and packaging stand beside the margin and are in none of it"),
        ("classes", "sells well: 70 % of an equal share or more; earns well: the mean contribution or more "
         "(Kasavana and Smith 1982)"),
    ]  # fmt: skip
    rows += [("missing", f"{one['drink']}: {one['item']}, {one['field']}") for one in body["missing"]]
    if not body["missing"]:
        rows.append(("missing", "nothing"))
    return rows
