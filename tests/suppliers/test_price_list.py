"""A list from its bytes to what each row would change, in every format. Expected figures: arithmetic beside them."""

import csv
import hashlib
import unicodedata
from decimal import Decimal
from io import StringIO
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from schemas.offer import Offer
from schemas.price_list import PriceListReport
from service.errors import InputFault
from service.suppliers.current import CurrentOffer
from service.suppliers.price_list import PriceList, offers_to_write
from tests.suppliers.lists import (
    CSV,
    HEADER,
    ITEMS,
    JSON,
    OFFERS,
    SAMPLES,
    SUPPLIER,
    XLSX,
    codes,
    csv_of,
    doubts,
    one_row,
    options,
    price_list,
    reported,
    xlsx_of,
)  # fmt: skip

XLSX_ROWS: list[list[object]] = [
    ["Brannock Cellars"],
    list(HEADER),
    ["BC-100", 9520410001370, "Gin of the pier", "6x70cl", 1120.5],
    ["BC-101", 9520410004111, "Rum of the pier", "12 x 1 L", 240],
    ["BC-102", "9520410005484", "Sparkling wine", "6 x 75 cl", 57.0],
    ["BC-103", None, "Cider, keg", "1x30L keg", 98.4],
    ["BC-104", None, "Limes", "box of 54", 18.4],
]


def samples() -> dict[str, tuple[bytes, str]]:
    return {
        "semicolon": ((SAMPLES / "semicolon.csv").read_bytes(), CSV),
        "comma": ((SAMPLES / "comma.csv").read_bytes(), CSV + "; charset=utf-8"),
        "json": ((SAMPLES / "rows.json").read_bytes(), JSON),
        "xlsx": (xlsx_of(*XLSX_ROWS), XLSX),
    }


@pytest.mark.parametrize("name", samples())
def test_the_same_list_says_the_same_in_every_format(name: str) -> None:
    found = reported(*samples()[name])
    seen = [
        (row.code, row.outcome, row.offer, row.item, row.new_price and Decimal(row.new_price)) for row in found.rows
    ]
    assert seen == [
        ("BC-100", "up", "bc-gin", "gin", Decimal("1120.50")),
        ("BC-101", "unchanged", "bc-rum", "rum", Decimal(240)),
        ("BC-102", "down", "bc-brut", "brut", Decimal(57)),
        ("BC-103", "unchanged", "bc-cider", "cider", Decimal("98.40")),
        ("BC-104", "new", "bc-bc-104", "lime", Decimal("18.40")),
    ]
    # 20.50 of 1100 is 1.8636 %, -3 of 60 is -5 %.
    assert [row.change_percent for row in found.rows] == ["1.86", "0.00", "-5.00", "0.00", None]
    assert [row.matched_by for row in found.rows] == ["gtin", "gtin", "code", "code", None]
    assert found.committable
    counts = found.counts
    assert (counts.new, counts.up, counts.down, counts.unchanged, counts.refused) == (1, 1, 1, 2, 0)
    pack = found.rows[4].pack
    assert pack is not None
    assert (pack.count, pack.size) == (54, "1 each")


@pytest.mark.parametrize(
    ("name", "read_as"),
    [
        ("semicolon", ("csv", "utf-8", "detected", ";", "detected", ",", "detected", 3)),
        ("comma", ("csv", "utf-8", "detected", ",", "detected", ".", "detected", 1)),
        ("json", ("json", "utf-8", "fixed", None, "fixed", ".", "detected", None)),
        ("xlsx", ("xlsx", "utf-8", "fixed", None, "fixed", None, "detected", 2)),
    ],
)
def test_the_answer_says_how_the_list_was_read(name: str, read_as: tuple[Any, ...]) -> None:
    found = reported(*samples()[name]).read_as
    assert (
        found.format, found.encoding, found.encoding_by, found.delimiter, found.delimiter_by, found.decimal,
        found.decimal_by, found.header_row,
    ) == read_as  # fmt: skip


def test_what_is_stated_is_reported_as_stated() -> None:
    data = (SAMPLES / "semicolon.csv").read_bytes()
    found = reported(data, decimal=",", delimiter=";", encoding="utf-8").read_as
    assert {found.decimal_by, found.delimiter_by, found.encoding_by} == {"stated"}
    assert {row.outcome for row in reported(data, decimal=".").rows} == {"refused"}


