"""Each rule and limit of the contract, broken once: the status, the code and the pointer that answer it."""

import json
from typing import Any

import pytest

from tests.api.bodies import full, raw, small
from tests.api.conftest import Client
from tests.api.corpus import chain
from tests.api.places import replaced


def _faults(client: Client, body: Any) -> list[tuple[str, str]]:
    answer = client.evaluate(body)
    assert answer.status_code == 422, answer.text[:400]
    return [(fault["pointer"], fault["code"]) for fault in answer.json()["errors"]]


def _line(**more: Any) -> dict[str, Any]:
    return replaced(small(), "/drink/lines/0", {"item": "water", "amount": "10 ml", **more})


def _ingredient(**more: Any) -> dict[str, Any]:
    return small() | {"ingredients": [{"id": "own-rum", "name": "Rum", **more}]}


def _offer(**more: Any) -> dict[str, Any]:
    offer = {
        "id": "o1",
        "item": "water",
        "supplier": "S",
        "pack": {"size": "1 l"},
        "price": {"amount": "1", "currency": "EUR"},
    }
    return small() | {"offers": [offer | more]}


def _priced(**more: Any) -> dict[str, Any]:
    return small() | {"pricing": {"currency": "EUR", **more}}


def _part(**more: Any) -> dict[str, Any]:
    part = {"id": "own-part", "name": "Part", "lines": [{"item": "water", "amount": "100 ml"}]}
    return replaced(small(), "/drink/lines/0/item", "own-part") | {"preparations": [part | more]}


AMOUNT = "/drink/lines/0/amount"


@pytest.mark.parametrize(
    ("amount", "code"),
    [
        ("0 ml", "amount_not_positive"),
        ("0", None),
        ("-1 ml", "amount_not_positive"),
        ("\u22121 ml", None),
        ("100.1 l", "amount_too_large"),
        ("100.1 kg", "amount_too_large"),
        ("1_000 ml", None),
        ("\u0661\u0662 ml", None),
        ("\uff11\uff12 ml", None),
        ("1e3 ml", None),
        ("NaN ml", None),
        ("Infinity ml", None),
        ("1,5 ml", "decimal_comma"),
        ("1/0 oz", None),
        ("1 furlong", "unit_unknown"),
        ("1 shot", "unit_ambiguous"),
        ("ml", None),
        ("1 ml 2 ml", None),
        ("9" * 12 + " ml", "amount_too_large"),
        ("9" * 60 + " ml", None),
    ],
)
def test_an_amount_that_cannot_be_read_or_poured(client: Client, amount: str, code: str | None) -> None:
    found = _faults(client, _line(amount=amount))
    assert [pointer for pointer, _ in found] == [AMOUNT]
    assert code is None or found[0][1] == code


@pytest.mark.parametrize("amount", ["100 l", "100 kg", "0.001 ml"])
def test_an_amount_at_the_limit_is_taken(client: Client, amount: str) -> None:
    assert client.evaluate(_line(amount=amount)).status_code == 200


