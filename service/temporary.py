"""Temporary files for what outgrows memory: without a name, for this process alone, and gone when they are closed."""

import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from typing import IO, Any, Final, cast

from service.errors import StoreFull

_IN_MEMORY: Final = 1 << 20
"""Bytes from which the content goes to disk."""


@contextmanager
def space() -> Iterator[None]:
    """A temporary file that cannot be made or grow, as the fault of this service: :class:`StoreFull`."""
    try:
        yield
    except (OSError, sqlite3.OperationalError) as fault:
        raise StoreFull("There is no space for a temporary file; nothing was changed.") from fault


class _Spooled(tempfile.SpooledTemporaryFile[bytes]):
    def write(self, data: Any) -> int:
        with space():
            return super().write(data)

    def seek(self, *place: int) -> int:  # It writes what is held back.
        with space():
            return super().seek(*place)

    def close(self) -> None:
        with suppress(OSError):  # Nobody wants what does not fit any more.
            super().close()


def temporary_file() -> IO[bytes]:
    """An empty file for whoever closes it, in memory while it is short. Its writes raise :class:`StoreFull`."""
    return cast("IO[bytes]", _Spooled(max_size=_IN_MEMORY))
