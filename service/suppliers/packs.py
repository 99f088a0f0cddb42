"""What one price buys, read from the words suppliers use: 6x70cl, 1x30L keg, box of 54, per kg.

``data/tables/packs.toml`` lists the forms and the words. A text that could mean two things is refused with what to
write instead.
"""

import functools
import re
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final, NamedTuple

from service.amounts import Measures, read_amount
from service.errors import DataFault, InputFault
from service.suppliers.prices import Mark
from service.units import DATA, STANDINGS, TABLE

TABLE_FILE: Final = DATA / "tables" / "packs.toml"
LONGEST: Final = 64
MOST_UNITS: Final = 10_000
"""The largest count of an offer's pack."""

_TOKEN: Final = re.compile(r" ?(?:([0-9][0-9.,]*+)|([^\W\d_]++)|(\S))")
_SIZE: Final = re.compile(r"([0-9]{1,6})(?:([.,])([0-9]{1,6}))?", re.ASCII)
_COUNT: Final = re.compile(r"[1-9][0-9]{0,4}", re.ASCII)
_LONGEST_WORD: Final = 4
_BASES: Final = {"volume": "ml", "mass": "g", "piece": "each"}
_SMALL_UNITS: Final = frozenset(("ml", "g", "mg"))


@dataclass(frozen=True, slots=True)
class WrittenPack:
    """``count`` units of ``size``, as :class:`schemas.offer.Pack` takes them; ``bunch`` where bunches are counted."""

    count: int
    size: str
    bunch: bool = False


@dataclass(frozen=True, slots=True)
class Form:
    """A sequence of kinds with what its figures are, in order; ``write`` is the advice of one that is refused."""

    figures: tuple[str, ...]
    example: str
    units: frozenset[str] | None = None
    write: str | None = None


class _Token(NamedTuple):
    kind: str
    text: str


class PackTable(NamedTuple):
    """Forms by their kinds with every figure as NUMBER, and the kind of each word."""

    forms: Mapping[str, Form]
    words: Mapping[str, str]


@functools.cache
def pack_table(path: Path = TABLE_FILE) -> PackTable:
    """The table of ``path``, checked; a malformed entry is a :class:`DataFault` that names it."""
    with path.open("rb") as file:
        data = tomllib.load(file)
    _check_keys(path, "file", data, {"sources", "word", "form", "refused"}, set())
    for name, source in data["sources"].items():
        _check_keys(path, name, source, {"title", "standing", "since", "checked"}, set())
        if source["standing"] not in STANDINGS:
            raise DataFault(f"{path.name}: {name} has a standing outside {STANDINGS}.")
    words: dict[str, str] = {}
    for row in data["word"]:
        _check_keys(path, row.get("kind"), row, {"kind", "words", "source"}, set())
        for word in row["words"]:
            if word in words or word in TABLE.explicit or word in TABLE.bare:
                raise DataFault(f"{path.name}: the word {word!r} is read in two ways.")
            words[word] = row["kind"]
    forms: dict[str, Form] = {}
    for row in (*data["form"], *data["refused"]):
        optional = {"write"} if row in data["refused"] else {"units"}
        _check_keys(path, row.get("form"), row, {"form", "example", "source"}, optional)
        kinds, form = _form(row)
        if kinds in forms or row["source"] not in data["sources"]:
            raise DataFault(f"{path.name}: {row['form']} stands twice or names an unknown source.")
        forms[kinds] = form
    return PackTable(forms, words)


def _check_keys(path: Path, name: object, row: Mapping[str, Any], needed: set[str], optional: set[str]) -> None:
    if not needed <= set(row) <= needed | optional:
        raise DataFault(f"{path.name}: {name}: wrong keys.")


def _form(row: Mapping[str, Any]) -> tuple[str, Form]:
    parts = row["form"].split(" ")
    figures = tuple(part for part in parts if part in ("COUNT", "SIZE", "NUMBER"))
    kinds = " ".join("NUMBER" if part in ("COUNT", "SIZE") else part for part in parts)
    units = frozenset(row["units"]) if "units" in row else None
    return kinds, Form(figures, row["example"], units, row.get("write"))


def pack_of(text: str, decimal: Mark | None = None) -> WrittenPack:
    """The pack that ``text`` writes; ``decimal`` is the list's mark, which decides on three digits behind a mark.

    >>> pack_of("24 x 200 ml"), pack_of("1x30L keg"), pack_of("box of 54")
    (WrittenPack(count=24, size='200 ml', bunch=False), WrittenPack(count=1, size='30 l', bunch=False), \
WrittenPack(count=54, size='1 each', bunch=False))
    """
    found = _pack_or_fault(text, decimal)
    if isinstance(found, InputFault):
        raise found
    return found