def test_the_offers_of_a_committable_list_are_offers() -> None:
    writings = list(offers_to_write(price_list((SAMPLES / "semicolon.csv").read_bytes())))
    # Two of the five rows change nothing and are not written.
    assert [(one.row, one.changes) for one in writings] == [(4, "bc-gin"), (6, "bc-brut"), (8, None)]
    offers = [Offer.model_validate(one.offer) for one in writings]
    gin = offers[0]
    assert (gin.id, gin.supplier, gin.gtin, gin.pack.count, gin.pack.size) == (
        "bc-gin", SUPPLIER, "9520410001370", 6, "70 cl")  # fmt: skip
    assert (gin.price.amount, gin.price.currency, str(gin.valid_from)) == (Decimal("1120.50"), "EUR", "2026-12-01")
    lime = offers[-1]
    assert (lime.id, lime.item, lime.code, lime.gtin, lime.tax_included) == ("bc-bc-104", "lime", "BC-104", None, False)


def test_an_unmatched_article_needs_its_item_and_a_name_only_suggests_one() -> None:
    row = one_row("X-1", "", "Harbour gin, new label", "6x70cl", "90,00")
    assert (row.outcome, codes(row), row.item) == ("refused", ["item_needed"], None)
    assert row.suggested_item is not None
    assert row.suggested_item.id == "gin"
    assert one_row("X-1", "", "Harbour gin", "6x70cl", "90,00", items={"x-1": "gin"}).outcome == "new"
    assert one_row("", "96385074", "Gin", "6x70cl", "90,00", items={"96385074": "gin"}).outcome == "new"
    assert codes(one_row("X-1", "", "Gin", "6x70cl", "90,00", items={"X-1": "no-such-item"})) == ["item_unknown"]


@pytest.mark.parametrize(
    ("cells", "code"),
    [
        (("", "", "Gin", "6x70cl", "90,00"), "article_unmarked"),
        (("BC-100", "9520410001371", "Gin", "6x70cl", "1100,00"), "gtin_check_digit"),
        (("BC-100", "", "Gin", "", "1100,00"), "pack_missing"),
        (("BC-100", "", "Gin", "6 70", "1100,00"), "pack_ambiguous"),
        (("BC-100", "", "Gin", "6x70cl", ""), "price_missing"),
        (("BC-100", "", "Gin", "6x70cl", "£1100,00"), "currency_differs"),
        (("BC-100", "", "Gin", "6x70cl", "1100,00 USD"), "currency_differs"),
        (("BC-100", "", "Gin", "6x70cl", "-1100,00"), "price_negative"),
        (("BC-100", "", "Gin\x00", "6x70cl", "1100,00"), "text_character"),
        (("BC-100", "", "Gin\u202e", "6x70cl", "1100,00"), "text_character"),
        (("BC-100", "", "\u115f", "6x70cl", "1100,00"), "text_character"),
        (("BC-100", "", "Gin\ufffd", "6x70cl", "1100,00"), "text_character"),
        (("BC-100", "", "Gin" * 400, "6x70cl", "1100,00"), "cell_too_long"),
        (("BC-" + "1" * 200, "", "Gin", "6x70cl", "1100,00"), "code_too_long"),
        (("BC-100", "", "Gin", "6x70cl"), "row_width"),
        (("BC-100", "", "Gin", "6x70cl", "1100", "00"), "row_width"),
        (HEADER, "header_repeated"),
        (("", "", "", "", "EUR"), "article_unmarked"),
        (("BC-104", "", "Verbena", "bunch", "2,00"), "bunch_unknown"),
        (("X-9", "", "Verbena", "box of 20", "9,00"), "pieces_unknown"),
    ],
)
def test_a_row_is_refused_with_its_reason(cells: tuple[str, ...], code: str) -> None:
    row = one_row(*cells, decimal=",", items={"BC-104": "verbena", "X-9": "verbena"})
    assert row.outcome == "refused"
    assert code in codes(row)
    found = reported(csv_of(cells, ("BC-103", "", "Cider", "30 l keg", "98,40")), decimal=",")
    assert not found.committable


