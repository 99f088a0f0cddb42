"""POST /v1/evaluate through the whole service: the contract's example, sections, defaults, the same bytes each time."""

import hashlib
import json
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from schemas.answer import Answer
from schemas.evaluation import SECTIONS
from tests.api.bodies import full, raw, small
from tests.api.conftest import Client

ROOT = Path(__file__).parents[2]


def fog_signal() -> dict[str, Any]:
    """The example of the contract with the offers it says its numbers follow from."""
    return {
        "drink": {
            "id": "fog-signal",
            "name": "Fog Signal",
            "lines": [
                {"item": "rum-aged-46", "amount": "50 ml"},
                {"item": "smoked-tea-syrup", "amount": "15 ml"},
                {"item": "lime-juice", "amount": "3/4 oz (22.5 ml)"},
                {"item": "aromatic-bitters", "amount": {"value": "2", "unit": "dash"}},
                {"item": "lime", "amount": "1 wheel", "role": "garnish"},
            ],
            "method": {"kind": "shaken"},
            "serve": {"glass_ml": 180, "ice": {"kind": "none"}},
        },
        "ingredients": [
            {
                "id": "rum-aged-46", "name": "Aged rum, 46 %", "kind": "spirit", "abv_percent": 46,
                "process": ["distilled"], "allergens": {}, "allergens_declared": "complete",
            }
        ],
        "preparations": [
            {
                "id": "smoked-tea-syrup",
                "name": "Smoked tea syrup",
                "lines": [
                    {"item": "white-sugar", "amount": "500 g"},
                    {"item": "water", "amount": "500 g"},
                    {"item": "smoked-tea", "amount": "20 g", "strained_out": True, "absorbs_ml": 40},
                ],
                "yield": {"loss_percent": "4"},
                "shelf_life_days": 14,
                "storage": "chilled",
            }
        ],
        "offers": [
            _offer("q1", "rum-aged-46", 6, "700 ml", "141.00"),
            _offer("q2", "lime", 1, "1 each", "0.30"),
            _offer("q3", "white-sugar", 1, "1 kg", "1.20"),
            _offer("q4", "smoked-tea", 1, "1 kg", "30.00"),
            _offer("q5", "aromatic-bitters", 1, "200 ml", "14.00"),
        ],
        "pricing": {
            "currency": "EUR",
            "target": {"gross_margin_percent": "78"},
            "tax": {"rate_percent": "21", "included": True},
            "round": {"to": "0.50", "mode": "up"},
            "allowances": {"over_pour_percent": "3", "spillage_percent": "1"},
            "menu_price": "13.00",
        },
        "measures": {"ounce": "us"},
        "jurisdictions": ["EU", "US"],
        "as_of": "2026-11-25",
    }  # fmt: skip


def _offer(offer: str, item: str, count: int, size: str, amount: str) -> dict[str, Any]:
    price = {"amount": amount, "currency": "EUR"}
    return {
        "id": offer,
        "item": item,
        "supplier": "Example Quay Supply",
        "pack": {"count": count, "size": size},
        "price": price,
    }


def test_the_contracts_example_has_the_contracts_figures(client: Client) -> None:
    """Source: the contract's own example answer, "shown to explain"; its figures are within display rounding."""
    answer = client.evaluate(fog_signal()).json()
    assert answer["serve"]["undiluted_ml"] == pytest.approx(88.66, abs=0.15)
    assert answer["serve"]["dilution"]["fraction"] == pytest.approx(0.5568, abs=0.0002)
    assert answer["alcohol"]["abv_percent"] == pytest.approx(17.17, abs=0.05)
    assert answer["alcohol"]["ethanol_g"] == pytest.approx(18.72, abs=0.01)
    assert answer["lines"][0]["cost"] == "1.678571"
    assert answer["cost"]["pour_cost"] == "2.16"
    assert answer["price"]["suggested"] == "12.00"
    assert answer["price"]["net"] == "9.92"
    assert answer["price"]["at_menu_price"]["gross_margin_percent"] == "79.9"
    declared = answer["allergens"]["declarations"][0]
    assert declared["contains"] == []
    assert declared["cross_contact"] == "not_assessed"


@pytest.mark.parametrize("body", [small(), full(), fog_signal()], ids=["small", "full", "contract"])
def test_an_answer_is_of_the_documented_model(client: Client, body: dict[str, Any]) -> None:
    for trace in (False, True):
        answer = client.evaluate(body | {"trace": trace})
        assert answer.status_code == 200
        Answer.model_validate_json(answer.content)


