"""Temporary files: nobody else can read one, none is left behind, and one without space is no client's fault."""

import os
import resource
import stat
from collections.abc import Iterator
from pathlib import Path

import pytest

from service.errors import StoreFull
from service.settings import Settings
from service.temporary import temporary_file
from tests.api.conftest import Client

LIMIT = 2 * 1024 * 1024
LONG = b"Code,Price\n" + b"A1,1.00\n" * (LIMIT // 4)
"""Twice as long as a file may be."""


@pytest.fixture
def short_of_space() -> Iterator[None]:
    """No file of this process may grow over a limit, which is told as a full disk is: the write fails."""
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (LIMIT, before[1]))
    yield
    resource.setrlimit(resource.RLIMIT_FSIZE, before)


def _open_without_a_name() -> int:
    """How many files this process has open that stand in no folder."""
    found = 0
    for descriptor in os.listdir("/proc/self/fd"):
        try:
            about = os.stat(f"/proc/self/fd/{descriptor}")
        except FileNotFoundError:  # That of the listing itself.
            continue
        found += stat.S_ISREG(about.st_mode) and about.st_nlink == 0
    return found


def test_a_temporary_file_has_no_name_and_is_its_owners_alone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    with temporary_file() as file:
        file.write(LONG)
        about = os.fstat(file.fileno())
        assert (stat.S_IMODE(about.st_mode), about.st_nlink, list(tmp_path.iterdir())) == (0o600, 0, [])


def test_a_temporary_file_that_may_not_grow_is_a_store_that_is_full(short_of_space: None) -> None:
    before = _open_without_a_name()
    with pytest.raises(StoreFull), temporary_file() as file:
        file.write(LONG)
    assert _open_without_a_name() == before


def test_a_list_that_finds_no_space_is_refused_and_leaves_nothing_open(short_of_space: None) -> None:
    client = Client(Settings(demo=True))
    before = _open_without_a_name()
    told = client.ask("POST", "/v1/price-lists?supplier=any", content=LONG, headers={"Content-Type": "text/csv"})
    assert (told.status_code, told.json()["type"]) == (507, "urn:washline:problem:store-full")
    assert _open_without_a_name() == before
    client.close()
