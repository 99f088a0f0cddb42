"""Prices as suppliers write them: the decimal mark of a column found out, figures read exactly by it.

A mark is certain of ``12,5``, ``1.234,50`` and ``1.234.567``; ``1.234`` alone may be a thousand or one and a bit. A
column without one certain figure is refused and the caller says which mark it uses. Never a float.
"""

import functools
import re
import tomllib
from collections.abc import Mapping
from decimal import Decimal
from pathlib import Path
from typing import Final, Literal, NamedTuple

from service.errors import DataFault, InputFault
from service.suppliers.rows import NumberText
from service.units import DATA, STANDINGS

Mark = Literal[".", ","]

LONGEST: Final = 40
HIGHEST: Final = Decimal(10**12)

_MARKS: Final = DATA / "tables" / "currency_marks.toml"
_FIGURE: Final = re.compile(r"[0-9][0-9., ’']*+")
_PLAIN: Final = re.compile(r"(?:0|[1-9][0-9]{0,14})(?:\.([0-9]{1,12}))?", re.ASCII)
_SIMPLE: Final = re.compile(r"(?:0|[1-9][0-9]{0,11})(?:\.[0-9]{1,2})?", re.ASCII)
"""A figure that reads the same whatever else is in the list, but for one with a decimal comma."""
_EXPONENT: Final = re.compile(r"[0-9]E[+-]?[0-9]", re.IGNORECASE)
_THOUSANDS: Final = {mark: re.compile(rf"[1-9][0-9]{{0,2}}(?:\{mark}[0-9]{{3}}){{1,4}}") for mark in ".,"}
_THOUSANDS[" "] = re.compile(r"[1-9][0-9]{0,2}(?: [0-9]{3}){1,4}")
_THOUSANDS["'"] = re.compile(r"[1-9][0-9]{0,2}(?:'[0-9]{3}){1,4}")
_OTHER: Final[Mapping[str, Mark]] = {".": ",", ",": "."}


class Price(NamedTuple):
    """A figure over or at 0, and the ISO 4217 codes its sign may stand for; ``None`` without a sign."""

    figure: Decimal
    currencies: frozenset[str] | None


@functools.cache
def currency_marks(path: Path = _MARKS) -> Mapping[str, frozenset[str]]:
    """Signs of currencies in lower case with the codes that use them; a malformed table is a :class:`DataFault`."""
    with path.open("rb") as file:
        data = tomllib.load(file)
    if set(data) != {"sources", "mark"}:
        raise DataFault(f"{path.name}: expected [sources] and [[mark]] and nothing else.")
    for name, source in data["sources"].items():
        if set(source) != {"title", "standing", "since", "checked"} or source["standing"] not in STANDINGS:
            raise DataFault(f"{path.name}: {name}: wrong keys or standing.")
    found: dict[str, frozenset[str]] = {}
    for row in data["mark"]:
        if set(row) != {"mark", "currencies", "source"} or row["source"] not in data["sources"] or row["mark"] in found:
            raise DataFault(f"{path.name}: {row.get('mark')}: wrong keys, unknown source, or standing twice.")
        found[row["mark"]] = frozenset(row["currencies"])
    return found


class MarkTally:
    """Counts what the prices of a column say of its decimal mark."""

    def __init__(self) -> None:
        self.votes: dict[Mark, int] = {".": 0, ",": 0}
        self.unclear_row: int | None = None

    def add(self, text: str, row: int) -> None:
        """One price, as cleaned text; what is no price says nothing."""
        if type(text) is NumberText:
            return
        if _SIMPLE.fullmatch(text):
            self.votes["."] += "." in text
            return
        figure = _figure_text(text)
        if figure is None:
            return
        mark = decided_mark(figure)
        if mark == "unclear":
            self.unclear_row = self.unclear_row or row
        elif mark is not None:
            self.votes[mark] += 1

    def mark(self) -> Mark | None:
        """The mark that the column uses, the more frequent of two; ``None`` where no price has one."""
        point, comma = self.votes["."], self.votes[","]
        if point == comma:
            if point:
                detail = "As many prices use a decimal point as a decimal comma; state decimal, and correct the others."
                raise InputFault("decimal_mixed", detail, "/decimal")
            if self.unclear_row is not None:
                detail = (
                    f"Row {self.unclear_row}: three digits behind one mark may be thousands or decimals, and no other "
                    'price tells; state decimal as "." or ",".'
                )
                raise InputFault("decimal_unclear", detail, "/decimal")
            return None
        return "." if point > comma else ","


