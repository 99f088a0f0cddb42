"""The words of each language: ``data/languages/<code>.toml``, read once, checked key by key, frozen.

``language(code).text(key)`` is a word with its language, source and standing. A key that a language does not have is
answered in English and marked as a fallback; a key that nobody knows stops the start. Keys are ``group.name``. A
statement or a strength on a label is held only where the law has an official version in that language; an allergen that
a jurisdiction names otherwise than the Union stands under ``<code>.<key>``.
"""

import functools
from collections.abc import Iterable, Mapping
from datetime import date
from decimal import Decimal
from pathlib import Path
from string import Formatter
from types import MappingProxyType
from typing import Any, cast

from msgspec import Struct
from msgspec.structs import replace

from service.errors import DataFault
from service.ruleentry import Dated
from service.rulefile import dated_entries, toml
from service.rulekinds import Statement
from service.rules import RuleBook, rules

LANGUAGES = Path(__file__).parent / "data" / "languages"
"""The folder that :func:`languages` reads; one file adds a language."""

ENGLISH = "en"
"""The language of the rules' own words, in which a missing word is shown."""

OWN = "own"
"""Standing of a word that is our own wording, which no source says."""

ALLERGEN, LABEL, STATEMENT, ADVISORY = "allergen", "label", "statement", "advisory"
SAYING = "saying"
_OF_THE_RULES = (ALLERGEN, LABEL, STATEMENT, ADVISORY)
GROUPS = (*_OF_THE_RULES, "menu", "noun", "count", "claim", "caution", SAYING, "phrase", "heading", "unit", "print")
"""Groups of words; the keys of the first four are those of the rules, those of the others stand in en.toml."""


class Words(Dated, frozen=True, kw_only=True):
    """Words of one group from one source, by key; ``own`` words are our own wording."""

    group: str
    text: Mapping[str, str]
    own: bool = False


class Text(Struct, frozen=True):
    """A word in ``lang``; ``fallback`` where another language was asked for."""

    text: str
    lang: str
    fallback: bool
    source: str
    standing: str


class Language(Struct, frozen=True):
    """One language. ``stands_in`` where it answers for one that is not held, so that every word is a fallback.

    ``locale`` names the signs of figures, the plural and the days in CLDR.
    """

    code: str
    name: str
    locale: str
    words: Mapping[str, Text]
    english: Mapping[str, Text]
    stands_in: bool = False

    def text(self, key: str) -> Text:
        """The word of a key, in English and marked where this language has none. ``KeyError`` for an unknown key."""
        own = self.words.get(key)
        if own is None:
            return replace(self.english[key], fallback=True)
        return replace(own, fallback=True) if self.stands_in else own

    def allergen(self, codes: Iterable[str], name: str) -> Text:
        """The word for an allergen: that of the nearest of some jurisdictions, else the language's own."""
        return self.held(ALLERGEN, codes, name) or self.text(f"{ALLERGEN}.{name}")

    def held(self, group: str, codes: Iterable[str], name: str) -> Text | None:
        """The official version of a label, statement or allergen of the nearest of some jurisdictions, if held."""
        for code in codes:
            own = self.words.get(f"{group}.{code}.{name}")
            if own is not None:
                return own
        return None

    def saying(self, english: str) -> str | None:
        """The key of a fixed sentence that stands in the answer in English; ``None`` where no file has it."""
        return _sayings().get(english)

    def number(self, figure: str) -> str:
        """A figure as this language writes it, with the decimals it has.

        >>> language("fr").number("1234.50"), language("en").number("1234.50")
        ('1\\u202f234,50', '1234.50')
        """
        if self.code == ENGLISH:
            return figure
        from babel.numbers import format_decimal  # an answer in English, which is most of them, needs none of it

        places = len(figure.partition(".")[2])
        return format_decimal(
            Decimal(figure), format="#,##0" + ("." + "0" * places if places else ""), locale=self.locale
        )

    def singular(self, figure: Decimal) -> bool:
        """Whether a noun after a figure stands in the singular (CLDR, plural rules).

        >>> [language(code).singular(Decimal("1.9")) for code in ("en", "fr", "pt")]
        [False, True, False]
        """
        if self.code == ENGLISH:
            return figure == 1
        from babel import Locale  # as above

        return Locale.parse(self.locale).plural_form(figure.normalize()) == "one"

    def day(self, day: str) -> str:
        """A day of ISO 8601 as it is written out, in day, month and year (CLDR, long dates).

        >>> language("en").day("2027-01-02"), language("ja").day("2027-01-02")
        ('2 January 2027', '2027年1月2日')
        """
        from babel.dates import format_date  # as above

        return format_date(date.fromisoformat(day), format="long", locale=self.locale)


