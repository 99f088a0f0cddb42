"""The language over HTTP: ``lang`` before Accept-Language, the headers of the answer, what is malformed."""

from typing import Any

import httpx
import pytest

from tests.api.conftest import Client

VARY = "Accept, Accept-Language, Authorization"

BODY: dict[str, Any] = {
    "drink": {"id": "d", "name": "D", "lines": [{"item": "gin", "amount": "50 ml"}]},
    "ingredients": [{"id": "gin", "name": "Gin", "kind": "spirit", "abv_percent": 40}],
}


def asked(client: Client, path: str = "/v1/evaluate", header: str | None = None) -> httpx.Response:
    headers = {} if header is None else {"Accept-Language": header}
    return client.ask("POST", path, json=BODY, headers=headers)


def test_nothing_asked_for_is_english_and_unmarked(client: Client) -> None:
    response = asked(client)
    assert (response.headers["content-language"], response.headers["vary"]) == ("en", VARY)
    assert "labels" not in response.json()


@pytest.mark.parametrize(
    ("path", "header", "lang", "fallback"),
    [
        ("/v1/evaluate", "fr-CA, en;q=0.5", "fr", False),
        ("/v1/evaluate?lang=de", "fr", "de", False),
        ("/v1/evaluate?lang=pt-BR", "", "pt", False),
        ("/v1/evaluate?lang=tlh", "fr", "en", True),
        ("/v1/evaluate", "tlh, *;q=0.5", "en", None),
        ("/v1/evaluate", "\t;;q=9,", "en", None),
    ],
)
def test_the_language_of_the_answer(client: Client, path: str, header: str, lang: str, fallback: bool | None) -> None:
    response = asked(client, path, header)
    assert response.status_code == 200
    assert response.headers["content-language"] == lang
    assert response.headers["vary"] == VARY
    found = response.json()
    assert found.get("labels", {}).get("fallback") is fallback
    if fallback is not None:
        assert found["labels"]["lang"] == lang
        assert found["allergens"]["declarations"][0]["fallback"] is fallback


@pytest.mark.parametrize(
    "query", ["lang=", "lang=fr_FR", "lang=%00", "lang=" + "a" * 5000, "lang=fr&lang=de", "lang=*"]
)
def test_a_malformed_tag_is_refused_with_its_place(client: Client, query: str) -> None:
    response = asked(client, f"/v1/evaluate?{query}")
    assert response.status_code == 422
    assert [fault["pointer"] for fault in response.json()["errors"]] == ["/lang"]