def decided_mark(figure: str) -> Mark | Literal["unclear"] | None:
    """What one figure says of the decimal mark: nothing where it has none.

    >>> decided_mark("12,5"), decided_mark("1.234.567"), decided_mark("1.234"), decided_mark("0.125"), decided_mark("7")
    (',', ',', 'unclear', '.', None)
    """
    points, commas = figure.count("."), figure.count(",")
    if points and commas:
        return "." if figure.rindex(".") > figure.rindex(",") else ","
    if not points and not commas:
        return None
    mark: Mark = "." if points else ","
    if points + commas > 1:
        return _OTHER[mark]
    if _THOUSANDS[mark].fullmatch(figure):
        return "unclear"
    return mark


def price_of(text: str, decimal: Mark | None, *, certain: bool = True) -> Price:
    """The price that a cell writes by the decimal mark of its column; a number cell needs none.

    Where the mark was not stated (``certain`` is false), three digits behind it are refused.

    >>> price_of("€ 1.234,50", ",").figure, price_of("12.50 EUR", ".").currencies
    (Decimal('1234.50'), frozenset({'EUR'}))
    """
    if type(text) is NumberText:
        return Price(_plain(text, text), None)
    if decimal != "," and _SIMPLE.fullmatch(text):
        return Price(Decimal(text), None)
    if len(text) > LONGEST:
        raise _unreadable("A price has at most 40 characters.")
    match = _FIGURE.search(text)
    if match is None:
        raise _unreadable("Write the price as a figure, such as 12.50.")
    before, after = text[: match.start()].strip(), text[match.end() :].strip()
    if "-" in before or "-" in after or "−" in before or "(" in before:
        raise InputFault("price_negative", "A price is 0 or more.")
    if before and after:
        raise _unreadable("Beside its figure a price has one sign or code of a currency and nothing else.")
    figure = match[0].rstrip(" ")
    return Price(_decimal(figure, decimal, text, certain), _currencies(before or after))


def figure_of(text: str, decimal: Mark | None) -> Decimal:
    """A bare figure by the same marks, such as a tax rate; a sign for percent is taken off."""
    found = price_of(text if type(text) is NumberText else text.removesuffix("%").rstrip(" "), decimal)
    if found.currencies is not None:
        raise _unreadable("Write the figure alone.")
    return found.figure


def _figure_text(text: str) -> str | None:
    match = _FIGURE.search(text) if len(text) <= LONGEST else None
    return match[0].strip(" ") if match else None


def _decimal(figure: str, decimal: Mark | None, text: str, certain: bool) -> Decimal:
    figure = figure.replace("’", "'")
    said = decided_mark(figure)
    if decimal is None:
        decimal = "."
    if said not in (None, "unclear", decimal):
        word = {".": "point", ",": "comma"}[decimal]
        raise InputFault("decimal_mixed", f"The list uses a decimal {word}, and this price does not.")
    if said == "unclear" and decimal in figure and not certain:
        detail = 'Three digits behind the mark may be thousands or decimals; state decimal as "." or ",".'
        raise InputFault("decimal_unclear", detail)
    whole, mark, decimals = figure.rpartition(decimal)
    if not mark:
        whole, decimals = figure, ""
    elif not decimals.isdigit():
        raise _unreadable("After the decimal mark stand digits and nothing else.")
    plain = _without_thousands(whole, decimal)
    return _plain(f"{plain}.{decimals}" if decimals else plain, text)


def _without_thousands(whole: str, decimal: Mark) -> str:
    """The whole part without marks of thousands, which must stand before every three digits and be the same."""
    if whole.isdigit():
        return whole
    used = {mark for mark in (" ", "'", ".", ",") if mark in whole}
    if len(used) == 1 and decimal not in used:
        mark = used.pop()
        if _THOUSANDS[mark].fullmatch(whole):
            return whole.replace(mark, "")
    raise InputFault("thousands_unclear", "Marks of thousands stand before every three digits, and are all the same.")


def _plain(written: str, text: str) -> Decimal:
    if _EXPONENT.search(text):
        raise _unreadable("Write the price without an exponent.")
    if written.startswith("-"):
        raise InputFault("price_negative", "A price is 0 or more.")
    if _PLAIN.fullmatch(written) is None:
        raise _unreadable("A price has at most 15 digits before its decimal mark and 12 after it, and no leading zero.")
    figure = Decimal(written)
    if figure > HIGHEST:
        raise InputFault("price_too_large", "A price is at most 1,000,000,000,000.")
    return figure


def _currencies(sign: str) -> frozenset[str] | None:
    if not sign:
        return None
    if len(sign) == 3 and sign.isascii() and sign.isalpha():
        return frozenset((sign.upper(),))
    found = currency_marks().get(sign.casefold())
    if found is None:
        raise _unreadable("Beside its figure a price has one sign or code of a currency and nothing else.")
    return found


def _unreadable(detail: str) -> InputFault:
    return InputFault("price_unreadable", detail)
