"""Lawful rounding against published tables and roundings, and on the ties of the law."""

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service import lawful
from service.ruleentry import Band
from tests.campaign import DERANDOMIZED
from tests.campaign import EXAMPLES as TRIED
from tests.held import US_FLUID_OUNCE_ML, cases, held


def rounding_band(raw: dict[str, Any]) -> Band:
    lower, upper = (Decimal(raw[key]) if key in raw else None for key in ("lt", "le"))
    return Band(lt=lower, le=upper, step=Decimal(raw["step"]))


@pytest.mark.parametrize("case", cases("rounding"))
def test_published_roundings(case: dict[str, Any]) -> None:
    figure = float(case["figure"]) if "figure" in case else float(case["figure_ml"]) / US_FLUID_OUNCE_ML
    if "table" in case:
        places = {"eu_guidance_2012": "EU", "us_21cfr101_9": "US", "fsanz": "AU"}
        table = held(places[case["table"]]).nutrition
        assert table is not None
        row = next(row for row in table.row if row.nutrient == case["nutrient"])
        shown = lawful.rounded(figure, row.bands, row.unit, row.less_than)
    else:
        bands = [rounding_band(band) for band in case["bands"]]
        shown = lawful.rounded(figure, bands, case["unit"])
    assert shown.text in case["one_of"]


def test_half_up_on_decimals_and_not_on_floats() -> None:
    # 330 ml of 5 % is published as 1.7 units and 250 ml of 13 % as 3.3; half even on floats says less.
    assert lawful.nearest_multiple(lawful.lawful_decimal(330 * 5 / 1000), Decimal("0.1")) == Decimal("1.7")
    assert lawful.nearest_multiple(lawful.lawful_decimal(250 * 13 / 1000), Decimal("0.1")) == Decimal("3.3")


@given(st.floats(min_value=0, max_value=1e5), st.sampled_from(["EU", "US", "AU"]), st.integers(0, 20))
@settings(max_examples=TRIED, derandomize=DERANDOMIZED, deadline=None)
def test_rounding_stays_within_half_a_step_and_repeats(figure: float, code: str, index: int) -> None:
    table = held(code).nutrition
    assert table is not None
    row = table.row[index % len(table.row)]
    shown = lawful.rounded(figure, row.bands, row.unit)
    if shown.value:
        steps = [
            band.step or Decimal(10) ** (shown.value.adjusted() - 2) for band in row.bands if band.step or band.figures
        ]
        assert abs(shown.value - Decimal(repr(figure))) <= max(steps) / 2 + shown.value * Decimal("1e-8")
        assert lawful.rounded(shown.value, row.bands, row.unit) == shown


@pytest.mark.parametrize("figure", [float("nan"), float("inf"), -1.0])
def test_what_is_no_figure_is_not_rounded(figure: float) -> None:
    with pytest.raises(ValueError, match="lawful figure"):
        lawful.rounded(figure, [Band(step=Decimal(1))])


@given(st.floats(min_value=1e-9, max_value=1e9))
@settings(max_examples=TRIED, derandomize=DERANDOMIZED, deadline=None)
def test_a_lawful_decimal_is_within_nine_digits(figure: float) -> None:
    exact = lawful.lawful_decimal(figure)
    assert abs(exact - Decimal(figure)) <= Decimal(figure) * Decimal("5.01e-9")
    assert len(exact.normalize().as_tuple().digits) <= 9


@settings(max_examples=TRIED, derandomize=DERANDOMIZED, deadline=None)
@given(
    st.one_of(
        st.floats(0, 5000, allow_nan=False),
        st.decimals(0, 500, places=3).map(float),
        st.decimals(0, 500, places=1).map(lambda figure: float(figure) + 0.05),
    ),
    st.sampled_from(("EU", "US", "AU", "GB")),
)
def test_the_quick_way_of_rounding_is_the_exact_one(figure: float, code: str) -> None:
    table = held(code).nutrition
    for row in table.row if table is not None else ():
        exact = lawful.rounded(Decimal(repr(figure)), row.bands, row.unit, row.less_than)
        assert lawful.rounded(figure, row.bands, row.unit, row.less_than) == exact
