"""A key for one venue learns nothing of another by what it tries to write there."""

from typing import Any

import pytest

from tests.api.conftest import Client

NOT_PAYABLE = {"name": "Tried", "venue": "terrace", "entries": [{"drink": "quay-sour", "menu_price": "1.234"}]}
"""A menu with a price of more decimals than the venue's currency has, which a trial would name."""
CODE = {"name": "Tried", "jurisdictions": ["ZZ"]}


@pytest.mark.parametrize(
    ("method", "path", "body"),
    [
        ("PUT", "/v1/menus/tried", NOT_PAYABLE), ("POST", "/v1/menus", {"id": "tried", **NOT_PAYABLE}),
        ("PUT", "/v1/venues/terrace", CODE), ("PUT", "/v1/venues/group", CODE), ("PUT", "/v1/venues/none", CODE),
    ],
)  # fmt: skip
def test_a_write_at_another_venue_is_refused_before_it_is_tried(bar: Client, method: str, path: str, body: Any) -> None:
    every, own = bar.key("catalogue:write"), bar.key("catalogue:write", venue="cellar")
    tried = bar.ask(method, path, json=body, headers={**every, "If-Match": "*"})
    assert tried.status_code == 422, "the trial would say nothing, so this shows nothing"
    told = bar.ask(method, path, json=body, headers={**own, "If-Match": "*"})
    assert (told.status_code, told.json()["type"]) == (403, "urn:washline:problem:venue-only")


def test_no_venue_chooses_an_offer_of_another_and_its_own_key_learns_of_none(bar: Client) -> None:
    """Its costs were refused later: an offer of the terrace is none at the cellar."""
    offer = {"item": "pier-rum", "supplier": "quay", "venue": "terrace", "pack": {"size": "1 l"}}
    price = {"amount": "19.00", "currency": "EUR"}
    assert bar.ask("PUT", "/v1/offers/terrace-rum", json={**offer, "price": price}).status_code == 201
    every, own = bar.key("catalogue:write"), bar.key("catalogue:write", venue="cellar")

    def told(key: dict[str, str], item: str, offer_id: str) -> Any:
        body = {"pricing": {"choose": {item: offer_id}}}
        answer = bar.ask("PATCH", "/v1/venues/cellar", json=body, headers={**key, "If-Match": "*"})
        assert answer.status_code == 422, answer.text
        return answer.json()["errors"]

    assert [fault["code"] for fault in told(every, "pier-rum", "terrace-rum")] == ["offer_unknown"]
    for item in ("pier-rum", "orgeat"):
        assert told(own, item, "terrace-rum") == told(own, item, "none-rum")