@functools.lru_cache(maxsize=8192)
def _pack_or_fault(text: str, decimal: Mark | None) -> WrittenPack | InputFault:
    """Refusals are kept like packs, so that a long list of the same mistake costs no more than one that is right."""
    try:
        return _read(text, decimal)
    except InputFault as fault:
        return InputFault(fault.code, fault.detail)


def _read(text: str, decimal: Mark | None) -> WrittenPack:
    if len(text) > LONGEST:
        raise InputFault("pack_unreadable", f"A pack is written in at most {LONGEST} characters.")
    tokens = _tokens(text)
    form = pack_table().forms.get(" ".join(token.kind for token in tokens))
    unit = next((token.text for token in tokens if token.kind == "UNIT"), None)
    if form is None:
        raise _unknown(tokens)
    if form.write is not None:
        raise InputFault("pack_ambiguous", form.write)
    if form.units is not None and unit not in form.units:
        raise InputFault("pack_ambiguous", "Write how much of it the price buys, such as 100 g or 70 cl.")
    count, size = 1, "1"
    numbers = (token.text for token in tokens if token.kind == "NUMBER")
    for role, figure in zip(form.figures, numbers, strict=True):
        if role == "SIZE":
            size = _size(figure, decimal, unit or "")
        else:
            count *= _count(figure)
    if count > MOST_UNITS:
        raise InputFault("pack_count", f"A pack holds at most {MOST_UNITS:,} units.")
    written = f"{size} {unit}" if unit else "1 each"
    read_amount(written, Measures(), by_mass=False, pieces=())
    return WrittenPack(count, written, any(token.kind == "BUNCH" for token in tokens))


def _tokens(text: str) -> list[_Token]:
    """The words and figures of a text with their kinds; several words are one where the tables have them so."""
    found = [match.groups() for match in _TOKEN.finditer(text.lower())]
    tokens: list[_Token] = []
    place = 0
    while place < len(found):
        figure, word, other = found[place]
        if figure:
            tokens.append(_Token("NUMBER", figure))
            place += 1
        elif other:
            tokens.append(_Token(pack_table().words.get(other, "UNKNOWN"), other))
            place += 1
        else:
            token, length = _word_token([entry[1] for entry in found[place : place + _LONGEST_WORD]], word)
            tokens.append(token)
            place += length
    return tokens


def _word_token(ahead: Iterable[str | None], word: str) -> tuple[_Token, int]:
    words: list[str] = []
    for one in ahead:
        if not one:
            break
        words.append(one)
    for length in range(len(words), 0, -1):
        joined = " ".join(words[:length])
        if joined in TABLE.explicit:
            return _Token("UNIT", TABLE.explicit[joined].name), length
        if joined in TABLE.bare:
            return _Token("BARE", joined), length
        if joined in pack_table().words:
            return _Token(pack_table().words[joined], joined), length
    return _Token("UNKNOWN", word), 1


def _unknown(tokens: Iterable[_Token]) -> InputFault:
    for token in tokens:
        if token.kind == "BARE":
            allowed = ", ".join(TABLE.bare[token.text].allowed)
            return InputFault(
                "pack_ambiguous", f"The measure does not say which system it is of: write one of {allowed}."
            )
    detail = "Write the pack as 6 x 70 cl, 1 x 30 l keg, 5 kg bag, box of 54, bunch, each or per kg."
    return InputFault("pack_unreadable", detail)


def _count(figure: str) -> int:
    if _COUNT.fullmatch(figure) is None:
        raise InputFault("pack_count", "A count is a whole number from 1, without marks of thousands.")
    return int(figure)


def _size(figure: str, decimal: Mark | None, unit: str) -> str:
    """A size in plain digits with a point; three digits behind a mark count as decimals only by the list's own mark."""
    match = _SIZE.fullmatch(figure)
    if match is None:
        raise InputFault("pack_size", "A size is written in digits with one decimal mark, such as 0.7 l.")
    whole, mark, decimals = match.groups()
    if mark and len(decimals) == 3 and not whole.startswith("0") and (mark != decimal or unit in _SMALL_UNITS):
        detail = "Three digits behind a mark may be thousands or decimals: write 1 l, 1000 ml or 1.5 kg."
        raise InputFault("pack_ambiguous", detail)
    whole = whole.lstrip("0") or "0"
    decimals = (decimals or "").rstrip("0")
    return f"{whole}.{decimals}" if decimals else whole


@functools.lru_cache(maxsize=8192)
def base_of(size: str) -> tuple[Any, str]:
    """A pack size in ml, g or pieces, as the offers of a request are read: quantity and base unit.

    >>> base_of("70 cl")
    (Decimal('700'), 'ml')
    """
    amount = read_amount(size, Measures(), by_mass=False, pieces=())
    if amount.dimension not in _BASES:
        raise InputFault("pack_size", "A pack size is a volume, a mass or a number of pieces.")
    return amount.quantity, _BASES[amount.dimension]
