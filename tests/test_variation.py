"""A modified drink against the same drink written out by hand, and against arithmetic."""

import copy
from typing import Any

import pytest
from pydantic import ValidationError

from schemas.evaluation import EvaluationRequest
from service.errors import InputFault, InputFaults
from tests.one_drink import answer_to, declared, poured, request_of, thing, varied

SPIRIT = thing("gin", kind="spirit", abv_percent=40, process=["distilled"])
RUM = thing("rum", kind="spirit", abv_percent=60, process=["distilled"])
JUICE = thing("juice", kind="juice", per_100={"sugars_g": 2, "carbohydrate_g": 2})
EGG = thing("egg", kind="egg", allergens={"eggs": "contains", "milk": "may_contain"}, pieces={"each_g": 33})
ZERO = thing("zero", kind="mixer")
THINGS = [SPIRIT, RUM, JUICE, EGG, ZERO]
SHAKER = {"allergens": ["eggs"], "equipment": "shaker", "methods": ["shaken"], "control": "rinsed"}


def offer(item: str, amount: str) -> dict[str, Any]:
    price = {"amount": amount, "currency": "EUR"}
    return {"id": f"o-{item}", "item": item, "supplier": "S", "pack": {"size": "1 l"}, "price": price}


OFFERS = [
    offer(item, amount) for item, amount in (("gin", "20.00"), ("rum", "30.00"), ("juice", "4.00"), ("zero", "8.00"))
]
PRICING = {"currency": "EUR", "target": {"pour_cost_percent": "20"}, "menu_price": "10.00"}

MODIFIERS: dict[str, dict[str, Any]] = {
    "double": {"scale": [{"item": "gin", "factor": 2}], "price_delta": "4.00"},
    "no-egg": {"remove": ["egg"]},
    "rum": {"replace": [{"item": "gin", "with": "rum"}], "price_delta": "-1.50"},
    "zero-proof": {"replace": [{"item": "gin", "with": "zero", "amount": "60 ml"}]},
    "large": {"scale": 1.5, "price_delta": "3"},
    "sharp": {"add": [{"item": "juice", "amount": "10 ml"}]},
}


def request(*ids: str, lines: Any = None, **more: Any) -> dict[str, Any]:
    own = [poured("gin", "50 ml"), poured("juice", "25 ml"), poured("egg", "1 each")]
    drink = {"method": {"kind": "shaken"}, **more.pop("drink", {})}
    drink["modifiers"] = [{"id": name, "name": name, **modifier} for name, modifier in MODIFIERS.items()]
    body = request_of(lines or own, THINGS, ("EU", "GB", "US"), drink=drink, offers=OFFERS, pricing=PRICING)
    return {**body, "with": list(ids), **more}


@pytest.mark.parametrize(
    ("ids", "lines", "menu_price"),
    [
        (("double",), (("gin", "100 ml"), ("juice", "25 ml"), ("egg", "1 each")), "14.00"),
        (("no-egg",), (("gin", "50 ml"), ("juice", "25 ml")), "10.00"),
        (("rum",), (("rum", "50 ml"), ("juice", "25 ml"), ("egg", "1 each")), "8.50"),
        (("zero-proof",), (("zero", "60 ml"), ("juice", "25 ml"), ("egg", "1 each")), "10.00"),
        (("large",), (("gin", "75 ml"), ("juice", "37.5 ml"), ("egg", "1.5 each")), "13.00"),
        (("sharp",), (("gin", "50 ml"), ("juice", "25 ml"), ("egg", "1 each"), ("juice", "10 ml")), "10.00"),
        (("rum", "double", "no-egg"), (("rum", "100 ml"), ("juice", "25 ml")), "12.50"),
        (("double", "double"), (("gin", "200 ml"), ("juice", "25 ml"), ("egg", "1 each")), "18.00"),
    ],
    ids=lambda case: "-".join(case) if isinstance(case, tuple) and isinstance(case[0], str) else None,
)
@pytest.mark.parametrize("trace", [False, True])
def test_the_answer_is_that_of_the_spec_written_by_hand(
    ids: tuple[str, ...], lines: tuple[tuple[str, str], ...], menu_price: str, trace: bool
) -> None:
    more = {"house": {"cross_contact": [SHAKER], "max_standard_drinks": 2}, "trace": trace}
    found = varied(request(*ids, **more))
    by_hand = request(lines=[poured(item, amount) for item, amount in lines], **more)
    by_hand["pricing"] = {**PRICING, "menu_price": menu_price}
    del found["delta"], by_hand["with"], by_hand["drink"]["modifiers"]
    assert found == answer_to(by_hand)