@pytest.mark.parametrize(
    ("body", "expected"),
    [
        (_ingredient(abv_percent=100.01), ("/ingredients/0/abv_percent", "out_of_range")),
        (_ingredient(abv_percent=-0.1), ("/ingredients/0/abv_percent", "out_of_range")),
        (_ingredient(abv_percent=True), ("/ingredients/0/abv_percent", "number")),
        (_ingredient(abv_percent="4_0"), ("/ingredients/0/abv_percent", "number")),
        (_ingredient(density_g_per_ml=0), ("/ingredients/0/density_g_per_ml", "out_of_range")),
        (_ingredient(kind="vodka"), ("/ingredients/0/kind", "not_allowed")),
        (_ingredient(pieces={"wheel": {"g": 1, "share": 0.1}}), ("/ingredients/0/pieces/wheel", "piece_one_of")),
        (_ingredient(pieces={"wheel": {"share": 0}}), ("/ingredients/0/pieces/wheel/share", "out_of_range")),
        (_ingredient(open_life_days="indefinite"), ("/ingredients/0/open_life_days", "whole_number")),
        (_offer(pack={"count": 0, "size": "1 l"}), ("/offers/0/pack/count", "out_of_range")),
        (_offer(pack={"count": -1, "size": "1 l"}), ("/offers/0/pack/count", "out_of_range")),
        (_offer(pack={"count": 1.5, "size": "1 l"}), ("/offers/0/pack/count", "whole_number")),
        (_offer(price={"amount": "-1", "currency": "EUR"}), ("/offers/0/price/amount", "out_of_range")),
        (_offer(price={"amount": 1, "currency": "EUR"}), ("/offers/0/price/amount", "decimal_text")),
        (_offer(price={"amount": "1.0", "currency": "eur"}), ("/offers/0/price/currency", "malformed")),
        (_offer(discount_percent="100.5"), ("/offers/0/discount_percent", "out_of_range")),
        (_offer(tax_included=True), ("/offers/0", "tax_rate_missing")),
        (_offer(tax_included="yes"), ("/offers/0/tax_included", "wrong_type")),
        (_offer(valid_from="2026-02-30"), ("/offers/0/valid_from", "date")),
        (_offer(valid_from="2026-02-02", valid_to="2026-02-01"), ("/offers/0", "validity_reversed")),
        (_offer(gtin="952012345678"), ("/offers/0/gtin", "gtin_check_digit")),
        (_offer(gtin="9520123456789"), ("/offers/0/gtin", "gtin_check_digit")),
        (_offer(gtin="95201"), ("/offers/0/gtin", "malformed")),
        (_offer(deposit={"amount": "1", "currency": "USD"}), ("/offers/0", "currency_mixed")),
        (_offer(pack={"size": "0 ml"}), ("/offers/0/pack/size", "amount_not_positive")),
        (_offer(pack={"size": "fill"}), ("/offers/0/pack/size", None)),
        (_priced(target={}), ("/pricing/target", "target_empty")),
        (_priced(target={"gross_margin_percent": "100"}), ("/pricing/target/gross_margin_percent", "out_of_range")),
        (_priced(target={"gross_margin_percent": "1e2"}), ("/pricing/target/gross_margin_percent", "decimal_text")),
        (_priced(target={"gross_margin_percent": "-1"}), ("/pricing/target/gross_margin_percent", "out_of_range")),
        (_priced(target={"gross_margin_percent": 78}), ("/pricing/target/gross_margin_percent", "decimal_text")),
        (_priced(target={"pour_cost_percent": "0"}), ("/pricing/target/pour_cost_percent", "out_of_range")),
        (_priced(target={"pour_cost_percent": "100.01"}), ("/pricing/target/pour_cost_percent", "out_of_range")),
        (_priced(round={"to": "0"}), ("/pricing/round/to", "out_of_range")),
        (_priced(round={"ending": "95"}), ("/pricing/round/ending", "malformed")),
        (_priced(round={"to": "1", "ending": ".95"}), ("/pricing/round", "round_one_of")),
        (_priced(tax=[]), ("/pricing/tax", "too_few")),
        (
            _line(item="lime-juice") | {"pricing": {"currency": "EUR", "choose": {"lime-juice": "nowhere"}}},
            ("/pricing/choose/lime-juice", "offer_unknown"),
        ),
        (_part(**{"yield": {}}), ("/preparations/0/yield", "yield_one_of")),
        (_part(**{"yield": {"loss_percent": 1, "amount": "1 ml"}}), ("/preparations/0/yield", "yield_one_of")),
        (_part(**{"yield": {"amount": "103 ml"}}), ("/preparations/0/yield/amount", "yield_exceeds_inputs")),
        (_part(shelf_life_days="indefinite"), ("/preparations/0/shelf_life_days", "whole_number")),
        (_part(shelf_life_days=3651), ("/preparations/0/shelf_life_days", "out_of_range")),
        (_part(lines=[]), ("/preparations/0/lines", "too_few")),
        (_part(id="Own Part"), ("/preparations/0/id", "malformed")),
        (small() | {"jurisdictions": ["UK"]}, ("/jurisdictions/0", "jurisdiction_unknown")),
        (small() | {"jurisdictions": ["EU", "XX"]}, ("/jurisdictions/1", "jurisdiction_unknown")),
        (small() | {"jurisdictions": ["eu"]}, ("/jurisdictions/0", "malformed")),
        (small() | {"jurisdictions": []}, ("/jurisdictions", "too_few")),
        (small() | {"include": ["costs"]}, ("/include/0", "not_allowed")),
        (small() | {"as_of": "2026-13-01"}, ("/as_of", "date")),
        (small() | {"trace": 1}, ("/trace", "wrong_type")),
        (small() | {"measures": {"dash_ml": 0}}, ("/measures/dash_ml", "out_of_range")),
        (
            small() | {"measures": {"water_fraction": {"stirred": -1}}},
            ("/measures/water_fraction/stirred", "out_of_range"),
        ),
        (replaced(small(), "/drink/serves", 0), ("/drink/serves", "out_of_range")),
        (replaced(small(), "/drink/serves", True), ("/drink/serves", "whole_number")),
        (replaced(small(), "/drink/method", {"kind": "shaken", "water": {}}), ("/drink/method/water", "water_one_of")),
        (
            replaced(small(), "/drink/method", {"water": {"ice_g": 100, "ice_c": 1}}),
            ("/drink/method/water", "ice_temperature"),
        ),
        (replaced(small(), "/drink/serve", {"glass_ml": 100, "line_ml": 101}), ("/drink/serve", "line_above_brim")),
        (_line(amount="fill"), (AMOUNT, "fill_role")),
        (_line(item="lime-juic"), ("/drink/lines/0/item", "item_unknown")),
        (_line(alternatives=["lime-juic"]), ("/drink/lines/0/alternatives/0", "item_unknown")),
    ],
)
def test_a_broken_rule_is_one_fault_at_its_field(
    client: Client, body: dict[str, Any], expected: tuple[str, str | None]
) -> None:
    found = _faults(client, body)
    pointers = [pointer for pointer, _ in found]
    assert expected[0] in pointers
    assert expected[1] is None or expected in found


