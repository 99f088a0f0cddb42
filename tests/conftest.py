"""What tests of several modules ask for by name."""

import decimal
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from hypothesis import settings

from tests.campaign import DERANDOMIZED
from tests.databases import BACKENDS, Postgres, postgres_server, sqlite_url

if TYPE_CHECKING:
    from tests.browsing import Browser

# The same examples in each run of `make test`, however busy the machine is.
settings.register_profile("washline", deadline=None, derandomize=DERANDOMIZED)
settings.load_profile("washline")


@pytest.fixture(scope="module")
def floats_are_refused() -> Iterator[None]:
    """A module runs with the trap on: a float that meets a decimal raises."""
    with decimal.localcontext() as context:
        context.traps[decimal.FloatOperation] = True
        yield


@pytest.fixture(scope="session")
def postgres() -> Iterator[Postgres]:
    """One server of this session; where it cannot start, tests that need it fail."""
    with postgres_server() as server:
        yield server


@pytest.fixture(params=BACKENDS)
def database_url(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """A database of this test alone, on each backend."""
    if request.param == "sqlite":
        return sqlite_url(tmp_path)
    server: Postgres = request.getfixturevalue("postgres")
    return server.migrated()


@pytest.fixture(scope="module")
def new_database(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], str]:
    """Makes databases for a module, by the name of the backend."""

    def made(backend: str) -> str:
        if backend == "sqlite":
            return sqlite_url(tmp_path_factory.mktemp("store"))
        server: Postgres = request.getfixturevalue("postgres")
        return server.migrated()

    return made


@pytest.fixture(scope="session")
def one_browser() -> Iterator["Browser"]:
    """The one browser of this worker, since each takes a second to start and to end."""
    from tests.browsing import browsing  # most workers need none

    with browsing("") as made:
        yield made
