"""Offers of a judged list on their way to the store, on disk, so that memory does not grow with the list."""

import marshal
from collections.abc import Iterator
from typing import Any, Final

from service.suppliers.judging import Judged, Writing
from service.temporary import temporary_file

_BATCH: Final = 500

Waiting = tuple[str | None, dict[str, Any]]
"""The offer that is changed, ``None`` for a new one, and what the list states of it."""


class Spool:
    """Takes the offers of one list in, then gives them in their order, each time anew."""

    def __init__(self) -> None:
        self._file = temporary_file()
        self._batch: list[Waiting] = []

    def add(self, writing: Writing) -> None:
        """One more offer."""
        self._batch.append((writing.changes, writing.offer))
        if len(self._batch) == _BATCH:
            self._flush()

    def take(self, judged: Judged) -> None:
        """What a row writes; it counts only where the whole list may be taken in."""
        writing = judged.writing
        if writing is not None:
            self.add(writing)

    def __iter__(self) -> Iterator[Waiting]:
        """The offers that were taken in."""
        if self._batch:
            self._flush()
        self._file.seek(0)
        while head := self._file.read(4):
            data = self._file.read(int.from_bytes(head, "big"))
            yield from marshal.loads(data)  # noqa: S302  # this very object wrote it

    def close(self) -> None:
        """Lets the file go."""
        self._file.close()

    def _flush(self) -> None:
        data = marshal.dumps(self._batch)  # this process alone reads it, and each offer is plain JSON
        self._file.write(len(data).to_bytes(4, "big"))
        self._file.write(data)
        self._batch.clear()