def test_an_unknown_item_names_the_nearest_ids_and_does_not_repeat_a_wrong_text(client: Client) -> None:
    answer = client.evaluate(_line(item="lime-juic")).json()
    assert "lime-juice" in answer["errors"][0]["detail"]
    assert "lime juic" not in client.evaluate(_line(item="Lime juic")).text.casefold()


def test_a_circle_is_refused_with_its_path(client: Client) -> None:
    body = chain(3)
    body["preparations"][2]["lines"][0]["item"] = "level-1"
    answer = client.evaluate(body).json()
    assert answer["errors"][0]["code"] == "cycle"
    assert answer["errors"][0]["pointer"].startswith("/preparations/")
    assert all(f"level-{level}" in answer["errors"][0]["detail"] for level in (1, 2, 3))


@pytest.mark.parametrize("count", [1, 2, 500])
def test_circles_of_any_size_are_refused(client: Client, count: int) -> None:
    body = chain(count)
    body["preparations"][-1]["lines"][0]["item"] = "level-1"
    assert {code for _, code in _faults(client, body)} <= {"cycle", "too_deep"}


def test_a_chain_of_five_hundred_parts_is_too_deep(client: Client) -> None:
    assert [code for _, code in _faults(client, chain(500))] == ["too_deep"]


def test_a_diamond_of_many_paths_is_computed_once(client: Client) -> None:
    """16 levels of parts that each name the next twice have 65,536 paths."""
    body = chain(16)
    for part in body["preparations"][:-1]:
        part["lines"] = part["lines"] * 2
    assert client.evaluate(body).status_code == 200


@pytest.mark.parametrize(
    "body",
    [
        small() | {"ingredients": [{"id": "a", "name": "A"}, {"id": "a", "name": "B"}]},
        small() | {"preparations": [{"id": "a", "name": "A", "lines": [{"item": "water", "amount": "1 ml"}]}] * 2},
    ],
)
def test_an_id_twice_is_pointed_to_where_it_is_repeated(client: Client, body: dict[str, Any]) -> None:
    name = "ingredients" if "ingredients" in body else "preparations"
    assert _faults(client, body) == [(f"/{name}/1/id", "duplicate_id")]


@pytest.mark.parametrize(
    "key",
    ["constructor", "__class__", "model_config", "yield_", "from_", "__pydantic_extra__", "model_fields_set"],
)
def test_names_of_the_inside_are_unknown_fields(client: Client, key: str) -> None:
    assert _faults(client, small() | {key: {}}) == [("", "unknown_field")]
    part = _part()
    part["preparations"][0][key] = {}
    assert _faults(client, part) == [("/preparations/0", "unknown_field")]


def test_rates_that_are_needed_and_missing_are_asked_for(client: Client) -> None:
    body = full()
    body["pricing"]["rates"] = []
    found = _faults(client, body)
    assert found[0][1] == "rate_missing"
    assert found[0][0].startswith("/pricing/rates")


def test_cost_shares_are_exactly_a_hundred(client: Client) -> None:
    body = full()
    body["preparations"][1]["outputs"][0]["cost_share_percent"] = "60.000001"
    assert _faults(client, body) == [("/preparations/1/outputs", "cost_shares")]