def test_all_that_is_wrong_with_a_row_is_told_at_once() -> None:
    row = one_row("BC-100", "9520410001371", "Gin", "6 70", "£1,5")
    assert codes(row) == ["gtin_check_digit", "pack_ambiguous", "currency_differs"]


def test_an_offer_in_another_currency_is_not_changed() -> None:
    row = one_row("BC-100", "", "Gin", "6x70cl", "1100.00", currency="GBP")
    assert codes(row) == ["currency_changed"]


def test_an_offer_whose_own_pack_cannot_be_read_refuses_its_row() -> None:
    for size, code in (("2 limes", "unit_unknown"), ("2 parts", "pack_size")):
        held = CurrentOffer("a", "gin", "A", None, None, 1, size, Decimal(1), "EUR")
        found = reported(csv_of(("A", "", "Gin", "70 cl", "1,00")), offers=[held])
        assert codes(found.rows[0]) == [code]


def test_an_empty_list_writes_nothing() -> None:
    with pytest.raises(InputFault, match="no row that could be taken in"):
        list(offers_to_write(price_list(csv_of())))


def test_names_of_the_offers_suggest_where_no_others_are_given() -> None:
    data = csv_of(("X-1", "", "RUM, new label", "70 cl", "1,00"))
    (found,) = PriceList(data, CSV, options(), OFFERS, ITEMS.get).judged()
    assert found.suggestion is not None
    assert (found.suggestion.id, found.outcome) == ("rum", "refused")


def test_a_bunch_is_written_as_its_grams() -> None:
    row = one_row("M-1", "", "Mint", "10 bunches", "12,50", items={"M-1": "mint"})
    assert row.pack is not None
    assert (row.outcome, row.pack.count, row.pack.size) == ("new", 10, "40 g")


def test_a_code_or_gtin_that_stands_twice_refuses_each_of_its_rows() -> None:
    found = reported(csv_of(
        ("BC-100", "", "Gin", "6x70cl", "1100,00"),
        ("BC-103", "", "Cider", "30 l", "98,40"),
        ("bc-100", "", "Gin", "6x70cl", "1100,00"),
        ("X-1", "96385074", "Gin", "6x70cl", "90,00"),
        ("X-2", "00000096385074", "Gin", "6x70cl", "90,00"),
    ), items={"X-1": "gin", "X-2": "gin"})  # fmt: skip
    assert [row.outcome for row in found.rows] == ["refused", "unchanged", "refused", "refused", "refused"]
    assert [row.reasons[0].detail for row in found.rows if row.reasons] == [
        "The same code stands in row 4.", "The same code stands in row 2.", "The same GTIN stands in row 6.",
        "The same GTIN stands in row 5.",
    ]  # fmt: skip
    left = reported(
        csv_of(("BC-100", "", "Gin", "6x70cl", "1100,00"), ("bc-100", "", "Gin", "6x70cl", "1,00")), leave_out=[3]
    )
    assert [row.outcome for row in left.rows] == ["unchanged", "left_out"]
    assert left.committable


def test_two_rows_about_one_offer_are_refused() -> None:
    found = reported(csv_of(
        ("", "9520410001370", "Gin", "6x70cl", "1100,00"), ("BC-100", "", "Gin", "6x70cl", "1100,00")
    ))  # fmt: skip
    assert codes(found.rows[1]) == ["duplicate"]
    assert "Row 2" in found.rows[1].reasons[0].detail
    assert not found.committable


def test_a_doubtful_row_must_be_confirmed_by_its_number() -> None:
    # 1100 / 6 = 183.33: the price of a bottle for the case.
    data = csv_of(("BC-100", "", "Gin", "6x70cl", "183,33"), ("BC-103", "", "Cider", "30 l", "98,40"))
    found = reported(data)
    assert doubts(found.rows[0]) == ["near_pack_count", "over_limit"]
    assert (found.committable, found.counts.to_confirm, found.rows[0].confirmed) == (False, 1, False)
    with pytest.raises(InputFault, match="Row 2 is refused or not confirmed"):
        list(offers_to_write(price_list(data)))
    assert not reported(data, confirm=[3]).committable
    confirmed = reported(data, confirm=[2])
    assert (confirmed.committable, confirmed.rows[0].confirmed, confirmed.counts.to_confirm) == (True, True, 0)
    assert [one.row for one in offers_to_write(price_list(data, confirm=[2]))] == [2]


