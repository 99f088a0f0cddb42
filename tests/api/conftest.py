"""The service without a socket: its ASGI application asked through httpx from plain tests."""

import asyncio
import threading
from collections.abc import Callable, Coroutine, Iterator
from typing import Any

import httpx
import pytest

from service.api.app import create_app
from service.settings import Settings
from service.store.keys import new_key
from tests.databases import BACKENDS


class Client:
    """Asks one application; an exception that leaves it fails the test."""

    def __init__(self, settings: Settings) -> None:
        self.app = create_app(settings)
        self._loop = asyncio.new_event_loop()
        self._ended = asyncio.Event()
        self._thread = threading.Thread(target=self._loop.run_until_complete, args=(self._ended.wait(),), daemon=True)
        self._thread.start()  # One loop for all requests, whose threads are then used again.
        transport = httpx.ASGITransport(app=self.app)
        self._client = httpx.AsyncClient(transport=transport, base_url="http://bar.test")

    def ask(self, method: str, url: str, **more: Any) -> httpx.Response:
        """The answer to one request."""
        answer: httpx.Response = self._done(self._client.request(method, url, **more))
        return answer

    def get(self, url: str, **more: Any) -> httpx.Response:
        """The answer to a GET."""
        return self.ask("GET", url, **more)

    def evaluate(self, body: object) -> httpx.Response:
        """The answer of POST /v1/evaluate to raw bytes, or to an object as JSON."""
        if isinstance(body, bytes):
            return self.ask("POST", "/v1/evaluate", content=body, headers={"Content-Type": "application/json"})
        return self.ask("POST", "/v1/evaluate", json=body)

    def key(self, *scopes: str, **more: Any) -> dict[str, str]:
        """The header of a new key; ``venue``, ``expires_on``, ``secret`` and ``prefix`` may be given."""
        rest = {"venue": None, "expires_on": None, **more}
        with self.app.state.store.writing() as connection:
            _, text = new_key(connection, "of a test", scopes, **rest)
        return {"Authorization": f"Bearer {text}"}

    def close(self) -> None:
        """Ends the client, its loop and its store."""
        self.app.state.store.close()
        self._done(self._client.aclose())
        self._loop.call_soon_threadsafe(self._ended.set)
        self._thread.join()
        self._loop.close()

    def _done(self, asked: Coroutine[Any, Any, Any]) -> Any:
        return asyncio.run_coroutine_threadsafe(asked, self._loop).result()


@pytest.fixture(scope="session")
def client() -> Iterator[Client]:
    """The service with its defaults, without the demo."""
    made = Client(Settings(demo=False))
    yield made
    made.close()


@pytest.fixture(scope="session")
def demo_client() -> Iterator[Client]:
    """The service with the demo bar."""
    made = Client(Settings(demo=True))
    yield made
    made.close()


@pytest.fixture(scope="module", params=BACKENDS)
def bar(request: pytest.FixtureRequest, new_database: Callable[[str], str]) -> Iterator[Client]:
    """A service on each backend with the bar of ``tests/api/bar.py``, shared by the tests of a module."""
    from tests.api.bar import write

    made = Client(Settings(demo=False, database_url=new_database(request.param)))
    write(made)
    yield made
    made.close()


@pytest.fixture(autouse=True)
def nothing_unexpected(caplog: pytest.LogCaptureFixture) -> Iterator[None]:
    """No fault of ours may hide behind an answer: the last resort writes to this log."""
    yield
    assert [record.getMessage() for record in caplog.get_records("call") if record.name == "washline"] == []