@pytest.mark.parametrize("section", SECTIONS)
def test_a_section_that_was_not_asked_for_is_absent_and_not_null(client: Client, section: str) -> None:
    alone = client.evaluate(fog_signal() | {"include": [section]}).json()
    assert set(alone) & set(SECTIONS) == {section}
    rest = client.evaluate(fog_signal() | {"include": [other for other in SECTIONS if other != section]}).json()
    assert section not in rest


def test_what_is_left_out_takes_its_default(client: Client) -> None:
    answer = client.evaluate(small()).json()
    assert set(SECTIONS) - set(answer) <= {"price"}
    assert answer["meta"]["as_of"] == datetime.now(UTC).date().isoformat()
    assert [row["jurisdiction"] for row in answer["allergens"]["declarations"]] == ["EU"]


def test_an_answer_names_its_request_and_versions(client: Client) -> None:
    body = raw(small())
    answer = client.evaluate(body)
    ready = client.get("/readyz").json()
    assert answer.json()["meta"]["request_sha256"] == hashlib.sha256(body).hexdigest()
    assert answer.json()["meta"]["rules_version"] == ready["rules_version"]
    assert answer.json()["meta"]["reference_version"] == ready["reference_version"]
    assert answer.headers["content-type"] == "application/json"
    assert answer.headers["cache-control"] == "no-store"


def test_the_demos_drinks_are_answered_from_its_catalogue(demo_client: Client) -> None:
    rows = demo_client.get("/v1/demo/drinks").json()["drinks"]
    assert len(rows) >= 13
    for row in rows:
        body = demo_client.get(f"/v1/demo/drinks/{row['id']}")
        assert body.status_code == 200
        answer = demo_client.evaluate(body.json())
        assert answer.status_code == 200, f"{row['id']}: {answer.text[:300]}"
        assert answer.json()["drink"]["name"] == row["name"]


def test_without_the_demo_its_addresses_and_items_are_not_there(client: Client, demo_client: Client) -> None:
    assert client.get("/v1/demo/drinks").status_code == 404
    drink = demo_client.get("/v1/demo/drinks").json()["drinks"][0]["id"]
    assert client.evaluate(demo_client.get(f"/v1/demo/drinks/{drink}").json()).status_code == 422


def test_fill_stands_beside_alternatives(client: Client) -> None:
    """The strength of an alternative is told with the glass filled as it is, not filled a second time."""
    body = small()
    body["drink"]["lines"] = [
        {"item": "gin-43", "amount": "40 ml", "alternatives": ["gin-47"]},
        {"item": "tonic-water", "amount": "fill", "role": "top"},
    ]
    body["drink"]["serve"] = {"glass_ml": 200}
    answer = client.evaluate(body)
    assert answer.status_code == 200, answer.text
    assert answer.json()["lines"][1]["volume_ml"] == pytest.approx(160, abs=0.5)


def test_the_same_request_gives_the_same_bytes_whatever_the_hash_seed() -> None:
    """P10: sets and dictionaries of texts come in another order under another seed; the answer must not."""
    script = (
        "import sys, json; from datetime import date\n"
        "from service.api.evaluations import evaluated\n"
        "from service.lookup import EMPTY_CATALOGUE\n"
        "from service.reference import reference\n"
        "for body in json.load(sys.stdin):\n"
        "    out = evaluated(body.encode(), date(2026, 11, 25), ('EU',), reference(), EMPTY_CATALOGUE)\n"
        "    sys.stdout.buffer.write(out + b'\\n')\n"
    )
    asked = [
        full(),
        full() | {"trace": True},
        fog_signal() | {"jurisdictions": ["GB-SCT", "US", "JP", "AU", "CA"]},
        small(),
    ]
    bodies = json.dumps([raw(body).decode() for body in asked]).encode()
    answers = {
        subprocess.run(
            [sys.executable, "-c", script],
            input=bodies, capture_output=True, check=True, cwd=ROOT, env={"PYTHONHASHSEED": seed, "PATH": ""},
        ).stdout
        for seed in ("0", "1", "2")
    }  # fmt: skip
    assert len(answers) == 1
    assert answers.pop().count(b"\n") == len(asked)
