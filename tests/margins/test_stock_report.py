"""Variances as shown: the parts add up to the whole in money, whatever the currency."""

from decimal import Decimal
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from service.margins.usage import EXPLAINED, ItemUse
from service.report.stock import usage_sections

amount = st.decimals(0, 5000, places=2, allow_nan=False)


@given(
    amount, amount, amount, st.dictionaries(st.sampled_from(EXPLAINED), amount),
    st.decimals(0, 2, places=7, allow_nan=False), st.sampled_from(["EUR", "JPY", "KWD"]),
)  # fmt: skip
def test_explained_and_unexplained_are_the_variance_in_money(
    opening: Decimal, closing: Decimal, sold: Decimal, moved: dict[str, Decimal], value: Decimal, currency: str
) -> None:
    one = ItemUse("gin", opening, moved, closing, sold, value)
    body: Any = usage_sections([(one, None, None)], {"gin": "ml"}, Decimal(1000), currency, False)
    (row,) = body["items"]
    parts = [Decimal(part["variance"]["money"]) for part in row["explained"]]
    assert sum(parts, Decimal(row["unexplained"]["money"])) == Decimal(row["variance"]["money"])
    total = body["total"]
    explained = [Decimal(part) for part in total["explained"].values()]
    assert sum(explained, Decimal(total["unexplained"])) == Decimal(total["variance"])


def test_an_unknown_value_leaves_every_sum_of_money_unknown() -> None:
    known = ItemUse("rum", Decimal(10), {"spill": Decimal(1)}, Decimal(2), Decimal(3), Decimal(1))
    unknown = ItemUse("gin", Decimal(10), {"spill": Decimal(1)}, Decimal(2), Decimal(3), None)
    rows: Any = [(known, Decimal(2), None), (unknown, None, None)]
    body: Any = usage_sections(rows, {"gin": "ml", "rum": "ml"}, Decimal(1000), "EUR", False)
    assert [row["item"] for row in body["items"]] == ["rum", "gin"]
    assert body["items"][1]["variance"] == {"quantity": "5", "money": None, "percent_of_sales": None}
    assert (body["total"]["variance"], body["total"]["explained"]) == (None, {"spill": None})
