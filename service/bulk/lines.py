"""A stream of bytes as its lines, whatever the pieces in which it arrives; never more than one line is kept.

A line ends with LF; CR before it is white space of JSON. Empty lines are passed over, as NDJSON allows.
"""

from collections.abc import Iterator
from typing import NamedTuple


class Line(NamedTuple):
    """One line: its number, counted from 1 over the lines that are not empty; ``raw`` is ``None`` where too long."""

    number: int
    raw: bytes | None


class Lines:
    """Cuts what is fed into lines of at most ``limit`` bytes; what is longer is dropped up to its end."""

    def __init__(self, limit: int) -> None:
        self._limit = limit
        self._kept = bytearray()
        self._dropping = False
        self._number = 0

    def fed(self, piece: bytes) -> Iterator[Line]:
        """The lines that end in this piece of the stream."""
        begin = 0
        while (end := piece.find(b"\n", begin)) >= 0:
            yield from self._ended(piece[begin:end])
            begin = end + 1
        self._keep(piece[begin:])

    def rest(self) -> Iterator[Line]:
        """The last line, where the stream ended without a line end after it."""
        yield from self._ended(b"")

    def _keep(self, piece: bytes) -> None:
        if not self._dropping and len(self._kept) + len(piece) > self._limit:
            self._dropping = True
            self._kept.clear()
        if not self._dropping:
            self._kept += piece

    def _ended(self, piece: bytes) -> Iterator[Line]:
        if self._kept or self._dropping:
            self._keep(piece)
            raw = bytes(self._kept)
            self._kept.clear()
        else:
            self._dropping, raw = len(piece) > self._limit, piece
        dropped, self._dropping = self._dropping, False
        if dropped or raw.strip(b" \t\r"):
            self._number += 1
            yield Line(self._number, None if dropped else raw)
