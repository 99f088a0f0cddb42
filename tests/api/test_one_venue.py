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
