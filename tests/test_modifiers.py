"""Modifiers of a drink: what plain drink comes of them, where its faults point to. Specs are written by hand."""

from typing import Any

import pytest
from annotated_types import MaxLen

from schemas.drink import Drink
from service.errors import InputFault, InputFaults
from service.modifiers import MOST_LINES, Modified, modified

GIN = {"item": "gin", "amount": "50 ml", "alternatives": ["gin-2"]}
JUICE = {"item": "juice", "amount": {"value": "3/4", "unit": "oz"}}
EGG = {"item": "egg", "amount": "1 each"}
RINSE = {"item": "absinthe", "amount": "5 ml", "role": "rinse", "residue_ml": 1}
TONIC = {"item": "tonic", "amount": "fill", "role": "top"}


def drink(*modifiers: dict[str, Any], lines: Any = (GIN, JUICE, EGG), **more: Any) -> Drink:
    named = [{"id": f"m{number}", "name": "M", **modifier} for number, modifier in enumerate(modifiers)]
    return Drink.model_validate({"id": "d", "name": "D", "lines": list(lines), "modifiers": named, **more})


def made(*modifiers: dict[str, Any], ids: Any = None, **more: Any) -> Modified:
    """All modifiers in their order, unless ``ids`` says otherwise."""
    spec = drink(*modifiers, **more)
    return modified(spec, [modifier.id for modifier in spec.modifiers] if ids is None else ids)


def written(found: Modified) -> list[tuple[str, object]]:
    return [
        (line.item, line.amount if isinstance(line.amount, str) else (line.amount.value, line.amount.unit))
        for line in found.drink.lines
    ]


def faults(*modifiers: dict[str, Any], **more: Any) -> list[tuple[str, str]]:
    with pytest.raises((InputFault, InputFaults)) as caught:
        made(*modifiers, **more)
    found = caught.value.faults if isinstance(caught.value, InputFaults) else [caught.value]
    return [(fault.code, fault.pointer) for fault in found if isinstance(fault, InputFault)]


# What comes of a modifier.


def test_nothing_asked_for_is_the_drink_without_its_modifiers() -> None:
    spec = drink({"remove": ["egg"]})
    assert modified(spec, []).drink == spec.model_copy(update={"modifiers": ()})


def test_removing_takes_every_line_of_the_item() -> None:
    found = made({"remove": ["egg"]}, lines=(GIN, EGG, EGG))
    assert written(found) == [("gin", "50 ml")]


def test_replacing_keeps_the_amount_and_the_role_and_drops_the_alternatives() -> None:
    found = made(
        {"replace": [{"item": "absinthe", "with": "mezcal"}, {"item": "gin", "with": "rum"}]}, lines=(GIN, RINSE)
    )
    gin, rinse = found.drink.lines
    assert (gin.item, gin.amount, gin.alternatives) == ("rum", "50 ml", ())
    assert (rinse.item, rinse.role, rinse.residue_ml) == ("mezcal", "rinse", 1)


def test_replacing_may_state_the_amount() -> None:
    found = made({"replace": [{"item": "egg", "with": "aquafaba", "amount": "20 ml"}]})
    assert written(found)[2] == ("aquafaba", "20 ml")


def test_doubling_one_item_leaves_the_others_alone() -> None:
    found = made({"scale": [{"item": "gin", "factor": 2}]})
    assert written(found) == [("gin", "100 ml"), ("juice", ("3/4", "oz")), ("egg", "1 each")]


def test_a_role_is_scaled_whole_and_a_rinse_with_what_stays_of_it() -> None:
    found = made({"scale": [{"role": "rinse", "factor": "0.5"}]}, lines=(GIN, RINSE))
    assert written(found) == [("gin", "50 ml"), ("absinthe", "2.5 ml")]
    assert found.drink.lines[1].residue_ml == 0.5


def test_one_factor_scales_all_that_is_measured_and_what_fills_goes_on_filling() -> None:
    found = made(
        {"scale": "1.5"},
        lines=(GIN, JUICE, TONIC),
        serve={"glass_ml": 300},
        method={"kind": "stirred", "water": {"ml": 20}},
    )
    # 50 x 1.5, 3/4 x 1.5, 20 x 1.5.
    assert written(found) == [("gin", "75 ml"), ("juice", ("1.125", "oz")), ("tonic", "fill")]
    assert found.drink.method.water is not None and found.drink.method.water.ml == 30


def test_measured_water_stays_where_one_line_alone_is_scaled() -> None:
    found = made({"scale": [{"item": "gin", "factor": 2}]}, method={"kind": "stirred", "water": {"ml": 20}})
    assert found.drink.method.water is not None and found.drink.method.water.ml == 20


def test_a_share_of_water_is_a_share_of_the_larger_drink_too() -> None:
    found = made({"scale": 2}, method={"kind": "stirred", "water": {"fraction": 0.3}})
    assert found.drink.method.water is not None and found.drink.method.water.fraction == 0.3


