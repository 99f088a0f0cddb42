"""The JSON Pointer of each fault (RFC 6901) points to the caller's field, at every level of the contract."""

from typing import Any

import pytest

from tests.api.bodies import full, raw, small
from tests.api.conftest import Client
from tests.api.corpus import MARK
from tests.api.places import Place, fields, objects, places, properties, replaced, required, schema


def _errors(client: Client, body: Any) -> list[dict[str, str]]:
    answer = client.evaluate(body)
    assert answer.status_code == 422, answer.text[:400]
    found: list[dict[str, str]] = answer.json()["errors"]
    assert all(set(fault) == {"pointer", "code", "detail"} for fault in found)
    return found


def _pointers(client: Client, body: Any) -> list[str]:
    return [fault["pointer"] for fault in _errors(client, body)]


def test_the_full_body_has_every_field_of_every_model() -> None:
    """Otherwise the tests that walk it would pass over what it lacks."""
    seen: dict[str, set[str]] = {name: set() for name in ("EvaluationRequest", *schema()["$defs"])}
    bodies = (full(), *_OTHER_FORMS)
    for place in (place for body in bodies for place in objects(body)):
        for model in place.models:
            seen[model] |= set(place.value)
    lacking = {model: set(properties(model)) - found for model, found in seen.items() if set(properties(model)) - found}
    assert lacking == {}


_PACK = {"net_ml": "120", "gluten_mg_per_kg": "3", "storage": "Keep cool", "responsible": "Quay House, Harbour Lane"}
_NAMED = {"legal_name": "liqueur", "egg_yolk_g_per_l": "0"}
_PACKED = {
    **full(), "preparations": [{**part, **_NAMED} for part in full()["preparations"]],
    "venue": "group", "house": {**full()["house"], "storage": "Keep cool", "responsible": "Quay House"},
    "drink": {**full()["drink"], "sold_as": "prepacked", "lot": "L7", "made_on": "2026-11-20", **_PACK, **_NAMED},
}  # fmt: skip
_OTHER_FORMS: tuple[dict[str, Any], ...] = (
    _PACKED,
    replaced(full(), "/drink/method", {"kind": "shaken", "water": {"ice_g": 100, "ice_c": -4}}),
    replaced(full(), "/drink/method", {"kind": "shaken", "water": {"fraction": 0.3}}),
    replaced(full(), "/drink/measured/hydrometer", {"us_proof": 10, "t_c": 18}),
    replaced(full(), "/drink/measured/hydrometer", {"density_kg_per_m3": 995, "t_c": 18}),
    replaced(full(), "/pricing/round", {"ending": ".95"}),
    replaced(full(), "/pricing/tax", [{"name": "state", "rate_percent": "6", "on": "net"}]),
)


@pytest.mark.parametrize(
    "body", [full(), *_OTHER_FORMS], ids=["full", "packed", "ice", "fraction", "proof", "density", "ending", "taxes"]
)
def test_the_full_body_is_answered(client: Client, body: dict[str, Any]) -> None:
    """What the walks change is right before they change it."""
    answer = client.evaluate(body)
    assert answer.status_code == 200, answer.text


def test_a_value_of_no_form_is_pointed_to_at_every_field(client: Client) -> None:
    for place in fields(full()):
        assert _pointers(client, replaced(full(), place.pointer, {MARK: MARK})), place.pointer
        found = _pointers(client, replaced(full(), place.pointer, [[]]))
        assert all(_is_at_or_below(pointer, place.pointer) for pointer in found), (place.pointer, found)


def test_a_boolean_where_none_is_taken_is_one_fault_at_the_field(client: Client) -> None:
    for place in places(full()):
        if place.pointer and not isinstance(place.value, bool):
            assert _pointers(client, replaced(full(), place.pointer, True)) == [place.pointer]


def test_null_where_a_field_is_required_is_one_fault_at_the_field(client: Client) -> None:
    for parent, name in _required_places():
        pointer = f"{parent.pointer}/{name}"
        assert _pointers(client, replaced(full(), pointer, None)) == [pointer]


def test_a_required_field_that_is_left_out_is_pointed_to_by_its_name(client: Client) -> None:
    checked = 0
    for parent, name in _required_places():
        left = {key: value for key, value in parent.value.items() if key != name}
        body = replaced(full(), parent.pointer, left) if parent.pointer else left
        found = _errors(client, body)
        assert [(fault["pointer"], fault["code"]) for fault in found] == [(f"{parent.pointer}/{name}", "missing")]
        checked += 1
    assert checked > 40


def _required_places() -> list[tuple[Place, str]]:
    return [
        (place, name)
        for place in objects(full())
        for model in place.models
        for name in required(model)
        if name in place.value and len(place.models) == 1
    ]


@pytest.mark.parametrize("key", [MARK, "canary-q7", "drink"])
def test_an_unknown_field_is_pointed_to_at_its_parent(client: Client, key: str) -> None:
    for place in objects(full()):
        if key in place.value or place.pointer.endswith("/pieces"):
            continue
        found = _errors(
            client,
            replaced(full(), place.pointer, place.value | {key: []}) if place.pointer else place.value | {key: []},
        )
        allowed = {place.pointer, f"{place.pointer}/{key}"} if _takes_any_id(place) else {place.pointer}
        assert {fault["pointer"] for fault in found} <= allowed, (place.pointer, found)
        assert MARK not in str(found)