def test_modifiers_that_nobody_asked_for_change_nothing() -> None:
    body = request()
    plain = copy.deepcopy(body)
    del plain["with"], plain["drink"]["modifiers"]
    assert answer_to(body) == answer_to(plain)
    assert "delta" not in answer_to(body)


def test_double_is_twice_the_ethanol_of_its_line() -> None:
    found = varied(request("double"))
    # 50 ml at 40 % vol are 20 ml of ethanol; they are there once more. GB: 10 ml to a unit.
    assert found["delta"]["alcohol"]["ethanol_ml"] == {"base": 20.0, "change": 20.0}
    units = next(row for row in found["delta"]["alcohol"]["standard_drinks"] if row["jurisdiction"] == "GB")
    assert (units["base"], units["change"]) == (2.0, 2.0)
    # 50 ml of 20.00 a litre.
    assert found["delta"]["cost"]["pour_cost"]["change"] is None  # the egg has no offer
    cheap = varied(request("double", lines=[poured("gin", "50 ml"), poured("juice", "25 ml")]))
    assert cheap["delta"]["cost"]["pour_cost"] == {"base": "1.10", "change": "1.00"}
    # A pour cost of 20 %: five times the cost.
    assert cheap["delta"]["price"]["suggested"] == {"base": "5.50", "change": "5.00"}
    assert cheap["delta"]["price"]["menu_price"] == {"base": "10.00", "change": "4.00"}
    assert cheap["price"]["at_menu_price"]["menu_price"] == "14.00"


def test_another_spirit_is_as_strong_as_it_is() -> None:
    # 50 ml at 60 % vol are 30 ml, 10 ml more than at 40 %.
    assert varied(request("rum"))["delta"]["alcohol"]["ethanol_ml"] == {"base": 20.0, "change": 10.0}


def test_zero_proof_has_no_alcohol_left() -> None:
    found = varied(request("zero-proof"))
    assert found["alcohol"]["ethanol_g"] == 0
    change = found["delta"]["alcohol"]["abv_percent"]
    assert change["change"] == -change["base"] < 0


def test_no_egg_leaves_the_shakers_warning() -> None:
    """Removing an item never removes a cross-contact warning (the issue); what the tool carries comes to light."""
    found = varied(request("no-egg", house={"cross_contact": [SHAKER]}))
    row = declared(found, "EU")
    assert row["contains"] == [] and row["may_contain"] == ["eggs"]
    change = next(row for row in found["delta"]["allergens"] if row["jurisdiction"] == "EU")
    assert change["gained"]["may_contain"] == ["eggs"]
    assert "eggs" not in change["lost"]["contains"]
    assert "may still get in: eggs" in change["note"]
    # What the egg itself might have brought goes with the egg.
    assert change["lost"]["may_contain"] == ["milk"]


@pytest.mark.parametrize("ids", [("no-egg",), ("zero-proof", "no-egg"), ("rum",), ("large",)])
@pytest.mark.parametrize("control", ["none", "rinsed", "washed"])
def test_every_warning_of_a_tool_stays_whatever_is_asked_for(ids: tuple[str, ...], control: str) -> None:
    tools = [
        {**SHAKER, "control": control},
        {"allergens": ["almond", "sesame"], "equipment": "jigger", "control": control},
        {"allergens": ["milk"], "equipment": "blender", "methods": ["blended"], "control": control},
    ]
    body = request(*ids, house={"cross_contact": tools})
    before, after = answer_to(request(house={"cross_contact": tools})), varied(body)

    def tool_routes(found: Any) -> list[Any]:
        return [row for row in found["allergens"]["routes"] if row["equipment"] is not None]

    assert tool_routes(after) == tool_routes(before) != []
    for row in after["allergens"]["declarations"]:
        assert row["cross_contact"] == "assessed"
        listed = {*row["contains"], *row["may_contain"]}
        if row["jurisdiction"] == "EU":
            assert {"eggs", "nuts", "almond", "sesame"} <= listed


def test_no_egg_without_an_assessment_says_so() -> None:
    found = varied(request("no-egg"))
    row = declared(found, "EU")
    assert "eggs" not in (*row["contains"], *row["may_contain"])
    assert "Cross-contact not assessed" in row["statement"]
    [change] = [row for row in found["delta"]["allergens"] if row["jurisdiction"] == "EU"]
    assert change["lost"]["contains"] == ["eggs"]
    assert "not to be read as free of: eggs" in change["note"] and "not assessed" in change["note"]


