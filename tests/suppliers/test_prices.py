"""Prices as written: the decimal mark found out over a column, figures read exactly. Expected figures: arithmetic."""

from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.errors import DataFault, InputFault
from service.suppliers.prices import MarkTally, currency_marks, decided_mark, figure_of, price_of
from service.suppliers.rows import NumberText

READ = [
    ("12,50", ",", "12.50"),
    ("12.50", ".", "12.50"),
    ("1.234,50", ",", "1234.50"),
    ("1,234.50", ".", "1234.50"),
    ("1.234.567", ",", "1234567"),
    ("1.234", ",", "1234"),
    ("1,234", ".", "1234"),
    ("1.234", ".", "1.234"),
    ("1 234,50", ",", "1234.50"),
    ("1'234.50", ".", "1234.50"),
    ("1’234.50", ".", "1234.50"),
    ("7", ",", "7"),
    ("0,125", ",", "0.125"),
    ("0", ".", "0"),
    ("€ 12,50", ",", "12.50"),
    ("12,50 €", ",", "12.50"),
    ("EUR 12.50", ".", "12.50"),
    ("12.50eur", ".", "12.50"),
]

REFUSED = [
    ("12,50", ".", "decimal_mixed"),
    ("12.50", ",", "decimal_mixed"),
    ("1,234.50", ",", "decimal_mixed"),
    ("12,34,56", ".", "thousands_unclear"),
    ("1.23.456,00", ",", "thousands_unclear"),
    ("1 23,50", ",", "thousands_unclear"),
    ("1.234 567,00", ",", "thousands_unclear"),
    ("1234.567,00", ",", "thousands_unclear"),
    ("-12.50", ".", "price_negative"),
    ("12.50-", ".", "price_negative"),
    ("(12.50)", ".", "price_negative"),
    ("12.50 EUR/kg", ".", "price_unreadable"),
    ("from 12.50 EUR", ".", "price_unreadable"),
    ("12.", ".", "price_unreadable"),
    ("1e5", ".", "price_unreadable"),
    ("1.5E+3", ".", "price_unreadable"),
    ("n/a", ".", "price_unreadable"),
    ("12.5.0", ".", "decimal_mixed"),
    ("1_000", ".", "price_unreadable"),
    ("٣.50", ".", "price_unreadable"),
    ("12.1234567890123", ".", "price_unreadable"),
    ("9999999999999", ".", "price_too_large"),
    ("1" * 41, ".", "price_unreadable"),
    ("007", ".", "price_unreadable"),
]


@pytest.mark.parametrize(("text", "mark", "figure"), READ)
def test_a_price_is_read_by_the_mark_of_its_column(text: str, mark: str, figure: str) -> None:
    assert str(price_of(text, mark).figure) == figure  # type: ignore[arg-type]


@pytest.mark.parametrize(("text", "mark", "code"), REFUSED)
def test_a_price_that_is_unclear_is_refused(text: str, mark: str, code: str) -> None:
    with pytest.raises(InputFault) as caught:
        price_of(text, mark)  # type: ignore[arg-type]
    assert caught.value.code == code


def test_three_digits_behind_a_mark_that_was_only_found_out_are_refused() -> None:
    with pytest.raises(InputFault, match="decimal_unclear"):
        price_of("1.234", ".", certain=False)
    assert price_of("1,234", ".", certain=False).figure == 1234


@pytest.mark.parametrize(("text", "figure"), [("12.5", "12.5"), ("1.234", "1.234"), ("300", "300"), ("0.1", "0.1")])
def test_a_number_cell_needs_no_mark(text: str, figure: str) -> None:
    assert price_of(NumberText(text), ",").figure == Decimal(figure)


@pytest.mark.parametrize("text", ["-1", "inf", "nan", "1E+5", "1e400"])
def test_a_number_cell_that_is_no_price_is_refused(text: str) -> None:
    with pytest.raises(InputFault, match="price_"):
        price_of(NumberText(text), ".")


@pytest.mark.parametrize(
    ("text", "code", "belongs"),
    [("$5", "USD", True), ("$5", "EUR", False), ("5 £", "GBP", True), ("5 kr", "NOK", True), ("5 chf", "CHF", True)],
)
def test_a_sign_may_stand_for_its_currencies_alone(text: str, code: str, belongs: bool) -> None:
    assert (code in (price_of(text, ".").currencies or ())) is belongs


@pytest.mark.parametrize(
    ("prices", "mark"),
    [
        (["12,50", "1.234"], ","),
        (["12.50", "1,234"], "."),
        (["1.234.567", "1.234"], ","),
        (["12,50", "13,50", "14.50"], ","),
        (["7", "8", "n/a"], None),
        (["1.234,5"], ","),
        (["0.125"], "."),
        (["1234.567"], "."),
    ],
)
def test_the_mark_of_a_column_is_found_out(prices: list[str], mark: str | None) -> None:
    tally = MarkTally()
    for row, price in enumerate(prices, 2):
        tally.add(price, row)
    assert tally.mark() == mark


@pytest.mark.parametrize(
    ("prices", "code"),
    [(["1.234", "7"], "decimal_unclear"), (["1,234"], "decimal_unclear"), (["1,5", "1.5"], "decimal_mixed")],
)
def test_a_column_that_does_not_tell_its_mark_is_refused(prices: list[str], code: str) -> None:
    tally = MarkTally()
    for row, price in enumerate(prices, 2):
        tally.add(price, row)
    with pytest.raises(InputFault, match="state decimal") as caught:
        tally.mark()
    assert (caught.value.code, caught.value.pointer) == (code, "/decimal")


def test_rates_are_read_by_the_same_marks() -> None:
    assert figure_of("5,5 %", ",") == Decimal("5.5")
    with pytest.raises(InputFault, match="price_unreadable"):
        figure_of("5 EUR", ".")


@given(
    st.decimals(min_value=0, max_value=10**9, places=2), st.sampled_from(".,"), st.sampled_from(["", "'", " ", "other"])
)
def test_what_is_written_is_what_is_read(figure: Decimal, mark: str, thousands: str) -> None:
    """Python writes the figure with its own grouping, which is an independent account of it."""
    group = {"other": "." if mark == "," else ","}.get(thousands, thousands)
    written = f"{figure:,.2f}".replace(",", "\0").replace(".", mark).replace("\0", group)
    assert price_of(written, mark).figure == figure  # type: ignore[arg-type]
    # Two decimals are never three, so one such figure tells the mark.
    assert decided_mark(written.replace("'", "").replace(" ", "")) == mark


def test_a_malformed_table_of_signs_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "marks.toml"
    path.write_text("[sources]\n[[mark]]\nmark = '€'\ncurrencies = ['EUR']\nsource = 'x'\n", "utf-8")
    with pytest.raises(DataFault, match="marks"):
        currency_marks(path)
