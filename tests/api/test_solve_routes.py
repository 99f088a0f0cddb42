"""The desk through the whole service: scopes, refusals with their places, the same bytes, large bodies."""

import json
from typing import Any

import pytest

from schemas._base import Output
from service.settings import Settings
from service.store import keys
from tests.api.conftest import Client

DRINK = {
    "id": "sour", "name": "Sour", "method": {"kind": "shaken"},
    "lines": [{"item": "rum", "amount": "50 ml"}, {"item": "lime-juice", "amount": "25 ml"},
              {"item": "simple-syrup-1-1", "amount": "20 ml"}],
}  # fmt: skip
OFFERS = [
    {"id": f"q{number}", "item": item, "supplier": "Example Quay Supply", "pack": {"size": "1 l"},
     "price": {"amount": "20.00", "currency": "EUR"}}
    for number, item in enumerate(("rum", "lime-juice", "simple-syrup-1-1"))
]  # fmt: skip
RUM = {"id": "rum", "name": "Rum", "kind": "spirit", "abv_percent": 40}
BASE: dict[str, Any] = {"drink": DRINK, "ingredients": [RUM], "offers": OFFERS, "as_of": "2026-11-25"}
FREE = [{"line": 0, "max": 80}, {"line": 2, "max": 40}]

ASKED: dict[str, dict[str, Any]] = {
    "scale": {**BASE, "to": {"serves": 10}},
    "compare": {"drinks": [BASE, BASE]},
    "substitute": {**BASE, "item": "simple-syrup-1-1", "by": "rich-syrup-2-1", "hold": ["sugars"]},
    "reformulate": {**BASE, "goals": [{"figure": "sugars_g", "max": 10}], "free": FREE},
    "make-part": {
        "id": "syrup", "name": "Syrup", "part": {"kind": "syrup", "brix": 50, "make_ml": 1000},
        "offers": OFFERS, "as_of": "2026-11-25",
    },
}  # fmt: skip

MONEY = {"cost", "money", "purchases", "pour_cost", "price", "supplier", "offer"}


@pytest.fixture(scope="module")
def reader() -> Any:
    """A service with keys, and what to send with each scope."""
    client = Client(Settings(demo=False))
    texts = {}
    with client.app.state.store.writing() as connection:
        for scope in keys.SCOPES:
            texts[scope] = keys.new_key(connection, scope, (scope,), None, None)[1]
    yield client, {scope: {"Authorization": f"Bearer {text}"} for scope, text in texts.items()}
    client.close()


def names(value: Any) -> set[str]:
    """Every key anywhere in an answer."""
    if isinstance(value, dict):
        return set(value).union(*(names(one) for one in value.values())) if value else set()
    return set().union(*(names(one) for one in value)) if isinstance(value, list) and value else set()


@pytest.mark.parametrize("question", ASKED)
def test_money_is_for_keys_that_read_costs(question: str, reader: Any) -> None:
    client, headers = reader
    for scope in ("costs:read", "labels:read", "margins:read", "catalogue:write"):
        answer = client.ask("POST", f"/v1/{question}", json=ASKED[question], headers=headers[scope])
        assert answer.status_code == 200, answer.text
        assert bool(names(answer.json()) & MONEY) is (scope == "costs:read"), scope
    answer = client.ask("POST", f"/v1/{question}", json=ASKED[question], headers=headers["keys:admin"])
    assert answer.status_code == 403


def test_a_goal_for_the_cost_is_refused_to_who_may_not_see_it(reader: Any) -> None:
    client, headers = reader
    body = {**BASE, "goals": [{"figure": "cost", "max": 1}], "free": FREE}
    assert client.ask("POST", "/v1/reformulate", json=body, headers=headers["costs:read"]).status_code == 200
    refused = client.ask("POST", "/v1/reformulate", json=body, headers=headers["labels:read"])
    assert refused.status_code == 403
    assert "costs:read" in refused.json()["detail"]


@pytest.mark.parametrize("question", ASKED)
def test_the_same_request_gives_the_same_bytes(question: str, client: Client) -> None:
    body = json.dumps(ASKED[question])
    head = {"Content-Type": "application/json"}
    first = client.ask("POST", f"/v1/{question}", content=body, headers=head)
    client.app.state.answers._kept.clear()
    assert client.ask("POST", f"/v1/{question}", content=body, headers=head).content == first.content


@pytest.mark.parametrize("question", ASKED)
def test_an_answer_is_what_is_documented(question: str, client: Client) -> None:
    from schemas import compare_answer, part_answer, reformulate_answer, scale_answer, substitute_answer

    models: dict[str, type[Output]] = {
        "scale": scale_answer.ScaleAnswer, "compare": compare_answer.CompareAnswer,
        "substitute": substitute_answer.SubstituteAnswer,
        "reformulate": reformulate_answer.ReformulateAnswer,
        "make-part": part_answer.MakePartAnswer,
    }  # fmt: skip
    answer = client.ask("POST", f"/v1/{question}", json=ASKED[question])
    models[question].model_validate(answer.json())


