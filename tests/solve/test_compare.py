"""POST /v1/compare below HTTP."""

import pytest

from service.errors import InputFault
from tests.one_drink import poured, request_of, thing
from tests.solve.desk import side_by_side

RUM = thing("rum", abv_percent=40)
MILKY = thing("milky", allergens={"milk": "contains"})
OFFER = {"id": "q1", "item": "rum", "supplier": "Example Quay Supply", "pack": {"size": "1 l"},
         "price": {"amount": "20.00", "currency": "EUR"}}  # fmt: skip


def test_allergens_gained_and_lost_against_the_first() -> None:
    with_milk = request_of([poured("rum", "50 ml"), poured("milky", "50 ml")], [RUM, MILKY])
    plain = request_of([poured("rum", "50 ml")], [RUM])
    found = side_by_side(plain, with_milk, plain)["drinks"]
    assert [row["allergens"][0]["gained"] for row in found] == [[], ["milk"], []]
    back = side_by_side(with_milk, plain)
    assert back["drinks"][1]["allergens"][0]["lost"] == ["milk"]
    assert any("not to be read as free" in note for note in back["notes"])


def test_a_group_of_which_only_a_member_is_known_stays_open() -> None:
    nutty = thing("nutty", allergens={"almond": "contains", "nuts": "unknown"})
    plain, open_ = (request_of([poured(item, "50 ml")], [RUM, nutty]) for item in ("rum", "nutty"))
    found = side_by_side(plain, open_)["drinks"]
    assert [row["allergens"][0]["partly_unknown"] for row in found] == [[], ["nuts"]]


def test_figures_stand_side_by_side() -> None:
    """Arithmetic: 50 ml of 40 % in 100 ml are about 20 % vol; 50 ml at 20 EUR a litre are 1.00."""
    strong = request_of([poured("rum", "50 ml")], [RUM], offers=[OFFER])
    weak = request_of([poured("rum", "50 ml"), poured("water", "50 ml")], [RUM], offers=[OFFER])
    first, second = side_by_side(strong, weak)["drinks"]
    assert first["abv_percent"] == 40.0
    assert second["abv_percent"] == pytest.approx(20.0, abs=0.15)
    assert first["ethanol_g"] == second["ethanol_g"] == pytest.approx(20 * 0.789239, abs=0.01)
    assert first["money"]["pour_cost"] == second["money"]["pour_cost"] == "1.00"
    assert "money" not in side_by_side(strong, weak, sees_costs=False)["drinks"][0]


def test_minutes_are_those_of_the_parts_in_it() -> None:
    """Arithmetic: 30 minutes for 600 ml are 1 minute for 20 ml."""
    part = {"id": "part", "name": "Part", "lines": [{"item": "rum", "amount": "600 ml"}], "minutes": 30}
    ask = request_of([poured("part", "20 ml")], [RUM], preparations=[part])
    plain = request_of([poured("rum", "50 ml")], [RUM])
    assert [row["minutes"] for row in side_by_side(ask, plain)["drinks"]] == [pytest.approx(1.0), None]


def test_a_fault_says_which_drink() -> None:
    good = request_of([poured("rum", "50 ml")], [RUM])
    with pytest.raises(InputFault) as fault:
        side_by_side(good, request_of([poured("nothing-of-the-kind", "50 ml")]))
    assert fault.value.pointer == "/drinks/1/drink/lines/0/item"


def test_an_unknown_strength_stays_unknown() -> None:
    good = request_of([poured("rum", "50 ml")], [RUM])
    odd = request_of([poured("odd", "50 ml")], [thing("odd", abv_percent=None)])
    row = side_by_side(good, odd)["drinks"][1]
    assert row["abv_percent"] is None
    assert {"item": "odd", "field": "abv_percent"} in row["missing"]
