"""POST /v1/scale below HTTP: arithmetic by hand, and the way there and back."""

from datetime import date
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.errors import InputFault
from tests.offered import GATE
from tests.one_drink import poured, request_of, thing
from tests.solve.desk import scaled

SPIRIT = thing("rum", abv_percent=40)
SYRUP = thing("syrup", per_100={"sugars_g": 60, "carbohydrate_g": 60})
OFFERS = [
    {"id": "q1", "item": "rum", "supplier": "Example Quay Supply", "pack": {"count": 6, "size": "700 ml"},
     "price": {"amount": "90.00", "currency": "EUR"}},
    {"id": "q2", "item": "syrup", "supplier": "Example Quay Supply", "pack": {"size": "1 l"},
     "price": {"amount": "4.00", "currency": "EUR"}},
]  # fmt: skip


def body(**more: Any) -> dict[str, Any]:
    return request_of([poured("rum", "50 ml"), poured("syrup", "20 ml")], [SPIRIT, SYRUP], offers=OFFERS, **more)


def amounts(found: Any) -> dict[str, float]:
    return {line["item"]: line["amount"]["exact"] for line in found["lines"]}


def test_forty_serves_are_forty_times_one() -> None:
    found = scaled(body(to={"serves": 40}))
    assert amounts(found) == {"rum": 2000.0, "syrup": 800.0}
    assert found["whole_serves"] == 40


def test_a_container_keeps_its_headroom() -> None:
    """Arithmetic: 19 l less 10 % are 17.1 l."""
    found = scaled(body(to={"container_ml": 19000}, headroom_percent=10))
    assert found["batch"]["volume_ml"] == 17100.0
    assert found["batch"]["holds"]
    assert any("headroom" in note for note in found["notes"])


def test_rounding_up_past_the_container_is_said() -> None:
    found = scaled(body(to={"container_ml": 1000}, steps={"ml": 300}))
    assert found["batch"]["holds"] is (found["batch"]["volume_measured_ml"] <= 1000.0)
    assert amounts(found)["rum"] != found["lines"][0]["amount"]["rounded"] == 600.0


def test_one_bottle_yields_what_is_in_it() -> None:
    """Arithmetic: 700 / 50 = 14 serves; of the offer's unit where no bottle is stated."""
    assert scaled(body(to={"item": "rum", "bottle_ml": 1000}))["serves"] == 20.0
    assert scaled(body(to={"item": "rum"}))["serves"] == 14.0
    with pytest.raises(InputFault) as fault:
        scaled(body(to={"item": "gin"}))
    assert (fault.value.code, fault.value.pointer) == ("item_not_needed", "/to/item")


def test_without_the_scope_an_offer_does_not_tell_the_bottle() -> None:
    with pytest.raises(InputFault) as fault:
        scaled(body(to={"item": "rum"}), sees_costs=False)
    assert fault.value.code == "bottle_unknown"


def test_steps_round_half_up_and_show_the_error() -> None:
    """Arithmetic: 3 x 20 = 60 to 25 is 50 (2.4 steps), off by 16.67 %."""
    found = scaled(body(to={"serves": 3}, steps={"ml": 25}))
    syrup = found["lines"][1]["amount"]
    assert (syrup["exact"], syrup["rounded"], syrup["error_percent"]) == (60.0, 50.0, pytest.approx(-16.67))


def test_water_is_added_or_left_to_the_ice() -> None:
    """Arithmetic: 30 % of 70 ml are 21 ml a serve."""
    drink = {"method": {"kind": "stirred", "water": {"ml": 21}}}
    added = scaled(body(drink=drink, to={"serves": 10}, water="added"))
    left = scaled(body(drink=drink, to={"serves": 10}))
    assert added["water"]["exact"] == pytest.approx(210.0)
    assert left["water"] is None
    assert added["batch"]["volume_ml"] - left["batch"]["volume_ml"] == pytest.approx(210.0, rel=0.01)
    assert added["batch"]["abv_percent"] < left["batch"]["abv_percent"]
    with pytest.raises(InputFault) as fault:
        scaled(body(drink={"method": {"kind": "swizzled"}}, to={"serves": 10}, water="added"))
    assert fault.value.pointer == "/water"


def test_packs_to_buy_and_what_is_left() -> None:
    """Arithmetic: 100 serves take 5000 ml of rum: two packs of 4200 ml, 3400 ml over, 180 EUR."""
    found = scaled(body(to={"serves": 100}))
    rum, syrup = found["purchases"]
    assert (rum["packs"], rum["left"], rum["price"]["amount"]) == (2, 3400.0, "180.00")
    assert (syrup["packs"], syrup["left"]) == (2, 0.0)
    assert found["cost"]["packs"] == "188.00"
    # 100 x (50 x 90 / 4200 + 20 x 4 / 1000) = 107.142857 + 8
    assert found["cost"]["pour_cost"] == "115.14"


def test_money_is_absent_without_the_scope() -> None:
    assert scaled(body(to={"serves": 2}), sees_costs=False).keys().isdisjoint(("cost", "purchases"))