@pytest.mark.parametrize(
    ("question", "body", "pointer", "code"),
    [
        ("scale", {**BASE, "to": {}}, "/to", "scale_to_one_of"),
        ("scale", {**BASE, "to": {"serves": 1}, "colour": "red"}, "", "unknown_field"),
        ("compare", {"drinks": [BASE, {**BASE, "colour": "red"}]}, "/drinks/1", "unknown_field"),
        ("compare", {"drinks": [BASE] * 9}, "/drinks", "too_many"),
        ("compare", {"drinks": [BASE, {"drink": {**DRINK, "lines": [{"item": "nothing-here", "amount": "1 ml"}]}}]},
         "/drinks/1/drink/lines/0/item", "item_unknown"),
        ("substitute", {**ASKED["substitute"], "by": "simple-syrup-1-1"}, "", "named_twice"),
        ("reformulate", {**ASKED["reformulate"], "goals": [{"figure": "sugars_g"}]}, "/goals/0", "goal_empty"),
        ("make-part", {**ASKED["make-part"], "part": {"kind": "potion"}}, "/part", "union_tag_invalid"),
        ("make-part", {**ASKED["make-part"], "part": {"kind": "syrup", "make_ml": 5}}, "/part/brix", "missing"),
    ],
)  # fmt: skip
def test_refusals_say_where(question: str, body: Any, pointer: str, code: str, client: Client) -> None:
    answer = client.ask("POST", f"/v1/{question}", json=body)
    assert answer.status_code == 422
    assert {"pointer": pointer, "code": code} in [
        {"pointer": row["pointer"], "code": row["code"]} for row in answer.json()["errors"]
    ], answer.text


@pytest.mark.parametrize("question", ["scale", "substitute", "reformulate", "make-part"])
def test_a_large_body_is_read_entry_by_entry(question: str, client: Client) -> None:
    many = [{"id": f"item-{number}", "name": "Item", "abv_percent": 200} for number in range(900)]
    answer = client.ask("POST", f"/v1/{question}", json={**ASKED[question], "ingredients": many})
    assert answer.status_code == 422
    assert len(answer.json()["errors"]) == 100


def test_a_comparison_comes_as_a_drawing_and_as_a_page_by_accept(client: Client) -> None:
    """The same figures in each: strength is in the drawing as it is in the JSON."""
    body = {"drinks": [BASE, BASE]}
    told = client.ask("POST", "/v1/compare", json=body).json()
    for media_type in ("image/svg+xml", "text/html"):
        answer = client.ask("POST", "/v1/compare", json=body, headers={"Accept": media_type})
        assert answer.status_code == 200
        assert answer.headers["content-type"].startswith(media_type)
        assert answer.headers["vary"] == "Accept, Accept-Language, Authorization"
        assert answer.headers["content-security-policy"].startswith("default-src 'none'")
        assert answer.text.count(f"{told['drinks'][0]['abv_percent']}\u00a0% vol") >= 2
    assert client.ask("POST", "/v1/compare", json=body, headers={"Accept": "text/csv"}).status_code == 406


def test_a_comparison_is_told_in_the_language_asked_for(client: Client) -> None:
    """Words of data/languages; the names of allergens are those of Regulation (EU) 1169/2011, Annex II."""
    eggs = {**BASE, "drink": {**DRINK, "lines": [*DRINK["lines"], {"item": "egg-white", "amount": "1 each"}]}}
    body = {"drinks": [BASE, eggs]}
    plain = client.ask("POST", "/v1/compare", json=body)
    assert "labels" not in plain.json() and plain.headers["content-language"] == "en"
    french = client.ask("POST", "/v1/compare?lang=fr", json=body)
    labels = french.json().pop("labels")
    assert (french.headers["content-language"], labels["lang"], labels["missing"]) == ("fr", "fr", [])
    assert (labels["headings"]["contains"], labels["headings"]["abv_percent"]) == (
        "Contient",
        "Titre alcoométrique au service",
    )
    assert ("allergen.eggs", "œufs") in [(term["key"], term["text"]) for term in labels["terms"]]
    assert {name: one for name, one in french.json().items() if name != "labels"} == plain.json()
    strength = plain.json()["drinks"][0]["abv_percent"]
    for media_type in ("image/svg+xml", "text/html"):
        headers = {"Accept": media_type, "Accept-Language": "fr-CA, en;q=0.2"}
        told = client.ask("POST", "/v1/compare", json=body, headers=headers)
        assert told.headers["content-language"] == "fr"
        assert labels["headings"]["water_added_ml"] in told.text
        assert f"{str(strength).replace('.', ',')}\u00a0% vol" in told.text
    assert 'lang="fr" xml:lang="fr"' in told.text and "œufs" in told.text
    # What is said in English alone says so, and a language that is not held is English, marked.
    assert '<span lang="en">Figures are of one serve' in told.text
    danish = client.ask("POST", "/v1/compare?lang=da", json=body).json()["labels"]
    assert (danish["lang"], danish["fallback"]) == ("en", True)
    assert "print.compare_water" in danish["missing"]
    assert client.ask("POST", "/v1/compare?lang=f_r", json=body).status_code == 422


def test_the_words_of_a_comparison_show_no_money_where_the_answer_has_none(reader: Any) -> None:
    client, headers = reader
    labels = client.ask("POST", "/v1/compare?lang=de", json=ASKED["compare"], headers=headers["labels:read"]).json()
    assert not {"pour_cost", "suggested_price"} & set(labels["labels"]["headings"])
    told = client.ask("POST", "/v1/compare?lang=de", json=ASKED["compare"], headers=headers["costs:read"]).json()
    assert told["labels"]["headings"]["pour_cost"] == "Kosten"