def test_added_lines_come_last_as_they_are_written() -> None:
    found = made({"scale": 2, "add": [{"item": "salt", "amount": "1 g"}]})
    assert written(found)[-1] == ("salt", "1 g")
    assert written(found)[0] == ("gin", "100 ml")


def test_one_part_keeps_its_size_however_many_there_are() -> None:
    lines = ({"item": "gin", "amount": "2 parts"}, {"item": "juice", "amount": {"value": 1, "unit": "Parts"}})
    # 90 ml in 3 parts are 30 ml each. Double gin: 5 parts, 150 ml. Without juice: 2 parts, 60 ml. All x 2: 180 ml.
    for modifier, total in (
        ({"scale": [{"item": "gin", "factor": 2}]}, "150 ml"),
        ({"remove": ["juice"]}, "60 ml"),
        ({"scale": 2}, "180 ml"),
        ({"add": [{"item": "syrup", "amount": "1 part"}]}, "120 ml"),
        ({"add": [{"item": "syrup", "amount": "10 ml"}]}, "90 ml"),
    ):
        assert made(modifier, lines=lines, parts_total="90 ml").drink.parts_total == total


def test_prices_add_up_and_none_is_not_nothing() -> None:
    assert made({"price_delta": "2.50"}, {"price_delta": "-0.75"}).price_delta == pytest.approx(1.75)
    assert made({"remove": ["egg"]}).price_delta is None


# Order.


def test_double_and_another_spirit_come_in_either_order() -> None:
    double, rum = {"scale": [{"item": "gin", "factor": 2}]}, {"replace": [{"item": "gin", "with": "rum"}]}
    for ids in (["m0", "m1"], ["m1", "m0"]):
        assert written(made(double, rum, ids=ids))[0] == ("rum", "100 ml")


def test_the_order_decides_what_an_added_line_is_scaled_by() -> None:
    add, double = {"add": [{"item": "salt", "amount": "1 g"}]}, {"scale": 2}
    assert written(made(add, double, ids=["m0", "m1"]))[-1] == ("salt", "2 g")
    assert written(made(add, double, ids=["m1", "m0"]))[-1] == ("salt", "1 g")


def test_a_modifier_named_twice_is_done_twice() -> None:
    # 50 x 2 x 2.
    assert (
        written(made({"scale": [{"item": "gin", "factor": 2}], "price_delta": "1"}, ids=["m0", "m0"]))[0][1] == "200 ml"
    )
    assert made({"price_delta": "1"}, ids=["m0", "m0"]).price_delta == 2


def test_the_last_of_two_other_spirits_is_poured() -> None:
    rum, rye = ({"replace": [{"item": "gin", "with": other}]} for other in ("rum", "rye"))
    assert written(made(rum, rye))[0] == ("rye", "50 ml")


def test_removing_what_an_earlier_modifier_took_away_is_nothing_to_do() -> None:
    no_egg, vegan = {"remove": ["egg"]}, {"replace": [{"item": "egg", "with": "aquafaba"}]}
    assert written(made(no_egg, no_egg)) == written(made(no_egg))
    # Aquafaba was asked for, and egg is gone either way.
    assert written(made(vegan, no_egg)) == written(made(vegan))


# What is refused.


def test_an_unknown_modifier_is_refused_with_the_nearest() -> None:
    spec = drink({"id": "double"}, {"id": "no-egg"})
    with pytest.raises(InputFault) as caught:
        modified(spec, ["no-egg", "doubel"])
    assert (caught.value.code, caught.value.pointer) == ("modifier_unknown", "/with/1")
    assert "double" in caught.value.detail and "doubel" not in caught.value.detail
    with pytest.raises(InputFault, match="it has: double, no-egg"):
        modified(spec, ["zzzzzz"])
    with pytest.raises(InputFault, match="no modifiers"):
        modified(drink(), ["double"])


def test_every_unknown_modifier_is_told_at_once() -> None:
    assert faults(ids=["a", "b"]) == [("modifier_unknown", "/with/0"), ("modifier_unknown", "/with/1")]


@pytest.mark.parametrize(
    ("modifier", "code", "place"),
    [
        ({"remove": ["egg", "milk"]}, "modifier_item_missing", "/remove/1"),
        ({"replace": [{"item": "milk", "with": "cream"}]}, "modifier_item_missing", "/replace/0/item"),
        (
            {"scale": [{"item": "gin", "factor": 2}, {"item": "milk", "factor": 2}]},
            "modifier_item_missing",
            "/scale/1/item",
        ),
        ({"scale": [{"role": "top", "factor": 2}]}, "modifier_item_missing", "/scale/0/role"),
        ({"remove": ["egg"], "replace": [{"item": "egg", "with": "aquafaba"}]}, "modifier_conflict", "/replace/0/item"),
        ({"remove": ["egg"], "scale": [{"item": "egg", "factor": 2}]}, "modifier_conflict", "/scale/0/item"),
    ],
)
def test_what_the_drink_has_not_is_refused_at_its_place(modifier: dict[str, Any], code: str, place: str) -> None:
    assert faults({}, modifier) == [(code, "/drink/modifiers/1" + place)]


