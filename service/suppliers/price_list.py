"""The straight line of a price list: bytes to a table, one pass over all rows, then what each row would change.

Rows are judged one at a time and none is kept, so that a list of 50,000 takes no more memory than its bytes, its codes
and the supplier's offers. Whoever writes them does so in one transaction and takes it back where
:func:`offers_to_write` raises.
"""

import hashlib
from collections.abc import Callable, Container, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Final, get_args

from schemas.price_list import Outcome, PriceListOptions, ReadAs
from service.errors import InputFault
from service.offers import known_currency
from service.suppliers.csv_list import csv_table
from service.suppliers.current import CurrentOffer
from service.suppliers.itemfacts import FactsOf
from service.suppliers.json_list import json_table
from service.suppliers.judging import Judge, Judged, Writing, duplicate_keys
from service.suppliers.listed import Reader
from service.suppliers.matching import NameIndex, OfferIndex
from service.suppliers.prices import MarkTally
from service.suppliers.rows import Table
from service.suppliers.xlsx_list import xlsx_table

FORMATS: Final[Mapping[str, Callable[[bytes, PriceListOptions], Table]]] = {
    "text/csv": csv_table,
    "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet": xlsx_table,
    "application/json": json_table,
}
"""What reads each media type."""

NAMED: Final = 10
"""The most other rows that the refusal of a duplicate names."""


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
    (those of the offers unless given), ``taken`` holds ids of offers that new ones must not get.
    """

    def __init__(
        self,
        data: bytes,
        media_type: str,
        options: PriceListOptions,
        offers: Iterable[CurrentOffer],
        facts: FactsOf,
        names: Mapping[str, str] | None = None,
        taken: Container[str] = (),
    ) -> None:
        known_currency(options.currency, "/currency")
        reader = FORMATS.get(media_type.partition(";")[0].strip().lower())
        if reader is None:
            raise InputFault("media_type", f"A price list is one of {', '.join(FORMATS)}.")
        self.sha256 = hashlib.sha256(data).hexdigest()
        if options.sha256 not in (None, self.sha256):
            raise InputFault("file_changed", "This is not the file that the report was about; read it anew.", "/sha256")
        self.options = options
        self._facts = facts
        self._taken = taken
        self._offers = OfferIndex(offers)
        self._names = NameIndex(self._offers.names if names is None else names)
        self._table = reader(data, options)
        self._reader = Reader(self._table.columns, options)
        self._leave_out = frozenset(options.leave_out)
        self._twice = self._first_pass()

    def _first_pass(self) -> dict[str, list[int]]:
        """Finds the decimal mark; gives the codes and GTINs that stand in several rows, with those rows."""
        marks = MarkTally()
        first: dict[str, int] = {}
        twice: dict[str, list[int]] = {}
        for row in self._table.rows():
            if row.number in self._leave_out or row.fault is not None:
                continue
            marks.add(self._reader.price_text(row), row.number)
            for key in duplicate_keys(*self._reader.keys(row)):
                if key not in first:
                    first[key] = row.number
                else:
                    rows = twice.setdefault(key, [first[key]])
                    # A list that is one code over and over must not name every row in every row.
                    if len(rows) <= NAMED:
                        rows.append(row.number)
        if self.options.decimal is None:
            self._reader.decimal = marks.mark()
        return twice

    @property
    def read_as(self) -> ReadAs:
        """How the file was read."""
        table = self._table
        return ReadAs(
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

    def judged(self) -> Iterator[Judged]:
        """Every row judged, in the order of the file."""
        judge = Judge(self.options, self._offers, self._facts, self._names, self._taken, self._twice)
        for row in self._table.rows():
            listed = self._reader.listed(row)
            yield Judged(listed, "left_out") if row.number in self._leave_out else judge.judged(listed)


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
        if judged.writing is not None:
            yield judged.writing
    if not tally.committable:
        raise InputFault("list_not_committable", "The list has no row that could be taken in.")
