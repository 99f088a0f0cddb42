"""How effects become a band, against the examples of the guide itself."""

import doctest

import pytest

from service import uncertainty
from service.uncertainty import combined, effect, shares_percent, standard_uncertainty


def test_the_examples_in_the_words_are_true() -> None:
    failed, tried = doctest.testmod(uncertainty)
    assert failed == 0
    assert tried >= 4


def test_a_rectangular_half_width_as_the_guide_has_it() -> None:
    # JCGM 100:2008, 4.3.7, example 1: a coefficient of 16.52e-6 per K that is off by at most 0.40e-6 has u = 0.23e-6.
    assert standard_uncertainty(0.40, "rectangular") == pytest.approx(0.23, abs=0.005)


def test_effects_add_by_squares_as_in_the_end_gauge_of_the_guide() -> None:
    # JCGM 100:2008, H.1.4: 25, 9.7, 2.9 and 16.6 nm make 32 nm.
    assert combined([25.0, 9.7, 2.9, 16.6]) == pytest.approx(32.0, abs=0.5)


def test_no_effects_make_no_width_and_no_shares() -> None:
    assert combined([]) == 0.0
    assert shares_percent([0.0, 0.0]) == (0.0, 0.0)


def test_shares_are_of_the_squares_and_make_100() -> None:
    # 25^2 / (25^2 + 9.7^2 + 2.9^2 + 16.6^2) = 625 / 1003.06, arithmetic.
    found = shares_percent([25.0, 9.7, 2.9, -16.6])
    assert found[0] == pytest.approx(62.309, abs=0.001)
    assert sum(found) == pytest.approx(100.0)


@pytest.mark.parametrize(
    ("low", "high", "expected"), [(9.0, 12.0, 1.5), (None, 12.0, 2.0), (9.0, None, 1.0), (None, None, None)]
)
def test_one_side_stands_for_both_where_the_other_cannot_be(low: float, high: float, expected: float) -> None:
    assert effect(10.0, low, high) == expected
