"""POST /v1/margins/usage: what cannot be valued or counted is refused, with its place."""

from collections.abc import Iterator
from typing import Any

import pytest

from tests.api.conftest import Client
from tests.margins.bar import bar, sold

LATE = {"day": "2026-12-24", "units": "5", "size": "1 l", "invoiced": "500.00"}
ASKED: dict[str, Any] = {
    "period": {"month": "2026-11"}, "sales": [sold("neat", 20, "100.00")],
    "opening": [{"item": "gin", "size": "1 l", "units": "2"}],
    "closing": [{"item": "gin", "size": "1 l", "units": "1"}],
}  # fmt: skip


@pytest.fixture(scope="module")
def house() -> Iterator[Client]:
    """The small bar."""
    made = bar()
    yield made
    made.close()


@pytest.mark.parametrize(
    ("change", "pointer", "code"),
    [
        # What came in December is not on the shelf at the end of November: the litre left is worth 20.00.
        ({"stock": [{"item": "gin", "opening_value": "40.00", "purchases": [LATE]}]},
         "/stock/0/purchases/0/day", "delivery_outside"),
        ({"stock": [{"item": "gin", "opening_value": "40.00"}],
          "opening": [{"item": "gin", "size": "1 l", "units": "0"}]}, "/stock/0/opening_value", "opening_missing"),
        ({"period": {"first": "0001-01-01", "last": "0001-01-02"}}, "/period", "period_out_of_range"),
        ({"period": {"first": "9999-12-30", "last": "9999-12-31"}, "roll_counts": True},
         "/period", "period_out_of_range"),
    ],
)  # fmt: skip
def test_what_cannot_be_used_is_refused(house: Client, change: Any, pointer: str, code: str) -> None:
    answer = house.ask("POST", "/v1/margins/usage", json={**ASKED, "valuation": {"method": "fifo"}, **change})
    assert answer.status_code == 422, answer.text
    assert [(row["pointer"], row["code"]) for row in answer.json()["errors"]] == [(pointer, code)]
