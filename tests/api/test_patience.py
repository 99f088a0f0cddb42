"""An answer that takes too long to make is not waited for; a write is, so that what is said of it is true."""

import time
from collections.abc import Iterator
from typing import Any

import pytest

from service.api import stored
from service.settings import Settings
from tests.api.conftest import Client

SLOW_S = 0.4
RUM = {"id": "rum", "name": "Rum", "kind": "spirit", "abv_percent": "40"}


@pytest.fixture
def hasty() -> Iterator[Client]:
    """A service that waits a tenth of a second."""
    made = Client(Settings(answer_timeout_s=0.1))
    yield made
    made.close()


def _slowed(monkeypatch: pytest.MonkeyPatch, name: str) -> None:
    whole = getattr(stored, name)

    def slow(*given: Any) -> Any:
        time.sleep(SLOW_S)
        return whole(*given)

    monkeypatch.setattr(stored, name, slow)


def test_an_answer_that_takes_too_long_is_503_and_others_are_answered(
    hasty: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert hasty.ask("POST", "/v1/ingredients", json=RUM).status_code == 201
    _slowed(monkeypatch, "_read")
    begun = time.monotonic()
    refused = hasty.get("/v1/ingredients/rum")
    assert time.monotonic() - begun < SLOW_S
    assert (refused.status_code, refused.headers["retry-after"]) == (503, "1")
    assert refused.json()["type"] == "urn:washline:problem:answer-timeout"
    assert hasty.get("/v1/ingredients").status_code == 200


def test_a_write_is_waited_for(hasty: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    _slowed(monkeypatch, "_created")
    assert hasty.ask("POST", "/v1/ingredients", json=RUM).status_code == 201
    assert hasty.get("/v1/ingredients/rum").json()["name"] == "Rum"