def test_nothing_is_lost_where_it_is_not_known() -> None:
    """An egg goes, and something of which nobody knows whether it holds egg comes."""
    foam = thing("foam", allergens_declared="partial")
    body = request("foam")
    body["ingredients"] = [*THINGS, foam]
    body["drink"]["modifiers"] = [
        {"id": "foam", "name": "F", "replace": [{"item": "egg", "with": "foam", "amount": "20 ml"}]}
    ]
    for change in varied(body)["delta"]["allergens"]:
        assert "eggs" not in change["lost"]["contains"]
        assert "eggs" in change["gained"]["unknown"]
        assert "Not known whether it is still in it" in change["note"]


def test_what_becomes_contained_is_gained_although_it_was_possible_before() -> None:
    body = request("milk")
    body["ingredients"] = [*THINGS, thing("cream", allergens={"milk": "contains"})]
    body["drink"]["modifiers"] = [{"id": "milk", "name": "M", "add": [poured("cream", "10 ml")]}]
    [change] = [row for row in varied(body)["delta"]["allergens"] if row["jurisdiction"] == "EU"]
    assert change["gained"]["contains"] == ["milk"]
    assert change["lost"] == {"contains": [], "may_contain": [], "unknown": [], "partly_unknown": []}


SWAPS: dict[str, tuple[dict[str, Any], dict[str, Any]]] = {
    # Which nuts the mix holds is not told: almond may be one of them.
    "a nut for a mix of nuts": (
        thing("old", allergens={"almond": "contains"}),
        thing("new", allergens={"nuts": "contains"}),
    ),
    "a nut for a mix that may hold nuts": (
        thing("old", allergens={"almond": "contains"}),
        thing("new", allergens={"nuts": "may_contain"}),
    ),
    # Barley in beer is declared, in a distillate it is exempt and there all the same.
    "beer for whiskey": (
        thing("old", kind="beer", abv_percent=5, allergens={"barley": "contains"}),
        thing("new", kind="spirit", abv_percent=40, process=["distilled"], allergens={"barley": "contains"}),
    ),
}


@pytest.mark.parametrize("swap", sorted(SWAPS))
def test_a_related_or_exempt_source_keeps_an_allergen_from_being_lost(swap: str) -> None:
    old, new = SWAPS[swap]
    body = request("swap", lines=[poured("old", "50 ml"), poured("juice", "25 ml")])
    body["ingredients"] = [*THINGS, old, new]
    body["drink"]["modifiers"] = [{"id": "swap", "name": "S", "replace": [{"item": "old", "with": "new"}]}]
    for change in varied(body)["delta"]["allergens"]:
        assert change["lost"]["contains"] == [], change["jurisdiction"]


ALMOND = thing("almond", allergens={"almond": "contains"})
ANY_NUT = thing("any-nut", allergens={"nuts": "contains"})
ALMOND_AND_PERHAPS_MORE = thing(
    "perhaps", allergens={"almond": "contains"}, allergens_declared="partial", animal_origin=None
)
OPEN: dict[str, tuple[dict[str, Any], dict[str, Any], dict[str, list[str]], dict[str, list[str]]]] = {
    # By hand: the mix says nuts and not which, so that what was almond alone may now be any of the eight.
    "told apart, then not": (ALMOND, ANY_NUT, {"partly_unknown": ["nuts"]}, {}),
    "not told apart, then told": (ANY_NUT, ALMOND, {"contains": ["almond"]}, {"partly_unknown": ["nuts"]}),
    "of no nut, then of some": (
        ZERO, ANY_NUT, {"contains": ["nuts"], "partly_unknown": ["nuts"]}, {},
    ),
    "of some nut, then of none": (ANY_NUT, ZERO, {}, {"contains": ["nuts"], "partly_unknown": ["nuts"]}),
    # A declaration of almond that is not complete leaves hazelnut and its like open.
    "almond alone, then almond and perhaps more": (ALMOND, ALMOND_AND_PERHAPS_MORE, {"partly_unknown": ["nuts"]}, {}),
}  # fmt: skip


@pytest.mark.parametrize("swap", sorted(OPEN))
def test_a_group_that_is_not_told_apart_comes_and_goes_as_such(swap: str) -> None:
    old, new, gained, lost = OPEN[swap]
    body = request("swap", lines=[poured(old["id"], "50 ml"), poured("juice", "25 ml")])
    body["ingredients"] = [*THINGS, *(one for one in (old, new) if one not in THINGS)]
    body["drink"]["modifiers"] = [{"id": "swap", "name": "S", "replace": [{"item": old["id"], "with": new["id"]}]}]
    [change] = [row for row in varied(body)["delta"]["allergens"] if row["jurisdiction"] == "EU"]
    told = {which: {state: keys for state, keys in change[which].items() if keys} for which in ("gained", "lost")}
    told["gained"].pop("unknown", None)  # the other thirteen allergens of a declaration that is not complete
    assert told == {"gained": gained, "lost": lost}