def test_what_was_confirmed_belongs_to_one_file() -> None:
    data = csv_of(("BC-100", "", "Gin", "6x70cl", "183,33"))
    digest = reported(data).sha256
    assert digest == hashlib.sha256(data).hexdigest()
    assert reported(data, confirm=[2], sha256=digest).committable
    with pytest.raises(InputFault, match="file_changed at '/sha256'"):
        reported(data + b"\n", confirm=[2], sha256=digest)


def test_a_refused_row_cannot_be_confirmed_only_left_out() -> None:
    data = csv_of(("BC-100", "", "Gin", "6 70", "1100,00"), ("BC-103", "", "Cider", "30 l", "98,40"))
    assert not reported(data, confirm=[2]).committable
    assert reported(data, leave_out=[2]).committable
    assert not reported(data, leave_out=[2, 3]).committable


def test_another_gtin_of_the_same_code_must_be_confirmed() -> None:
    row = one_row("BC-100", "96385074", "Gin", "6x70cl", "1100,00")
    assert (row.outcome, doubts(row)) == ("unchanged", ["gtin_changed"])
    row = one_row("BC-999", "9520410001370", "Gin", "6x70cl", "1100,00")
    assert (row.outcome, doubts(row)) == ("unchanged", ["code_changed"])


WIDE = {
    "code": "c", "item": "i", "pack_count": "n", "size": "s", "unit": "u", "price": "p", "currency": "cur",
    "tax_included": "ti", "tax_rate_percent": "tr", "valid_from": "from",
}  # fmt: skip


def wide(*cells: str, **changed: Any) -> Any:
    data = csv_of(cells, header=tuple(WIDE.values()))
    (row,) = reported(data, mapping=WIDE, **changed).rows
    return row, data, changed


def test_every_column_is_read() -> None:
    row, data, _ = wide("N-1", "gin", "6", "700", "ml", "121,00", "eur", "yes", "21 %", "2027-01-01")
    assert (row.outcome, row.item, row.pack.count, row.pack.size) == ("new", "gin", 6, "700 ml")
    (writing,) = offers_to_write(price_list(data, mapping=WIDE))
    offer = Offer.model_validate(writing.offer)
    assert (offer.tax_included, offer.tax_rate_percent, str(offer.valid_from)) == (True, Decimal(21), "2027-01-01")


@pytest.mark.parametrize(
    ("place", "cell", "code"),
    [(1, "Gin!", "item_id"), (2, "0", "pack_count"), (2, "1.5", "pack_count"), (2, "10001", "pack_count"),
     (3, "", "pack_missing"), (4, "gal", "pack_ambiguous"), (6, "USD", "currency_differs"),
     (7, "perhaps", "tax_included_unreadable"), (8, "", "tax_rate_missing"), (8, "2000", "tax_rate_unreadable"),
     (9, "01/02/2027", "day_unreadable"), (9, "2027-02-30", "day_unreadable")],
)  # fmt: skip
def test_a_column_that_cannot_be_read_refuses_the_row(place: int, cell: str, code: str) -> None:
    cells = ["N-1", "gin", "6", "700", "ml", "121,00", "EUR", "yes", "21", "2027-01-01"]
    cells[place] = cell
    row, _, _ = wide(*cells)
    assert code in codes(row)


def test_a_count_that_contradicts_the_pack_is_refused() -> None:
    mapping = {"code": "c", "pack": "k", "pack_count": "n", "price": "p"}

    def read(pack: str, count: str) -> Any:
        data = csv_of(("BC-100", pack, count, "1100,00"), header=("c", "k", "n", "p"))
        return reported(data, mapping=mapping).rows[0]

    assert read("70 cl", "6").outcome == "unchanged"
    assert read("6 x 70 cl", "6").outcome == "unchanged"
    assert codes(read("12 x 70 cl", "6")) == ["pack_contradicts"]


