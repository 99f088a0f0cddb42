"""What the reading of one list has to remember of all its rows, in a file of its own, so that memory does not grow.

The file is SQLite's own temporary one: it has no name, is written to only where it outgrows a cache of 2 MiB, and goes
when it is closed.
"""

import pickle
import sqlite3
import weakref
from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from itertools import islice
from typing import Final, NamedTuple

from service.errors import InputFault
from service.suppliers.current import CurrentOffer
from service.suppliers.matching import code_key
from service.suppliers.rows import Row
from service.temporary import space

NAMED: Final = 10
"""The most other rows that the refusal of a duplicate names."""

_BATCH: Final = 500
_TABLES: Final = """
PRAGMA journal_mode = OFF;
PRAGMA synchronous = OFF;
CREATE TABLE pages (place INTEGER PRIMARY KEY, rows BLOB NOT NULL);
CREATE TABLE marks (mark TEXT NOT NULL, row INTEGER NOT NULL);
CREATE TABLE offers (
    place INTEGER PRIMARY KEY, gtin_14 TEXT, code_key TEXT, id TEXT, item TEXT, code TEXT, gtin TEXT, name TEXT,
    count INTEGER, size TEXT, price TEXT, currency TEXT, tax_included INTEGER, tax_rate_percent TEXT
);
CREATE TABLE met (place INTEGER PRIMARY KEY, row INTEGER NOT NULL);
CREATE TABLE made (id TEXT PRIMARY KEY) WITHOUT ROWID;
BEGIN;
"""
_OFFERS: Final = "INSERT INTO offers VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"
_FOUND: Final = """
SELECT offers.place, met.row, id, item, code, gtin, name, count, size, price, currency, tax_included, tax_rate_percent
FROM offers LEFT JOIN met USING (place) WHERE
"""


class Found(NamedTuple):
    """An offer with its place and the row that was found to be about it, if one was."""

    place: int
    row: int | None
    offer: CurrentOffer


class Workings:
    """The rows of a list, the offers that it is compared with, where its codes stand, what its rows met and made.

    ``twice`` says whether any code or GTIN stands in several rows.
    """

    def __init__(self, offers: Iterable[CurrentOffer]) -> None:
        with space():
            self._file = sqlite3.connect("", check_same_thread=False, isolation_level=None)
            weakref.finalize(self, self._file.close)
            self._file.executescript(_TABLES)
            rows = (_row_of(offer) for offer in offers)
            while batch := list(islice(rows, _BATCH)):
                self._file.executemany(_OFFERS, batch)
            self._file.execute("CREATE INDEX offers_gtin ON offers (gtin_14) WHERE gtin_14 IS NOT NULL")
            self._file.execute("CREATE INDEX offers_code ON offers (code_key) WHERE code_key IS NOT NULL")
        self._marks: list[tuple[str, int]] = []
        self.twice = False

    def names(self) -> dict[str, str]:
        """The names of the items that the offers sell, by id."""
        with space():
            return dict(self._file.execute("SELECT item, name FROM offers WHERE name IS NOT NULL ORDER BY place"))

    def keep_page(self, rows: Sequence[Row]) -> None:
        """The next rows of the list, as they were taken."""
        said = [(row.number, row.cells, row.fault and (row.fault.code, row.fault.detail)) for row in rows]
        with space():
            self._file.execute("INSERT INTO pages (rows) VALUES (?)", (pickle.dumps(said, pickle.HIGHEST_PROTOCOL),))

    def pages(self) -> Iterator[list[Row]]:
        """The rows in their order, as many at once as were kept at once."""
        place = 0
        while True:
            with space():
                kept = self._file.execute("SELECT rows FROM pages WHERE place = ?", (place := place + 1,)).fetchone()
            if kept is None:
                return
            said = pickle.loads(kept[0])  # noqa: S301  # this very object wrote it
            yield [Row(number, cells, fault and InputFault(*fault)) for number, cells, fault in said]

    def note(self, mark: str, row: int) -> None:
        """A code or GTIN with the row that it stands in."""
        self._marks.append((mark, row))
        if len(self._marks) == _BATCH:
            self._write_marks()

    def all_noted(self) -> None:
        """Every row was gone through."""
        self._write_marks()
        with space():
            self._file.execute("CREATE INDEX marks_mark ON marks (mark, row)")
            twice = self._file.execute("SELECT 1 FROM marks GROUP BY mark HAVING COUNT(*) > 1 LIMIT 1")
            self.twice = twice.fetchone() is not None

    def rows_of(self, mark: str) -> list[int]:
        """The first rows that a code or GTIN stands in, where there are several; one over :data:`NAMED` at most."""
        if not self.twice:
            return []
        with space():
            found = self._file.execute("SELECT row FROM marks WHERE mark = ? ORDER BY row LIMIT ?", (mark, NAMED + 1))
            rows = [row for (row,) in found]
        return rows if len(rows) > 1 else []

    def begin(self) -> None:
        """Forgets what rows met and made; one reading of the rows at a time."""
        with space():
            self._file.execute("DELETE FROM met")
            self._file.execute("DELETE FROM made")

    def offers_of(self, gtins: Sequence[str], codes: Sequence[str]) -> Iterator[Found]:
        """The offers that have one of some GTINs of 14 digits or codes as compared."""
        having = [
            f"{column} IN ({', '.join('?' * len(marks))})"
            for column, marks in (("gtin_14", gtins), ("code_key", codes))
            if marks
        ]
        if not having:
            return
        with space():
            found = self._file.execute(_FOUND + " OR ".join(having), (*gtins, *codes)).fetchall()
        for place, row, *said in found:
            said[7] = Decimal(said[7])
            said[9] = bool(said[9])
            said[10] = None if said[10] is None else Decimal(said[10])
            yield Found(place, row, CurrentOffer(*said))

    def keep_met(self, met: Iterable[tuple[int, int]]) -> None:
        """Places of offers with the rows that are about them."""
        with space():
            self._file.executemany("INSERT INTO met VALUES (?, ?)", met)

    def keep_made(self, ids: Iterable[str]) -> None:
        """Ids that new offers were given."""
        with space():
            self._file.executemany("INSERT INTO made VALUES (?)", ((one,) for one in ids))

    def taken(self, ids: Sequence[str]) -> set[str]:
        """Those of some ids that the offers have."""
        with space():
            self._file.execute("CREATE INDEX IF NOT EXISTS offers_id ON offers (id)")
        return self._among("offers", ids)

    def made(self, ids: Sequence[str]) -> set[str]:
        """Those of some ids that new offers were given."""
        return self._among("made", ids)

    def _among(self, table: str, ids: Sequence[str]) -> set[str]:
        with space():
            asked = f"SELECT id FROM {table} WHERE id IN ({', '.join('?' * len(ids))})"  # noqa: S608  # a table of ours
            return {found for (found,) in self._file.execute(asked, tuple(ids))}

    def _write_marks(self) -> None:
        with space():
            self._file.executemany("INSERT INTO marks VALUES (?, ?)", self._marks)
        self._marks.clear()


def _row_of(offer: CurrentOffer) -> tuple[object, ...]:
    gtin = offer.gtin.zfill(14) if offer.gtin else None
    code = code_key(offer.code) if offer.code else None
    rate = offer.tax_rate_percent
    return (
        None, gtin, code, offer.id, offer.item, offer.code, offer.gtin, offer.name, offer.count, offer.size,
        str(offer.price), offer.currency, offer.tax_included, None if rate is None else str(rate),
    )  # fmt: skip