def test_a_refusal_names_what_the_drink_has() -> None:
    with pytest.raises(InputFault, match="its lines have: gin, juice, egg"):
        made({"remove": ["milk"]})


def test_faults_of_several_modifiers_are_told_together() -> None:
    assert [place for _, place in faults({"remove": ["milk"]}, {"remove": ["cream"]})] == [
        "/drink/modifiers/0/remove/0", "/drink/modifiers/1/remove/0",
    ]  # fmt: skip


def test_a_drink_keeps_a_line_and_has_at_most_sixty() -> None:
    bound = next(one.max_length for one in Drink.model_fields["lines"].metadata if isinstance(one, MaxLen))
    assert bound == MOST_LINES
    assert faults({"remove": ["gin", "juice", "egg"]}) == [("modifier_leaves_nothing", "/with/0")]
    ten = {"add": [{"item": "salt", "amount": "1 g"}] * 10}
    assert len(made(ten, lines=[GIN] * 50).drink.lines) == 60
    assert faults(ten, lines=[GIN] * 51) == [("too_many_lines", "/with/0")]


def test_a_line_that_fills_has_no_amount_to_double() -> None:
    glass = {"lines": (GIN, TONIC), "serve": {"glass_ml": 300}}
    assert faults({"scale": [{"item": "tonic", "factor": 2}]}, **glass) == [
        ("fill_scaled", "/drink/modifiers/0/scale/0/item")
    ]


def test_a_factor_that_cannot_be_written_is_refused_at_the_factor() -> None:
    lines = ({"item": "gin", "amount": "0.000000000001 ml"},)
    assert faults({"scale": [{"item": "gin", "factor": "0.3"}]}, lines=lines) == [
        ("scale_inexact", "/drink/modifiers/0/scale/0/factor")
    ]


def test_measured_water_stays_within_its_bound() -> None:
    method = {"kind": "stirred", "water": {"ml": 60_000}}
    assert faults({"scale": 2}, method=method) == [("out_of_range", "/drink/modifiers/0/scale")]


# Where a fault of the modified drink lies in the request.


@pytest.mark.parametrize(
    ("pointer", "origin"),
    [
        ("/drink/lines/0/item", "/drink/modifiers/1/replace/0/with"),
        ("/drink/lines/0/amount", "/drink/modifiers/2/scale/0/factor"),
        ("/drink/lines/0/amount/value", "/drink/modifiers/2/scale/0/factor"),
        ("/drink/lines/0/alternatives/0", "/drink/lines/0/alternatives/0"),
        ("/drink/lines/1/amount", "/drink/lines/2/amount"),
        ("/drink/lines/2/amount/unit", "/drink/modifiers/0/add/0/amount/unit"),
        ("/drink/lines/2/item", "/drink/modifiers/0/add/0/item"),
        ("/pricing/menu_price", "/drink/modifiers/2/price_delta"),
        ("/offers/0/price", "/offers/0/price"),
        ("/drink/parts_total", "/drink/parts_total"),
        ("", ""),
    ],
)
def test_a_fault_points_to_what_brought_it(pointer: str, origin: str) -> None:
    found = made(
        {"remove": ["juice"], "add": [{"item": "salt", "amount": {"value": 1, "unit": "g"}}]},
        {"replace": [{"item": "gin", "with": "rum"}]},
        {"scale": [{"item": "gin", "factor": 2}], "price_delta": "1"},
    )
    assert found.at_origin(InputFault("c", "d", pointer)).pointer == origin


def test_an_amount_of_a_replacement_is_pointed_to() -> None:
    found = made({"replace": [{"item": "egg", "with": "x", "amount": {"value": 1, "unit": "ml"}}]})
    fault = found.at_origin(InputFault("c", "d", "/drink/lines/2/amount/unit"))
    assert fault.pointer == "/drink/modifiers/0/replace/0/amount/unit"
    without = made({"replace": [{"item": "egg", "with": "x"}]})
    assert (
        without.at_origin(InputFault("c", "d", "/drink/lines/2/amount")).pointer == "/drink/modifiers/0/replace/0/with"
    )


def test_the_schema_takes_sixty_modifiers_of_ids_of_their_own() -> None:
    assert len(drink(*[{}] * 60).modifiers) == 60
    wrongs: tuple[list[dict[str, Any]], ...] = ([{}] * 61, [{"id": "a"}, {"id": "a"}])
    for wrong in wrongs:
        with pytest.raises(ValueError, match="modifiers"):
            drink(*wrong)
    with pytest.raises(ValueError, match="exactly one of item and role"):
        drink({"scale": [{"factor": 2}]})
    for factor in (0, -1, 101, True, "x"):
        with pytest.raises(ValueError, match="scale"):
            drink({"scale": factor})
