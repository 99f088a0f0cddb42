"""Labour that goes into a part, shared out over what is used of it. All sums by hand."""

from typing import Any

import pytest

from tests.asked import Body, answered, body_of, preparation

RATE = {"currency": "EUR", "labour": {"minutes": "0", "rate_per_hour": "60"}}
"""A currency unit for each minute."""


def labour(body: Body) -> Any:
    return answered(body)["cost"]["labour"]


def batch(**more: Any) -> Body:
    """A litre that takes 20 minutes."""
    return preparation([{"item": "water", "amount": "1 l"}], minutes=20, **more)


@pytest.mark.parametrize("serves", [1, 2])
def test_the_labour_of_a_part_that_fills_the_glass_counts(serves: int) -> None:
    # 200 ml less 100 ml of gin: 100 ml of a litre of 20 minutes is 2 minutes in every serve.
    lines = [
        {"item": "gin-london-dry-40", "amount": f"{100 * serves} ml"},
        {"item": "part", "amount": "fill", "role": "top"},
    ]
    body = body_of(lines, preparations=[batch()], pricing=RATE, serve={"glass_ml": 200}, serves=serves)
    # Gin and water draw together by about a twentieth of a tenth: the room is 100 ml within 3 %.
    assert float(labour(body)) == pytest.approx(2.0, abs=0.08)


def test_a_fill_of_unknown_amount_leaves_the_labour_unknown() -> None:
    lines = [{"item": "water", "amount": "50 ml"}, {"item": "part", "amount": "fill", "role": "top"}]
    body = body_of(lines, preparations=[batch()], pricing=RATE, serve={"glass_ml": 200}, method={"kind": "swizzled"})
    found = answered(body)["cost"]
    assert (found["labour"], found["serve_cost"], found["complete"]) == (None, None, False)


def test_each_joint_product_takes_its_share_of_the_labour() -> None:
    outputs = [
        {"id": "juice-part", "amount": "400 ml", "cost_share_percent": "70"},
        {"id": "peel-part", "amount": "50 each", "cost_share_percent": "30"},
    ]
    things = [
        {"id": "juice-part", "name": "Juice", "kind": "juice"},
        {"id": "peel-part", "name": "Peel", "kind": "fruit", "pieces": {"each_g": 2}},
    ]
    lines = [{"item": "juice-part", "amount": "40 ml"}, {"item": "peel-part", "amount": "5 each", "role": "garnish"}]
    body = body_of(lines, preparations=[batch(outputs=outputs)], ingredients=things, pricing=RATE)
    # 14 minutes over 400 ml x 40 ml and 6 minutes over 50 twists x 5.
    assert labour(body) == "2.00"
    syrup = {"id": "syrup", "name": "Syrup", "lines": [{"item": "juice-part", "amount": "200 ml"}], "minutes": 3}
    nested = body_of(
        [{"item": "syrup", "amount": "100 ml"}],
        preparations=[syrup, batch(outputs=outputs)], ingredients=things, pricing=RATE,
    )  # fmt: skip
    # Half of 7 and 3 minutes.
    assert labour(nested) == "5.00"
