"""An invented supplier, its offers and its list in every format, for tests of price lists."""

from collections.abc import Iterable, Sequence
from decimal import Decimal
from io import BytesIO
from pathlib import Path
from typing import Any

from openpyxl import Workbook

from schemas.price_list import PriceListOptions, PriceListReport, PriceListRow
from service.suppliers.current import CurrentOffer
from service.suppliers.itemfacts import ItemFacts
from service.suppliers.price_list import PriceList
from service.suppliers.reporting import report

SAMPLES = Path(__file__).parent / "samples"
CSV = "text/csv"
JSON = "application/json"
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
SUPPLIER = "Brannock Cellars"

HEADER = ("Art.no", "EAN", "Article", "Content", "Net price")
MAPPING = {"code": "Art.no", "gtin": "EAN", "name": "Article", "pack": "Content", "price": "Net price"}

OFFERS = (
    CurrentOffer("bc-gin", "gin", "BC-100", "9520410001370", "Gin", 6, "700 ml", Decimal("1100.00"), "EUR"),
    CurrentOffer("bc-rum", "rum", None, "9520410004111", "Rum", 12, "1 l", Decimal("240.00"), "EUR"),
    CurrentOffer("bc-brut", "brut", "BC-102", None, "Brut", 6, "750 ml", Decimal("60.00"), "EUR"),
    CurrentOffer("bc-cider", "cider", "bc-103", None, "Cider", 1, "30 l", Decimal("98.40"), "EUR"),
)

BY_MEASURE = ItemFacts(frozenset(("ml", "g")))
BY_PIECE = ItemFacts(frozenset(("ml", "g", "each")))
ITEMS = {
    "gin": BY_MEASURE,
    "rum": BY_MEASURE,
    "brut": BY_MEASURE,
    "cider": BY_MEASURE,
    "lime": BY_PIECE,
    "verbena": BY_MEASURE,
    "mint": ItemFacts(frozenset(("ml", "g")), Decimal(40)),
}


def options(**changed: Any) -> PriceListOptions:
    """The options of the supplier, with some of them changed."""
    stated = {
        "supplier": SUPPLIER,
        "offer_prefix": "bc",
        "currency": "EUR",
        "mapping": MAPPING,
        "valid_from": "2026-12-01",
        "items": {"BC-104": "lime"},
    }
    return PriceListOptions.model_validate({**stated, **changed})


def price_list(
    data: bytes, media_type: str = CSV, offers: Iterable[CurrentOffer] = OFFERS, **changed: Any
) -> PriceList:
    names = {"gin": "Harbour gin", "rum": "Dark rum", "lime": "Lime", "mint": "Mint"}
    return PriceList(data, media_type, options(**changed), offers, ITEMS.get, names)


def reported(
    data: bytes, media_type: str = CSV, offers: Iterable[CurrentOffer] = OFFERS, **changed: Any
) -> PriceListReport:
    return report(price_list(data, media_type, offers, **changed))


def csv_of(*rows: Sequence[str], header: Sequence[str] = HEADER, delimiter: str = ";") -> bytes:
    """Rows as CSV without quotes."""
    return "\n".join(delimiter.join(row) for row in (header, *rows)).encode()


def one_row(*cells: str, **changed: Any) -> PriceListRow:
    """The report of a list with one row."""
    (row,) = reported(csv_of(cells), **changed).rows
    return row


def xlsx_of(*rows: Sequence[object], title: str = "List") -> bytes:
    """Rows as a workbook, header included."""
    book = Workbook()
    sheet = book.active
    sheet.title = title
    for row in rows:
        sheet.append(list(row))
    out = BytesIO()
    book.save(out)
    return out.getvalue()


def codes(row: PriceListRow) -> list[str]:
    return [reason.code for reason in row.reasons]


def doubts(row: PriceListRow) -> list[str]:
    return [reason.code for reason in row.must_confirm]
