"""Display rounding: to two decimals, or to four digits where that is finer; figures by hand."""

from decimal import ROUND_HALF_UP, Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.report.figures import missing_rows, shown
from tests.campaign import DERANDOMIZED, EXAMPLES


@pytest.mark.parametrize(
    ("figure", "expected"),
    [
        (None, None),
        (0.0, 0.0),
        (-0.0, 0.0),
        (138.0731, 138.07),
        (0.041234, 0.04123),
        (0.0000123456, 0.00001235),
        (99.999, 100.0),
    ],
)
def test_shown(figure: float | None, expected: float | None) -> None:
    found = shown(figure)
    assert found == expected
    assert str(found) != "-0.0"


def test_missing_rows_name_each_gap_once() -> None:
    assert missing_rows((("a", "x"), ("b", "x"), ("a", "x"))) == [
        {"item": "a", "field": "x"},
        {"item": "b", "field": "x"},
    ]


@pytest.mark.parametrize(
    ("figure", "decimals", "digits", "expected"),
    [(76.68, 1, 4, 76.7), (1.33649, 4, 4, 1.3365), (34.34, 1, 2, 34.3), (0.4567, 1, 2, 0.46),
     (1e12 + 0.26, 1, 4, 1e12 + 0.3)],
)  # fmt: skip
def test_places_and_digits_may_be_asked_for(figure: float, decimals: int, digits: int, expected: float) -> None:
    assert shown(figure, decimals, digits) == expected


@settings(max_examples=EXAMPLES, derandomize=DERANDOMIZED, deadline=None)
@given(st.floats(1.0, 1e8))
def test_a_shown_figure_is_within_half_a_place_and_short(figure: float) -> None:
    found = shown(figure)
    assert found is not None
    assert abs(Decimal(found) - Decimal(figure)) <= Decimal("0.005000001")
    assert Decimal(repr(found)) == Decimal(repr(found)).quantize(Decimal("0.01"), rounding=ROUND_HALF_UP)