def test_a_nut_that_goes_with_every_nut_is_lost() -> None:
    body = request("none", lines=[poured("old", "50 ml"), poured("juice", "25 ml")])
    body["ingredients"] = [*THINGS, SWAPS["a nut for a mix of nuts"][0]]
    body["drink"]["modifiers"] = [{"id": "none", "name": "N", "remove": ["old"]}]
    [change] = [row for row in varied(body)["delta"]["allergens"] if row["jurisdiction"] == "EU"]
    assert change["lost"]["contains"] == ["nuts", "almond"]


# Prices.


def test_a_price_delta_without_a_menu_price_is_told_alone() -> None:
    for pricing in ({"currency": "EUR"}, None):
        body = request("double", "large", pricing=pricing)
        price = varied(body)["delta"]["price"]
        assert (price["menu_price"], price["price_delta"]) == (None, "7.00")


def test_a_menu_price_written_with_its_currency_is_changed_too() -> None:
    body = request("rum", pricing={**PRICING, "menu_price": {"amount": "10.00", "currency": "EUR"}})
    assert varied(body)["price"]["at_menu_price"]["menu_price"] == "8.50"


@pytest.mark.parametrize(
    ("delta", "code"),
    [("-10.01", "price_below_zero"), ("0.001", "menu_price_not_payable")],
    ids=["below", "not-payable"],
)
def test_a_price_that_nobody_can_pay_points_to_the_modifier(delta: str, code: str) -> None:
    body = request("odd")
    body["drink"]["modifiers"] = [{"id": "odd", "name": "O", "price_delta": delta}]
    with pytest.raises(InputFault) as caught:
        varied(body)
    assert (caught.value.code, caught.value.pointer) == (code, "/drink/modifiers/0/price_delta")


# Faults.


def fault(modifier: dict[str, Any], lines: Any = None) -> list[tuple[str, str]]:
    body = request("x", lines=lines)
    body["drink"]["modifiers"] = [{"id": "idle", "name": "I"}, {"id": "x", "name": "X", **modifier}]
    with pytest.raises((InputFault, InputFaults)) as caught:
        varied(body)
    if isinstance(caught.value, InputFaults):
        return [(one.code, one.pointer) for one in caught.value.faults]
    assert isinstance(caught.value, InputFault)
    return [(caught.value.code, caught.value.pointer)]


@pytest.mark.parametrize(
    ("modifier", "code", "place"),
    [
        ({"add": [poured("juice"), poured("nobody")]}, "item_unknown", "/add/1/item"),
        ({"add": [poured("juice", "1 furlong")]}, "unit_unknown", "/add/0/amount"),
        ({"add": [poured("juice", "fill", role="top")]}, "fill_without_glass", "/add/0/amount"),
        ({"replace": [{"item": "gin", "with": "nobody"}]}, "item_unknown", "/replace/0/with"),
        ({"replace": [{"item": "gin", "with": "rum", "amount": "0 ml"}]}, "amount_not_positive", "/replace/0/amount"),
        # Half an egg of a spirit: the amount suited the egg, so the new item is what is wrong.
        ({"replace": [{"item": "egg", "with": "rum"}]}, "piece_mass_unknown", "/replace/0/with"),
        (
            {"scale": [{"item": "gin", "factor": 100}, {"item": "gin", "factor": 100}]},
            "amount_too_large",
            "/scale/1/factor",
        ),
    ],
)
def test_a_fault_that_a_modifier_brings_points_into_it(modifier: dict[str, Any], code: str, place: str) -> None:
    assert fault(modifier) == [(code, "/drink/modifiers/1" + place)]


def test_a_fault_of_the_drink_as_written_comes_first() -> None:
    assert fault({"remove": ["nobody"]}, [poured("gin", "1 furlong")]) == [("unit_unknown", "/drink/lines/0/amount")]


def test_with_takes_twenty_ids() -> None:
    assert len(EvaluationRequest.model_validate(request(*["large"] * 20)).with_) == 20
    for wrong in (["large"] * 21, ["Not An Id"], "large"):
        with pytest.raises(ValidationError):
            EvaluationRequest.model_validate({**request(), "with": wrong})
