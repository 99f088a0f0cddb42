"""Services and a browser for the tests of the page."""

import json
import urllib.request
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from service.reference import reference
from service.rules import rules
from service.store import keys
from service.store.store import Store
from tests.api.served import served
from tests.browsing import Browser
from tests.page.delaying import Between, between

KEYS = {
    "till": ("costs:read", "labels:read"),
    "menu": ("labels:read",),
    "books": ("margins:read",),
    "buyer": ("catalogue:write", "costs:read"),
    "maker": ("catalogue:write",),
    "accounts": ("margins:read", "costs:read"),
    "developer": ("catalogue:write", "costs:read", "margins:read", "labels:read"),
}
"""Keys by who holds them."""


@dataclass
class Bar:
    """A service that runs, with whatever stands in front of it, and its keys."""

    between: Between
    keys: dict[str, str]
    url: str = ""

    def venue_key(self, venue: str, *scopes: str) -> str:
        """A new key for one venue."""
        store = Store(self.url, rules().version, reference().version)
        with store.writing() as connection:
            text = keys.new_key(connection, venue, scopes, venue, None)[1]
        store.close()
        return text

    def ask(self, method: str, path: str, body: object = None, key: str = "", **headers: str) -> Any:
        """The answer to a request without the page."""
        more = {"Content-Type": "application/json", **{name.replace("_", "-"): text for name, text in headers.items()}}
        if key:
            more["Authorization"] = f"Bearer {self.keys[key]}"
        data = None if body is None else json.dumps(body).encode()
        request = urllib.request.Request(f"http://127.0.0.1:{self.between.port}{path}", data, more, method=method)
        with urllib.request.urlopen(request, timeout=30) as answer:
            return json.load(answer)


def _keys_in(url: str) -> dict[str, str]:
    """The keys above in a new store, before a service serves it."""
    store = Store(url, rules().version, reference().version)
    with store.writing() as connection:
        made = {name: keys.new_key(connection, name, scopes, None, None)[1] for name, scopes in KEYS.items()}
    store.close()
    return made


@pytest.fixture(scope="session")
def demo_bar(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Bar]:
    """The demo bar behind keys."""
    url = f"sqlite:///{tmp_path_factory.mktemp('demo') / 'bar.db'}"
    made = _keys_in(url)
    with served(demo="1", database_url=url, require_keys="1") as process, between(process.port) as front:
        yield Bar(front, made, url)


@pytest.fixture(scope="session")
def empty_bar(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Bar]:
    """A service that starts with nothing, open on the loopback."""
    url = f"sqlite:///{tmp_path_factory.mktemp('empty') / 'bar.db'}"
    with served(demo="0", database_url=url) as process, between(process.port) as front:
        yield Bar(front, {})


@pytest.fixture(scope="module")
def blank_bar(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Bar]:
    """A service behind keys that nothing but the tests of one module ever wrote to."""
    url = f"sqlite:///{tmp_path_factory.mktemp('blank') / 'bar.db'}"
    made = _keys_in(url)
    with served(demo="0", database_url=url, require_keys="1") as process, between(process.port) as front:
        yield Bar(front, made, url)


def _fresh(window: Browser, bar: Bar) -> Iterator[Browser]:
    bar.between.delay = lambda path, body: 0.0
    bar.between.instead = lambda method, path, body: None
    window.base = bar.between.base
    window.width(1280)
    window.driver.get("about:blank")
    window.hosts()
    yield window
    window.untouched()
    assert window.hosts() <= {f"127.0.0.1:{bar.between.own_port}"}


@pytest.fixture
def demo(one_browser: Browser, demo_bar: Bar) -> Iterator[Browser]:
    """A window at the demo bar; afterwards nothing strange may have run, been refused or gone to another host."""
    yield from _fresh(one_browser, demo_bar)


@pytest.fixture
def empty(one_browser: Browser, empty_bar: Bar) -> Iterator[Browser]:
    """A window at a service without anything, held to the same afterwards."""
    yield from _fresh(one_browser, empty_bar)


@pytest.fixture
def blank(one_browser: Browser, blank_bar: Bar) -> Iterator[Browser]:
    """A window at that service, held to the same afterwards."""
    yield from _fresh(one_browser, blank_bar)


LISTS = Path(__file__).parents[2] / "service" / "demo" / "price_lists"
