"""Each row of the trace stands at a figure of the answer and comes to that figure."""

from decimal import ROUND_HALF_UP, Decimal
from typing import Any

import pytest

from service.demo import demo
from tests.one_drink import answer_to
from tests.test_demo import full_body


def figure_of(answer: dict[str, Any], path: str) -> Any:
    """The figure of the answer at the path of a trace row; lists are entered by id, jurisdiction or place."""
    found: Any = answer
    names = path.split("/")
    if names[0] == "nutrition":
        names = ["nutrition", "by_jurisdiction", *names[1:]]
    if names[:2] == ["alcohol", "standard_drinks"]:
        names.append("count")
    for name in names:
        if isinstance(found, list):
            rows = [row for row in found if name in (row.get("id"), row.get("jurisdiction"))]
            found = rows[0] if rows else found[int(name)]
        else:
            found = found[name]
    return found


def is_step_alone(path: str, answer: dict[str, Any]) -> bool:
    names = path.split("/")
    if names[0] == "preparations" and "lines" in names:
        return True
    return names[0] == "nutrition" and all(
        row["jurisdiction"] != names[1] for row in answer["nutrition"]["by_jurisdiction"]
    )


def same(shown: Any, value: Any) -> bool:
    if shown is None:
        return True  # the trace then shows what is known at least
    if value is None:
        return False
    if isinstance(shown, str):
        places = Decimal(shown)
        return Decimal(value).quantize(places, rounding=ROUND_HALF_UP) == places
    last = Decimal(1).scaleb(int(Decimal(repr(float(shown))).as_tuple().exponent))
    return abs(Decimal(repr(float(shown))) - Decimal(repr(float(value)))) <= last * Decimal("0.5001")


def check(body: dict[str, Any]) -> int:
    answer = answer_to({**body, "trace": True})
    compared = 0
    for row in answer["trace"]:
        if is_step_alone(row["figure"], answer):
            continue
        shown = figure_of(answer, row["figure"])
        assert same(shown, row["value"]), (row["figure"], shown, row["value"])
        compared += shown is not None
    return compared


@pytest.mark.parametrize("drink_id", sorted(demo().drinks))
def test_a_row_comes_to_the_figure_it_names(drink_id: str) -> None:
    assert check(full_body(drink_id)) > 15


def test_several_serves_and_a_part_on_fruit_are_traced_for_one_serve() -> None:
    berry = {"id": "berry", "name": "Berry", "kind": "fruit", "per_100": {"basis": "g", "sugars_g": 5}}
    lines = [
        {"item": "gin-london-dry-40", "amount": "500 ml"},
        {"item": "berry", "amount": "200 g", "strained_out": True},
    ]
    offer = {"supplier": "S", "pack": {"size": "700 ml"}, "price": {"amount": "20.00", "currency": "EUR"}}
    drink = {
        "id": "asked", "name": "Asked", "serves": 3,
        "lines": [{"item": "part", "amount": "90 ml"}, {"item": "gin-london-dry-40", "amount": "50 ml"}],
    }  # fmt: skip
    body = {
        "drink": drink,
        "ingredients": [berry],
        "preparations": [{"id": "part", "name": "Part", "lines": lines}],
        "offers": [{"id": "o", "item": "gin-london-dry-40", **offer}],
    }
    assert check(body) > 10
    figures = {row["figure"] for row in answer_to({**body, "trace": True})["trace"]}
    assert "preparations/part/with_fruit_water/abv_percent" in figures


def test_unknown_water_is_traced_as_unknown() -> None:
    lines = [
        {"item": "gin-london-dry-40", "amount": "50 ml"},
        {"item": "soda-water", "amount": "fill", "role": "top"},
    ]
    drink = {"id": "d", "name": "D", "lines": lines, "method": {"kind": "built"}, "serve": {"glass_ml": 300}}
    check({"drink": drink})
    rows = {row["figure"]: row["value"] for row in answer_to({"drink": drink, "trace": True})["trace"]}
    assert rows["alcohol/abv_percent"] is None
