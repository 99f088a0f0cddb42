"""/readyz of a PostgreSQL server: what may be lost, what takes no writes, and what nobody here can know (P18)."""

import time
from collections.abc import Iterator

import pytest

from service.settings import Settings
from tests.api.conftest import Client
from tests.faults.postgres import Postgres


@pytest.fixture
def client(postgres: Postgres) -> Iterator[Client]:
    """The service on a database of its own."""
    made = Client(Settings(database_url=postgres.database()))
    yield made
    made.close()


def _until(client: Client, status: int) -> str:
    """What /readyz says once it has this status, which may take until a server has read its settings anew."""
    begun = time.monotonic()
    while (answer := client.get("/readyz")).status_code != status:
        assert time.monotonic() - begun < 5, answer.text
        time.sleep(0.02)
    assert client.get("/livez").status_code == 200
    return answer.text


def test_the_disk_of_a_server_is_not_known_here(client: Client) -> None:
    answer = client.get("/readyz").json()
    assert (answer["status"], answer["database"], answer["disk"]) == ("ok", "postgresql", "not_known")


@pytest.mark.parametrize("setting", ["fsync", "synchronous_commit", "full_page_writes"])
def test_a_server_that_may_lose_what_it_acknowledges_is_not_ready(
    postgres: Postgres, client: Client, setting: str
) -> None:
    _until(client, 200)
    postgres.set(setting, "off")
    try:
        assert setting in _until(client, 503)
    finally:
        postgres.set(setting, None)
    _until(client, 200)


@pytest.mark.parametrize("setting", ["local", "remote_apply"])
def test_a_commit_that_is_flushed_here_is_enough(postgres: Postgres, client: Client, setting: str) -> None:
    """Both flush before they acknowledge (PostgreSQL, synchronous_commit); one waits for standbys as well."""
    postgres.set("synchronous_commit", setting)
    try:
        time.sleep(0.2)
        assert client.get("/readyz").status_code == 200
    finally:
        postgres.set("synchronous_commit", None)


def test_a_standby_answers_and_is_not_ready(postgres: Postgres, client: Client) -> None:
    body = {"id": "quay", "name": "Quay"}
    assert client.ask("POST", "/v1/suppliers", json=body).status_code == 201
    postgres.stand_by(True)
    try:
        assert "standby" in _until(client, 503)
        assert client.get("/v1/suppliers/quay").status_code == 200
        refused = client.ask("PUT", "/v1/suppliers/pier", json={"name": "Pier"})
        assert refused.status_code == 503
        assert refused.headers["retry-after"].isdigit()
    finally:
        postgres.stand_by(False)
    _until(client, 200)
    assert client.ask("PUT", "/v1/suppliers/pier", json={"name": "Pier"}).status_code == 201
