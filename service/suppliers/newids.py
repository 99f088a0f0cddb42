"""Ids of new offers: from the supplier's short id and the article's code, the same at every reading."""

import hashlib
import re
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from typing import Final

from service.suppliers.listed import Listed
from service.suppliers.workings import Workings

_LONGEST: Final = 64
_OTHER: Final = re.compile(r"[^a-z0-9]++")

Taken = Callable[[Sequence[str]], Collection[str]]
"""Those of some ids that offers have."""


class NewIds:
    """Gives the new offers of one reading their ids; whether they are free is asked for many at once."""

    def __init__(self, prefix: str, taken: Taken, workings: Workings) -> None:
        self._prefix = prefix
        self._taken = taken
        self._workings = workings
        self._first: dict[int, str] = {}
        self._free: dict[str, bool] = {}
        self._made: list[str] = []

    def look_up(self, rows: Iterable[Listed]) -> None:
        """Finds out for the next rows, of articles that may be new, which of their ids are free."""
        self._workings.keep_made(self._made)
        self._made.clear()
        self._free.clear()
        waiting = {listed.row: ids_of(self._prefix, listed) for listed in rows}
        self._first = {row: next(ids) for row, ids in waiting.items()}
        asked = self._first
        while asked:
            self._ask(list(asked.values()))
            asked = {row: next(waiting[row]) for row, one in asked.items() if not self._free[one]}

    def of(self, listed: Listed) -> str:
        """The id of a new offer."""
        first = self._first[listed.row]
        for one in (first,) if self._free[first] else ids_of(self._prefix, listed):
            if one not in self._free:  # The row before it took the one that was looked up.
                self._ask([one])
            if self._free[one]:
                self._free[one] = False
                self._made.append(one)
                return one
        raise AssertionError("three digests of one code are taken")

    def _ask(self, ids: Sequence[str]) -> None:
        taken = {*self._taken(ids), *self._workings.made(ids)}
        for one in ids:
            self._free.setdefault(one, one not in taken)


def ids_of(prefix: str, listed: Listed) -> Iterator[str]:
    """The ids that a new offer may have; a code that does not read as an id, or whose id is taken, gets a digest.

    >>> list(ids_of("tw", Listed(2, code="G-1044")))[:2]
    ['tw-g-1044', 'tw-g-1044-24c98bb8']
    """
    written = listed.code or listed.gtin_14 or ""
    slug = _OTHER.sub("-", written.lower()).strip("-")
    plain = f"{prefix}-{slug}"
    if slug == written.lower() and len(plain) <= _LONGEST:
        yield plain
    digest = hashlib.sha256(written.encode()).hexdigest()
    for length in (8, 16, 32):
        head = plain[: _LONGEST - length - 1].rstrip("-")
        yield f"{head}-{digest[:length]}"