@pytest.mark.parametrize(
    "name", ["a\u0000b", "a\u202eb", "a\u200bb", "a\u2066b", "\ufeffa", "a\u00adb", "a\u3164b", "a\U000e0041b"]
)
def test_a_text_with_an_invisible_character_is_refused(client: Client, name: str) -> None:
    assert _faults(client, replaced(small(), "/drink/name", name)) == [("/drink/name", "text_character")]


def test_a_text_is_answered_in_normalisation_form_c(client: Client) -> None:
    """UAX 15: both spellings are one text."""
    answers = [
        client.evaluate(replaced(small(), "/drink/name", name)).json()["drink"]["name"]
        for name in ("e\u0301", "\u00e9")
    ]
    assert answers == ["\u00e9", "\u00e9"]


@pytest.mark.parametrize(
    "media_type", ["text/plain", "application/xml", "application/json; charset=utf-16", "multipart/form-data", "json"]
)
def test_another_media_type_is_415(client: Client, media_type: str) -> None:
    answer = client.ask("POST", "/v1/evaluate", content=raw(small()), headers={"Content-Type": media_type})
    assert answer.status_code == 415
    assert answer.headers["content-type"] == "application/problem+json"
    assert answer.json()["type"] == "urn:washline:problem:media-type"


@pytest.mark.parametrize(
    "media_type",
    [
        "application/json",
        "Application/JSON",
        "application/json; charset=utf-8",
        'application/json;charset="UTF-8"',
        "application/vnd.bar+json",
    ],
)
def test_json_under_its_names_is_taken(client: Client, media_type: str) -> None:
    answer = client.ask("POST", "/v1/evaluate", content=raw(small()), headers={"Content-Type": media_type})
    assert answer.status_code == 200


@pytest.mark.parametrize("encoding", ["gzip", "br", "deflate", "zstd", "identity, gzip"])
def test_a_content_encoding_is_415_and_nothing_is_unpacked(client: Client, encoding: str) -> None:
    headers = {"Content-Type": "application/json", "Content-Encoding": encoding}
    answer = client.ask("POST", "/v1/evaluate", content=b"\x1f\x8b", headers=headers)
    assert answer.status_code == 415


def test_an_answer_to_bad_input_is_a_problem_of_rfc_9457(client: Client) -> None:
    answer = client.evaluate(b"[")
    assert json.loads(answer.content) == {
        "type": "urn:washline:problem:not-json",
        "title": "Bad Request",
        "status": 400,
        "detail": "The body is not JSON (RFC 8259): no comments, no NaN, no byte order mark, nothing after the end.",
    }
    assert answer.headers["content-type"] == "application/problem+json"
    assert answer.headers["cache-control"] == "no-store"


@pytest.mark.parametrize(
    ("body", "detail"),
    [
        (_line(item="Lime"), "an id: lower-case letters, digits and hyphens, at most 64 of them, such as lime-juice."),
        (small() | {"jurisdictions": ["uk"]}, "EU or an ISO 3166 code in capitals, such as GB or US-UT."),
        (
            _offer(price={"amount": "1", "currency": "euro"}),
            "an ISO 4217 code of three capital letters, such as EUR.",
        ),
        (
            _ingredient(animal_origin=["Fish"]),
            "one lower-case word of letters, digits and low lines, such as fish_gelatine.",
        ),
        (_line(amount=5), "text or an object."),
        (_ingredient(abv_percent=101), "a figure of at most 100."),
        (_line(role="float"), "'pour', 'top', 'rinse', 'garnish' or 'consumable'."),
    ],
)
def test_the_text_of_a_fault_says_what_was_expected(client: Client, body: dict[str, Any], detail: str) -> None:
    assert [fault["detail"] for fault in client.evaluate(body).json()["errors"]] == [f"Expected {detail}"]


@pytest.mark.parametrize(
    ("body", "detail"),
    [
        (replaced(small(), "/drink/name", ""), "The text is too short; it needs 1 or more characters."),
        (replaced(small(), "/drink/lines", []), "The list is too short; it needs 1 or more entries."),
        (small() | {"colour": "red"}, "The object at this pointer has a field that the contract does not know."),
    ],
)
def test_the_text_of_a_fault_says_what_is_wrong(client: Client, body: dict[str, Any], detail: str) -> None:
    assert [fault["detail"] for fault in client.evaluate(body).json()["errors"]] == [detail]
