"""Written amounts times a factor. Every expectation is arithmetic by hand."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.amounts import Measures, read_amount
from service.errors import InputFault
from service.scaling import parts_in, parts_of_value, scaled_text, scaled_value

TEXTS = ("50 ml", "3/4 oz", "1 1/2 oz", "¾ oz", "2 dashes", "6 drops", "0.4 g", "1 each", "1/3 part", "3 parts",
         "3/4 oz (22.5 ml)", "22.5 ml (3/4 oz)", "1 fl. oz", ".5 cl", "1 l", "1 barspoon")  # fmt: skip


@pytest.mark.parametrize(
    ("text", "factor", "written"),
    [
        ("50 ml", "2", "100 ml"),
        ("3/4 oz", "2", "1.5 oz"),
        ("3/4 oz (22.5 ml)", "2", "1.5 oz (45 ml)"),
        ("1 1/2 oz (45 ml)", "1.5", "2.25 oz (67.5 ml)"),
        ("2 dashes", "0.5", "1 dashes"),
        ("1/3 part", "2", "2/3 part"),
        ("1/3 part", "3", "1 part"),
        ("1/7 oz", "0.5", "1/14 oz"),
        ("0.1 ml", "3", "0.3 ml"),
        ("1 wheel", "2", "2 wheel"),
        ("fill", "2", "fill"),
    ],
)
def test_each_figure_is_multiplied_and_the_word_stays(text: str, factor: str, written: str) -> None:
    assert scaled_text(text, Fraction(factor)) == written


@pytest.mark.parametrize(
    ("value", "factor", "written"), [("3/4", "2", "1.5"), (0.1, "3", "0.3"), (2.0, "2", "4"), ("1/3", "1", "1/3")]
)
def test_a_figure_beside_its_unit_is_multiplied_exactly(value: str | float, factor: str, written: str) -> None:
    # 0.1 is one tenth, as the caller wrote it, and not the double next to it.
    assert scaled_value(value, Fraction(factor)) == written


@given(st.sampled_from(TEXTS), st.decimals(min_value=Decimal("0.01"), max_value=100, places=2, allow_nan=False))
def test_the_scaled_text_reads_as_the_amount_times_the_factor(text: str, factor: Decimal) -> None:
    before = read_amount(text, Measures(), by_mass=False, pieces=())
    after = read_amount(scaled_text(text, Fraction(factor)), Measures(), by_mass=False, pieces=())
    assert after.dimension == before.dimension
    assert float(after.quantity) == pytest.approx(float(before.quantity) * float(factor), rel=1e-12)


def test_a_product_that_cannot_be_written_is_refused_and_not_rounded() -> None:
    # A third of 0.000000000001 has no end, and as a fraction its denominator is far over a million.
    with pytest.raises(InputFault) as caught:
        scaled_text("0.000000000001 ml", Fraction(1, 3))
    assert caught.value.code == "scale_inexact"
    with pytest.raises(InputFault):
        scaled_text("99999999999999999999 ml", Fraction(10))


@pytest.mark.parametrize("text", ["50", "ml", "1,5 ml", "-1 ml"])
def test_what_is_no_amount_is_refused_as_it_is_elsewhere(text: str) -> None:
    with pytest.raises(InputFault) as caught:
        scaled_text(text, Fraction(2))
    with pytest.raises(InputFault) as read:
        read_amount(text, Measures(), by_mass=False, pieces=())
    assert caught.value.code == read.value.code


def test_parts_are_counted_and_nothing_else() -> None:
    assert [parts_in(text) for text in ("2 parts", "1/2 part", "50 ml", "fill", "1 oz (30 ml)")] == [
        2, Fraction(1, 2), 0, 0, 0,
    ]  # fmt: skip
    assert parts_of_value(1.5) == Fraction(3, 2)