def _takes_any_id(place: Place) -> bool:
    return place.pointer.endswith(("/choose", "/strength_percent_vol", "/acid_percent"))


def test_a_piece_that_is_badly_named_is_pointed_to_at_the_pieces(client: Client) -> None:
    body = replaced(full(), "/ingredients/0/pieces", {"each_g": 5, "Half Moon": {"g": 5}})
    assert _pointers(client, body) == ["/ingredients/0/pieces"]


def test_several_faults_are_each_listed(client: Client) -> None:
    body = full()
    body["drink"]["lines"][0]["item"] = "Not An Id"
    body["drink"]["lines"][1]["amount"] = 5
    body["drink"]["serve"]["glass_ml"] = -1
    body["ingredients"][0]["abv_percent"] = 101
    del body["preparations"][0]["name"]
    body["offers"][0]["gtin"] = "12"
    body["pricing"]["target"]["gross_margin_percent"] = "100"
    body["as_of"] = "25.11.2026"
    assert _pointers(client, body) == [
        "/drink/lines/0/item",
        "/drink/lines/1/amount",
        "/drink/serve/glass_ml",
        "/ingredients/0/abv_percent",
        "/preparations/0/name",
        "/offers/0/gtin",
        "/pricing/target/gross_margin_percent",
        "/as_of",
    ]


def test_several_faults_in_amounts_are_each_listed(client: Client) -> None:
    body = small()
    amounts = ("0 ml", "-1 ml", "1 furlong", "1_000 ml", "fill", "2 parts")
    body["drink"]["lines"] = [{"item": "water", "amount": amount} for amount in amounts]
    found = _pointers(client, body)
    assert [pointer for pointer in found if pointer.startswith("/drink/lines/")] == sorted(
        pointer for pointer in found if pointer.startswith("/drink/lines/")
    )
    assert {f"/drink/lines/{index}/amount" for index in range(5)} <= set(found)
    assert "/drink/parts_total" in found


def test_at_most_a_hundred_faults_are_listed(client: Client) -> None:
    body = small() | {"offers": [{}] * 2000}
    found = _errors(client, body)
    assert len(found) == 100
    assert found[0]["pointer"] == "/offers/0/id"


def test_a_large_body_is_pointed_into_as_a_small_one_is(client: Client) -> None:
    """Bodies over 16 KiB are validated entry by entry; the caller cannot tell."""
    filler = {"id": "x", "name": "X" * 200}
    few, many = (
        full()
        | {"ingredients": [{**filler, "id": f"x-{n}"} for n in range(count)] + [{"id": "bad", "abv_percent": 120}]}
        for count in (3, 300)
    )
    assert len(raw(few)) < 16 * 1024 < len(raw(many))
    assert _pointers(client, few) == ["/ingredients/3/name", "/ingredients/3/abv_percent"]
    assert _pointers(client, many) == ["/ingredients/300/name", "/ingredients/300/abv_percent"]


def test_a_large_body_is_answered_as_a_small_one_is(client: Client) -> None:
    small_answer = client.evaluate(raw(full()))
    large_answer = client.evaluate(raw(full()) + b" " * 20_000)
    assert large_answer.status_code == 200
    first, second = small_answer.json(), large_answer.json()
    first["meta"].pop("request_sha256")
    second["meta"].pop("request_sha256")
    assert first == second


@pytest.mark.parametrize(
    ("pointer", "value", "expected"),
    [
        ("/drink/lines/0/amount", {"value": True, "unit": "ml"}, ["/drink/lines/0/amount/value"]),
        ("/drink/lines/0/amount", {"value": 1}, ["/drink/lines/0/amount/unit"]),
        ("/drink/lines/0/amount", {"value": 1, "unit": "ml", "z": 1}, ["/drink/lines/0/amount"]),
        ("/ingredients/0/allergens/milk", {"state": "maybe"}, ["/ingredients/0/allergens/milk/state"]),
        ("/ingredients/0/allergens", {"Milk": "contains"}, ["/ingredients/0/allergens"]),
        ("/ingredients/0/animal_origin", ["Bad One"], ["/ingredients/0/animal_origin/0"]),
        ("/ingredients/0/animal_origin", [], ["/ingredients/0/animal_origin"]),
        ("/ingredients/0/per_100/polyols_g", {"sucrose": 1}, ["/ingredients/0/per_100/polyols_g"]),
        ("/ingredients/0/per_100/polyols_g", {"sorbitol": -1}, ["/ingredients/0/per_100/polyols_g/sorbitol"]),
        ("/pricing/tax", {"rate_percent": 21}, ["/pricing/tax/rate_percent"]),
        ("/pricing/tax", [{"name": "state"}], ["/pricing/tax/0/rate_percent"]),
        ("/pricing/choose", {"pier-rum": "No"}, ["/pricing/choose/pier-rum"]),
        ("/offers/0/deposit", {"amount": "1"}, ["/offers/0/deposit/currency"]),
        ("/offers/0/duty", {"state": "waived"}, ["/offers/0/duty/state"]),
        ("/drink/lines", [], ["/drink/lines"]),
    ],
)
def test_a_field_that_takes_several_forms_has_one_fault(
    client: Client, pointer: str, value: object, expected: list[str]
) -> None:
    assert _pointers(client, replaced(full(), pointer, value)) == expected


def _is_at_or_below(pointer: str, place: str) -> bool:
    return pointer == place or pointer.startswith(place + "/")
