"""Modifiers over HTTP: asked for by ``with``, refused at their place, and as many as the contract allows."""

import hashlib
import time
from typing import Any

import pytest

from schemas.answer import Answer
from tests.api.bodies import full, raw, small
from tests.api.conftest import Client


def modified(*ids: str, **modifier: Any) -> dict[str, Any]:
    body = small()
    body["drink"]["modifiers"] = [{"id": "more", "name": "More", "scale": 2}, {"id": "own", "name": "Own", **modifier}]
    return {**body, "with": list(ids)}


def test_the_answer_is_of_the_modified_drink_and_of_the_documented_model(client: Client) -> None:
    body = raw(modified("more"))
    answer = client.evaluate(body)
    assert answer.status_code == 200, answer.text
    Answer.model_validate_json(answer.content)
    found = answer.json()
    # 10 ml, twice.
    assert found["lines"][0]["volume_ml"] == 20
    assert found["delta"]["with"] == ["more"]
    assert found["meta"]["request_sha256"] == hashlib.sha256(body).hexdigest()


def test_without_with_there_is_no_delta(client: Client) -> None:
    for body in (small(), modified(), {**full(), "with": []}):
        assert "delta" not in client.evaluate(body).json()


def test_every_demo_modifier_is_answered(demo_client: Client) -> None:
    asked = 0
    for row in demo_client.get("/v1/demo/drinks").json()["drinks"]:
        body = demo_client.get(f"/v1/demo/drinks/{row['id']}").json()
        for modifier in body["drink"].get("modifiers", ()):
            answer = demo_client.evaluate({**body, "with": [modifier["id"]]})
            assert answer.status_code == 200, answer.text
            found = answer.json()
            Answer.model_validate(found)
            assert found["cost"]["complete"]
            # A drink that does not fit its glass is none that a bar sells.
            assert 50 < found["serve"]["washline_percent"] < 100
            assert modifier["external_id"].startswith("PLU ")
            asked += 1
    assert asked >= 10


@pytest.mark.parametrize(
    ("body", "pointer", "code"),
    [
        (modified("mor"), "/with/0", "modifier_unknown"),
        (modified("own", remove=["gin"]), "/drink/modifiers/1/remove/0", "modifier_item_missing"),
        (modified("own", add=[{"item": "watr", "amount": "1 ml"}]), "/drink/modifiers/1/add/0/item", "item_unknown"),
        (modified("own", scale=0), "/drink/modifiers/1/scale", "out_of_range"),
        (modified("own", scale=[{"factor": 2}]), "/drink/modifiers/1/scale/0", "scale_one_of"),
        (modified("own", price_delta=1), "/drink/modifiers/1/price_delta", "decimal_text"),
        (modified("own", glass_ml=1), "/drink/modifiers/1", "unknown_field"),
        (modified(*["more"] * 21), "/with", "too_many"),
        (modified("Not An Id"), "/with/0", "malformed"),
        (modified("own", id="more"), "/drink/modifiers", "duplicate_id"),
    ],
)
def test_a_refusal_points_to_its_place(client: Client, body: dict[str, Any], pointer: str, code: str) -> None:
    answer = client.evaluate(body)
    assert answer.status_code == 422
    assert [(fault["pointer"], fault["code"]) for fault in answer.json()["errors"]] == [(pointer, code)]


def test_as_many_modifiers_as_the_contract_allows_are_read(client: Client) -> None:
    """A large body is bounded entry by entry; the largest legal drink is within that bound."""
    line = {
        "item": "water", "amount": {"value": "1", "unit": "ml"}, "role": "pour", "eaten": False, "residue_ml": 0,
        "alternatives": ["water"] * 20, "charge": "used",
    }  # fmt: skip
    body = small()
    body["drink"]["lines"] = [line] * 40
    body["drink"]["modifiers"] = [
        {
            "id": f"m-{number}", "name": "M", "remove": ["ice"] * 20,
            "replace": [{"item": "water", "with": "ice", "amount": {"value": 1, "unit": "g"}}] * 10,
            "scale": [{"item": "water", "factor": 2}] * 10, "add": [line] * 10, "price_delta": "1", "external_id": "x",
        }
        for number in range(60)
    ]  # fmt: skip
    body["drink"]["modifiers"][0] = {"id": "last", "name": "L", "add": [line] * 10}
    body["with"] = ["last"] * 2
    answer = client.evaluate(body)
    assert answer.status_code == 200, answer.text[:500]
    assert len(answer.json()["lines"]) == 60


def test_more_values_than_any_drink_holds_are_refused_at_once(client: Client) -> None:
    body = small() | {"with": ["m"] * 150_000}
    begun = time.perf_counter()
    answer = client.evaluate(body)
    assert time.perf_counter() - begun < 2
    assert [fault["pointer"] for fault in answer.json()["errors"]] == ["/with"]