PARTS = [
    {"id": "outer", "name": "Outer",
     "lines": [{"item": "inner", "amount": "100 ml"}, {"item": "syrup", "amount": "100 ml"}],
     "shelf_life_days": 14},
    {"id": "inner", "name": "Inner", "lines": [{"item": "syrup", "amount": "500 ml"}], "shelf_life_days": 3},
]  # fmt: skip


def test_parts_are_scaled_through_in_the_order_and_on_the_day_of_making() -> None:
    """Arithmetic: 10 serves of 40 ml are 2 batches of 200 ml, which take 200 of the 500 ml of an inner batch.

    The outer part may be 14 days old and its inner part 3, so both are made at most 3 days before service.
    """
    ask = request_of([poured("outer", "40 ml")], [SYRUP], preparations=PARTS)
    found = scaled({**ask, "to": {"serves": 10}, "serve_on": "2026-12-10"})
    inner, outer = found["parts"]
    assert (inner["id"], inner["order"], outer["id"], outer["uses"]) == ("inner", 1, "outer", ["inner"])
    assert (outer["batches"], inner["batches"]) == (2.0, pytest.approx(0.4))
    assert (inner["make_from"], outer["make_from"], outer["make_by"]) == ("2026-12-07", "2026-12-07", "2026-12-10")
    assert found["batch_from"] == "2026-12-07"
    assert found["needs"] == [{"item": "syrup", "base": "ml", "quantity": 400.0}]


def test_a_part_that_stands_ready_counts_back_from_no_day() -> None:
    ready = [{**PARTS[1], "made_on": date(2026, 11, 24).isoformat()}]
    ask = request_of([poured("inner", "40 ml")], [SYRUP], preparations=ready)
    found = scaled({**ask, "to": {"serves": 1}, "serve_on": "2026-12-10", "as_of": "2026-11-25"})
    assert found["parts"][0]["make_from"] is None
    assert found["parts"][0]["past_use"]


@pytest.mark.parametrize(
    ("abv", "set_c", "verdict"),
    [
        (40, -18, "liquid"),  # 40 % vol freezes at about -23 C (Lange, table 5.13: 33.8 % by mass -23.6)
        (20, -18, "freezes"),  # 16.2 % by mass freezes at about -8 C in the same table
        (40, -22.5, "uncertain"),  # inside 1.5 C of the computed -23.3
    ],
)
def test_a_freezer_keeps_its_margin(abv: float, set_c: float, verdict: str) -> None:
    ask = request_of([poured("rum", "50 ml")], [thing("rum", abv_percent=abv)])
    found = scaled({**ask, "to": {"serves": 10}, "set_c": set_c})["freezer"]
    assert found["verdict"] == verdict
    assert found["limit_c"] == pytest.approx(found["freezing_point_c"] + 1.5, abs=0.11)


def test_a_freezer_is_unknown_where_the_strength_is() -> None:
    ask = request_of([poured("rum", "50 ml")], [thing("rum", abv_percent=None)])
    found = scaled({**ask, "to": {"serves": 10}, "set_c": -18})["freezer"]
    assert (found["verdict"], found["freezing_point_c"]) == ("unknown", None)
    assert found["missing"] == [{"item": "rum", "field": "abv_percent"}]


@GATE
@given(
    st.lists(st.integers(1, 5000).map(lambda tenths: tenths / 10), min_size=1, max_size=5),
    st.integers(1, 40),
    st.integers(1, 400),
)
def test_scaling_and_scaling_back_gives_the_amounts_again(written: list[float], serves: int, more: int) -> None:
    things = [thing(f"thing-{place}") for place in range(len(written))]
    lines = [poured(f"thing-{place}", f"{amount} ml") for place, amount in enumerate(written)]
    there = scaled({**request_of(lines, things, drink={"serves": serves}), "to": {"serves": more}})
    moved = [poured(line["item"], f"{line['amount']['exact']} ml") for line in there["lines"]]
    back = scaled({**request_of(moved, things, drink={"serves": more}), "to": {"serves": serves}})
    assert [line["amount"]["exact"] for line in back["lines"]] == pytest.approx(written, rel=1e-3, abs=1e-3)
    for line, amount in zip(there["lines"], written, strict=True):
        assert line["amount"]["exact"] == pytest.approx(amount * more / serves, rel=1e-6, abs=1e-4)


def test_a_top_stays_out_of_the_container_and_the_answer_says_so() -> None:
    """Arithmetic: 1000 ml less 10 % of headroom hold 30 serves of 30 ml; 30 tops of 90 ml stand beside them."""
    soda = thing("soda", kind="mixer", abv_percent=0)
    body = request_of([poured("gin", "30 ml"), {**poured("soda", "90 ml"), "role": "top"}],
                      [thing("gin", kind="spirit", abv_percent=40), soda])  # fmt: skip
    found = scaled({**body, "to": {"container_ml": 1000}, "headroom_percent": 10, "water": "left_to_ice"})
    assert found["serves"] == pytest.approx(30)
    rows = {row["item"]: row for row in found["lines"]}
    assert rows["gin"]["in_batch"] and not rows["soda"]["in_batch"]
    assert rows["soda"]["amount"]["exact"] == pytest.approx(2700)
    assert any("neither in the batch nor in the container" in note for note in found["notes"])