def test_the_item_of_a_row_must_be_that_of_its_offer() -> None:
    row, _, _ = wide("BC-100", "rum", "6", "700", "ml", "1100,00", "", "", "", "")
    assert codes(row) == ["item_differs"]


@pytest.mark.parametrize("place", range(100))
def test_one_bad_row_at_any_place_holds_all_back_and_is_named(place: int) -> None:
    rows = [[f"N-{number}", "", "Gin", "6x70cl", "90,00"] for number in range(100)]
    rows[place][4] = "ninety"
    items = {f"N-{number}": "gin" for number in range(100)}
    found = reported(csv_of(*rows), items=items)
    # The header is row 1.
    assert [row.row for row in found.rows if row.outcome == "refused"] == [place + 2]
    assert not found.committable
    with pytest.raises(InputFault, match=f"Row {place + 2} is refused"):
        list(offers_to_write(price_list(csv_of(*rows), items=items)))


def test_new_ids_do_not_meet_those_that_are_taken() -> None:
    data = csv_of(("A/1", "", "Gin", "6x70cl", "90,00"), ("A-1", "", "Gin", "6x70cl", "90,00"))
    found: PriceListReport = reported(data, items={"A/1": "gin", "A-1": "gin"})
    assert len({row.offer for row in found.rows}) == 2
    assert "bc-a-1" in {row.offer for row in found.rows}


def test_another_media_type_or_currency_is_refused() -> None:
    with pytest.raises(InputFault, match="media_type"):
        price_list(b"", "application/pdf")
    with pytest.raises(InputFault, match="currency_unknown at '/currency'"):
        price_list(b"", CSV, currency="XXX")


@pytest.mark.parametrize(
    "changed",
    [
        {"mapping": {"pack": "k", "price": "p"}},
        {"mapping": {"code": "c", "price": "p"}},
        {"mapping": {"code": "c", "pack": "k", "size": "s", "price": "p"}},
        {"mapping": {"code": "c", "pack": "k", "unit": "u", "price": "p"}},
        {"mapping": {"code": "c", "pack": "C", "price": "p"}},
        {"tax_included": True},
        {"confirm": "all"},
        {"change_limit_percent": "0"},
        {"delimiter": "|"},
    ],
)
def test_options_that_do_not_hold_together_are_refused(changed: dict[str, Any]) -> None:
    with pytest.raises(ValueError, match="validation error"):
        options(**changed)


def test_a_percentage_limit_is_the_callers() -> None:
    assert options().change_limit_percent == 25
    data = csv_of(("BC-100", "", "Gin", "6x70cl", "1160,00"))
    # 60 of 1100 is 5.45 %.
    assert doubts(reported(data).rows[0]) == []
    assert doubts(reported(data, change_limit_percent="5").rows[0]) == ["over_limit"]


INVISIBLE = "\u034f\u115f\u1160\u17b4\u17b5\u180b\u180c\u180d\u3164\uffa0\ufffc\ufffd"
"""Letters and marks by their category that show nothing, or stand for what was lost; they are refused."""

cell_text = st.text(
    st.characters(codec="utf-8", exclude_categories=("C", "Z"), exclude_characters=INVISIBLE), min_size=1, max_size=20
)
written_rows = st.lists(
    st.tuples(cell_text, cell_text, st.decimals(min_value=0, max_value=9999, places=2)), min_size=1, max_size=8,
    unique_by=lambda row: row[0].casefold(),
)  # fmt: skip


@settings(deadline=None)
@given(written_rows, st.sampled_from(",;\t"))
def test_what_is_exported_reads_the_same(rows: list[tuple[str, str, Decimal]], delimiter: str) -> None:
    """Names and codes of any letters and signs, formulas of a spreadsheet too, come back as they were written."""
    out = StringIO()
    writer = csv.writer(out, delimiter=delimiter)
    writer.writerow(HEADER)
    for code, name, price in rows:
        writer.writerow([code, "", name, "6x70cl", str(price)])
    found = reported(out.getvalue().encode(), decimal=".")
    expected = [
        (unicodedata.normalize("NFC", code), unicodedata.normalize("NFC", name), format(price, "f"))
        for code, name, price in rows
    ]
    assert [(row.code, row.name, row.new_price) for row in found.rows] == expected