@functools.cache
def languages() -> Mapping[str, Language]:
    """The languages of this installation, read once; a malformed file is a :class:`DataFault`."""
    return load_languages(LANGUAGES, rules())


@functools.cache
def _sayings() -> Mapping[str, str]:
    english = languages()[ENGLISH].words
    return {word.text: key for key, word in english.items() if key.startswith(f"{SAYING}.")}


def language(code: str) -> Language:
    """The language of a code, or English standing in for one that is not held."""
    known = languages()
    return known[code] if code in known else replace(known[ENGLISH], stands_in=True)


def load_languages(folder: Path, book: RuleBook) -> Mapping[str, Language]:
    """The languages of a folder, whose English has to have every key."""
    paths = sorted(folder.glob("*.toml"))
    if not any(path.stem == ENGLISH for path in paths):
        raise DataFault(f"{folder.name}: {ENGLISH}.toml is missing")
    vocabulary = {
        f"{ALLERGEN}.{key}": Text(word.name, ENGLISH, False, word.source, word.standing)
        for key, word in book.allergens.items()
    }
    vocabulary |= {
        f"{ADVISORY}.{one.key}": Text(one.text, ENGLISH, False, one.source, one.standing) for one in book.advisories
    }
    read = {path: toml(path) for path in paths}
    base = folder / f"{ENGLISH}.toml"
    english: Mapping[str, Text] = MappingProxyType({**vocabulary, **_words(base, read[base])})
    official = _official(book)
    known = {}
    for path, raw in read.items():
        words = english if path == base else MappingProxyType(_words(path, raw))
        _check(path, words, english, official)
        known[path.stem] = Language(path.stem, raw["name"], raw.get("locale", path.stem), words, english)
    return MappingProxyType(known)


def _words(path: Path, head: Mapping[str, Any]) -> dict[str, Text]:
    if head.get("code") != path.stem or not isinstance(head.get("name"), str):
        raise DataFault(f"{path.name}: code: must be {path.stem}, as the file is named, with a name beside it")
    if not isinstance(head.get("locale", ""), str):
        raise DataFault(f"{path.name}: locale: must be the name of a locale in CLDR")
    entries = {key: value for key, value in head.items() if key != "locale"}
    found: dict[str, Text] = {}
    for block in cast(tuple[Words, ...], dated_entries(path, {"words": Words}, entries)["words"]):
        if block.group not in GROUPS:
            raise DataFault(f"{path.name}: {block.group}: no such group of words")
        for name, text in block.text.items():
            key = f"{block.group}.{name}"
            if key in found:
                raise DataFault(f"{path.name}: {key}: stands twice")
            standing = OWN if block.own else block.standing
            found[key] = Text(text, path.stem, False, block.source, standing)
    return found


def _official(book: RuleBook) -> Mapping[str, str]:
    """Keys of what may have an official version, with the English text."""
    found: dict[str, str] = {}
    for place in book.jurisdictions.values():
        for kind, group in (("label_text", LABEL), ("statement", STATEMENT)):
            for entry in place.entries.get(kind, ()):
                if not isinstance(entry, Statement) or entry.binding == "text":
                    text = entry.text if isinstance(entry, Statement) else getattr(entry, "pattern", "")
                    found[f"{group}.{place.code}.{entry.key}"] = text
        if place.entries.get("allergens"):
            found |= {f"{ALLERGEN}.{place.code}.{key}": word.name for key, word in book.allergens.items()}
    return found


def _check(path: Path, words: Mapping[str, Text], english: Mapping[str, Text], official: Mapping[str, str]) -> None:
    """Every key has to be one of English or of the rules, with the same blanks to fill in."""
    for key, own in words.items():
        meant = official.get(key) if key.partition(".")[0] in (LABEL, STATEMENT, ALLERGEN) else None
        if meant is None and key in english:
            meant = english[key].text
        if meant is None:
            raise DataFault(f"{path.name}: {key}: unknown key")
        if not own.text.strip():
            raise DataFault(f"{path.name}: {key}: is empty")
        if _blanks(path, key, own.text) != _blanks(path, key, meant):
            raise DataFault(f"{path.name}: {key}: has to hold the same {{blanks}} as the English: {meant}")


def _blanks(path: Path, key: str, text: str) -> list[str]:
    if "{" not in text and "}" not in text:  # As most words are; taking the others apart is most of reading a language.
        return []
    try:
        return sorted(name for _, name, _, _ in Formatter().parse(text) if name is not None)
    except ValueError as fault:
        raise DataFault(f"{path.name}: {key}: {fault}") from fault
