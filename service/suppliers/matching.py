"""Which offer a row is about: by GTIN, then by the supplier's code; a name only ever suggests an item."""

import re
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from typing import Final, Literal, NamedTuple

from service.errors import InputFault
from service.offers import has_check_digit
from service.suppliers.current import CurrentOffer
from service.suppliers.rows import NumberText

_DIGITS: Final = re.compile(r"[0-9]{8}|[0-9]{12,14}", re.ASCII)
_NUMBER_CELL: Final = re.compile(r"[0-9]{8,14}", re.ASCII)
_WORD: Final = re.compile(r"[^\W_]++")
_COMMON: Final = 64
"""A word of more items than this says nothing of an item; it also bounds the cost of a suggestion."""
_WORDS: Final = 12


class Match(NamedTuple):
    """The offer of a row, by what it was found, and which other of its marks changed."""

    offer: CurrentOffer | None
    by: Literal["gtin", "code"] | None
    changed: Literal["gtin", "code"] | None = None


NO_MATCH: Final = Match(None, None)


class Suggestion(NamedTuple):
    """An item of a similar name."""

    id: str
    name: str
    why: str


def gtin_of(text: str) -> str | None:
    """A GTIN of 14 digits, as GTINs of every length are compared (GS1 General Specifications, 3.3); ``None`` for none.

    A number cell has lost the zeros before it; they do not count in the check digit.

    >>> gtin_of("9520410001370")
    '09520410001370'
    """
    if not text:
        return None
    digits = text.replace(" ", "").replace("-", "")
    pattern = _NUMBER_CELL if type(text) is NumberText else _DIGITS
    if pattern.fullmatch(digits) is None:
        detail = "A GTIN has 8, 12, 13 or 14 digits; a spreadsheet that shows 9.52E+12 has lost some of them."
        raise InputFault("gtin_unreadable", detail)
    digits = digits.zfill(14)
    if not has_check_digit(digits):
        raise InputFault("gtin_check_digit", "The check digit of this GTIN is wrong.")
    return digits


def code_key(text: str) -> str:
    """A supplier's code as it is compared: normal form C, case folded.

    >>> code_key(" g-1044 ") == code_key("G-1044")
    True
    """
    plain = text.strip()
    return plain.lower() if plain.isascii() else unicodedata.normalize("NFC", plain).casefold()


class OfferIndex:
    """Some of the supplier's offers by GTIN and by code: all those that have one of the marks that are asked for."""

    def __init__(self, offers: Iterable[CurrentOffer]) -> None:
        self._by_gtin: dict[str, tuple[CurrentOffer, ...]] = {}
        self._by_code: dict[str, tuple[CurrentOffer, ...]] = {}
        for offer in offers:
            if offer.gtin:
                gtin = offer.gtin.zfill(14)
                self._by_gtin[gtin] = (*self._by_gtin.get(gtin, ()), offer)
            if offer.code:
                code = code_key(offer.code)
                self._by_code[code] = (*self._by_code.get(code, ()), offer)

    def has(self, gtin: str | None, code: str | None) -> bool:
        """Whether an offer has one of the two marks."""
        return gtin in self._by_gtin or code in self._by_code

    def match(self, gtin: str | None, code: str | None) -> Match:
        """The one offer of a GTIN of 14 digits, or else of a code as compared; two possible ones are refused."""
        by_gtin = self._by_gtin.get(gtin, ()) if gtin else ()
        by_code = self._by_code.get(code, ()) if code else ()
        if by_gtin:
            both = [offer for offer in by_gtin if offer in by_code]
            if by_code and not both:
                detail = (
                    "The GTIN belongs to one offer and the code to another; correct one of them, or leave the row out."
                )
                raise InputFault("match_conflict", detail)
            offer = _only(both or by_gtin)
            recoded = code is not None and offer.code is not None and code_key(offer.code) != code
            return Match(offer, "gtin", "code" if recoded else None)
        if by_code:
            offer = _only(by_code)
            return Match(offer, "code", "gtin" if gtin and offer.gtin else None)
        return NO_MATCH


def _only(offers: Sequence[CurrentOffer]) -> CurrentOffer:
    if len(offers) > 1:
        detail = "Several offers of the supplier in force have this GTIN or code; end all but one of them first."
        raise InputFault("match_ambiguous", detail)
    return offers[0]


class NameIndex:
    """Items by the words of their names; a look-up costs a bounded number of steps whatever the name."""

    def __init__(self, names: Mapping[str, str]) -> None:
        self._names = names
        self._words: dict[str, frozenset[str]] = {}
        self._by_word: dict[str, list[str]] = {}
        for item, name in names.items():
            words = name_words(name)
            self._words[item] = words
            for word in words:
                self._by_word.setdefault(word, []).append(item)

    def suggestion(self, name: str) -> Suggestion | None:
        """The item that shares most words with a name, at least half of both; none where two share as many."""
        words = name_words(name)
        shared: dict[str, int] = {}
        for word in words:
            items = self._by_word.get(word, ())
            if len(items) <= _COMMON:
                for item in items:
                    shared[item] = shared.get(item, 0) + 1
        scored = sorted(
            ((Decimal(2 * count) / (len(words) + len(self._words[item])), item) for item, count in shared.items()),
            key=lambda pair: (-pair[0], pair[1]),
        )
        if not scored or scored[0][0] < Decimal("0.5") or (len(scored) > 1 and scored[0][0] == scored[1][0]):
            return None
        item = scored[0][1]
        common = ", ".join(sorted(words & self._words[item]))
        return Suggestion(item, self._names[item], f"Both names have: {common}.")


def name_words(name: str) -> frozenset[str]:
    """The words of a name that are compared: letters and figures, case folded, without accents, at most twelve.

    >>> sorted(name_words("Skerrowmouth Gin, 44%"))
    ['44', 'gin', 'skerrowmouth']
    """
    plain = unicodedata.normalize("NFKD", name.casefold())
    plain = "".join(letter for letter in plain if not unicodedata.combining(letter))
    return frozenset(_WORD.findall(plain)[:_WORDS])
