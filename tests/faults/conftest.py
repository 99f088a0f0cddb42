"""Both stores, each with an empty database for every test that asks for one."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tests.faults.postgres import Postgres
from tests.faults.running import Forks


@pytest.fixture(scope="session")
def postgres() -> Iterator[Postgres]:
    """A PostgreSQL server."""
    server = Postgres()
    yield server
    server.close()


@pytest.fixture(params=["sqlite", "postgresql"])
def url(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """The URL of an empty database, once for each kind."""
    if request.param == "sqlite":
        return f"sqlite:///{tmp_path}/washline.db"
    make: Callable[[], str] = request.getfixturevalue("postgres").database
    return make()


@pytest.fixture(scope="session")
def forks(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Forks]:
    """What starts many served groups in turn."""
    made = Forks(tmp_path_factory.mktemp("forks"))
    yield made
    made.close()
