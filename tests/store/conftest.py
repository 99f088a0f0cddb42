"""An open store of one test, on each backend."""

from collections.abc import Iterator

import pytest

from service.store.store import Store
from tests.databases import REFERENCE, RULES


@pytest.fixture
def store(database_url: str) -> Iterator[Store]:
    """A store with nothing in it."""
    made = Store(database_url, RULES, REFERENCE)
    yield made
    made.close()
