"""The straight line of a price list: bytes to a table, one pass over all rows, then what each row would change.

Rows are taken and judged a page at a time; between the two they wait in a file, with their codes and the supplier's
offers, so that a list of 50,000 takes no more memory than one of 5,000 (one in JSON is held as a text, the words of a
workbook as a list). The list itself is not read again once its rows are taken. Whoever writes the offers does so in one
transaction and takes it back where :func:`offers_to_write` raises.
"""

import hashlib
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from io import BytesIO
from itertools import islice
from typing import IO, Final, get_args

from schemas.price_list import Outcome, PriceListOptions, ReadAs
from service.errors import InputFault
from service.offers import known_currency
from service.suppliers.csv_list import csv_table
from service.suppliers.current import CurrentOffer
from service.suppliers.itemfacts import FactsOf
from service.suppliers.json_list import json_table
from service.suppliers.judging import Judge, Judged, Writing
from service.suppliers.listed import Reader
from service.suppliers.matching import NameIndex
from service.suppliers.newids import Taken
from service.suppliers.prices import MarkTally
from service.suppliers.rows import Table
from service.suppliers.workings import Workings
from service.suppliers.xlsx_list import xlsx_table

FORMATS: Final[Mapping[str, Callable[[IO[bytes], PriceListOptions], Table]]] = {
    "text/csv": csv_table,
    "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet": xlsx_table,
    "application/json": json_table,
}
"""What reads each media type."""

_PAGE: Final = 500
"""Rows whose offers are looked up at once."""


@dataclass(slots=True)
class Tally:
    """Rows by outcome, as far as they were judged."""

    counts: dict[str, int] = field(default_factory=lambda: dict.fromkeys(get_args(Outcome), 0))
    to_confirm: int = 0

    def add(self, judged: Judged) -> None:
        """Counts one row."""
        self.counts[judged.outcome] += 1
        self.to_confirm += bool(judged.doubts and not judged.confirmed)

    @property
    def committable(self) -> bool:
        """Whether what was judged may be taken in."""
        taken = sum(count for outcome, count in self.counts.items() if outcome not in ("refused", "left_out"))
        return taken > 0 and not self.counts["refused"] and not self.to_confirm


class PriceList:
    """A list whose rows were gone through once: how it is to be read, and which codes stand in it twice.

    ``offers`` are the supplier's in force, ``facts`` tells of an item, ``names`` are item names by id for suggestions
    (those of the offers unless given), ``taken`` tells which ids offers have that new ones must not get, those of
    ``offers`` among them (these alone unless given). Its rows are gone through by one reader at a time.
    """

    def __init__(
        self,
        file: IO[bytes] | bytes,
        media_type: str,
        options: PriceListOptions,
        offers: Iterable[CurrentOffer],
        facts: FactsOf,
        names: Mapping[str, str] | None = None,
        taken: Taken | None = None,
    ) -> None:
        known_currency(options.currency, "/currency")
        reader = FORMATS.get(media_type.partition(";")[0].strip().lower())
        if reader is None:
            raise InputFault("media_type", f"A price list is one of {', '.join(FORMATS)}.")
        if isinstance(file, bytes):
            file = BytesIO(file)
        self.sha256 = sha256_of(file)
        if options.sha256 not in (None, self.sha256):
            raise InputFault("file_changed", "This is not the file that the report was about; read it anew.", "/sha256")
        self.options = options
        self._facts = facts
        self._workings = Workings(offers)
        self._taken = taken or self._workings.taken
        self._names = NameIndex(self._workings.names() if names is None else names)
        table = reader(file, options)
        self._reader = Reader(table.columns, options)
        self._leave_out = frozenset(options.leave_out)
        self._take_all(table)
        self.read_as = ReadAs(
            format=table.format,
            sheet=table.sheet,
            header_row=table.header_row,
            encoding=table.encoding,
            encoding_by=table.encoding_by,
            delimiter=table.delimiter,
            delimiter_by=table.delimiter_by,
            decimal=self._reader.decimal,
            decimal_by=self._reader.decimal_by,
        )
        """How the file was read."""

    def _take_all(self, table: Table) -> None:
        """Takes in every row; finds the decimal mark, and the codes and GTINs that stand in several rows."""
        marks = MarkTally()
        rows = table.rows()
        while page := [self._reader.taken(row) for row in islice(rows, _PAGE)]:
            self._workings.keep_page(page)
            for row in page:
                if row.number in self._leave_out or row.fault is not None:
                    continue
                marks.add(self._reader.price_text(row), row.number)
                for mark in self._reader.marks(row):
                    self._workings.note(mark, row.number)
        self._workings.all_noted()
        if self.options.decimal is None:
            self._reader.decimal = marks.mark()

    def judged(self) -> Iterator[Judged]:
        """Every row judged, in the order of the file."""
        judge = Judge(self.options, self._facts, self._names, self._taken, self._workings)
        for rows in self._workings.pages():
            page = [self._reader.listed(row) for row in rows]
            judge.look_up([listed for listed in page if listed.row not in self._leave_out])
            for listed in page:
                left_out = listed.row in self._leave_out
                yield Judged(listed, self.options, "left_out") if left_out else judge.judged(listed)


def sha256_of(file: IO[bytes]) -> str:
    """The SHA-256 of a file from its start."""
    file.seek(0)
    digest = hashlib.sha256()
    while piece := file.read(1 << 16):
        digest.update(piece)
    return digest.hexdigest()


def offers_to_write(price_list: PriceList) -> Iterator[Writing]:
    """The offers of a list that may be committed, row by row; raises at the first row that must not be taken in.

    What was yielded before counts only when the iterator ends: write in one transaction, and take it back if this
    raises.
    """
    tally = Tally()
    for judged in price_list.judged():
        if judged.blocks:
            reason = judged.reasons[0].code if judged.reasons else judged.doubts[0].code
            detail = f"Row {judged.listed.row} is refused or not confirmed ({reason}); nothing of the list is taken in."
            raise InputFault("list_not_committable", detail)
        tally.add(judged)
        writing = judged.writing
        if writing is not None:
            yield writing
    if not tally.committable:
        raise InputFault("list_not_committable", "The list has no row that could be taken in.")
