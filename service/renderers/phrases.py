"""The fixed words of every printed output, by key, in one language: the group ``print`` of ``data/languages``.

A key that no language has fails at once; one that this language does not have comes in English and is marked, so that
a page can say which of its words are in another language. Braces are filled by the renderer with what the answer says,
never with a figure of its own.
"""

import re
from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal
from functools import cached_property

from service.language import ENGLISH as ENGLISH_CODE
from service.language import Language, language
from service.lawful import readable

GROUP = "print."

_PLAIN = re.compile(r"-?[0-9]+(?:\.[0-9]+)?\Z", re.ASCII)
_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}\Z", re.ASCII)


class Foreign(str):
    """Words in ``lang``, which is another language than that of the page."""

    __slots__ = ("lang",)

    lang: str

    def __new__(cls, text: str, lang: str) -> "Foreign":
        """The words with their language."""
        made = super().__new__(cls, text)
        made.lang = lang
        return made

    def format(self, *values: object, **named: object) -> "Foreign":
        """As of any text; what is filled in counts as in the same language."""
        return Foreign(super().format(*values, **named), self.lang)


class Phrases(Mapping[str, str]):
    """The words of one language, read when the first of them is asked for."""

    def __init__(self, spoken: Language | None = None) -> None:
        self._spoken = spoken

    @cached_property
    def spoken(self) -> Language:
        """The language."""
        return self._spoken or language(ENGLISH_CODE)

    @cached_property
    def code(self) -> str:
        """What a page states as its language."""
        return self.spoken.code

    @cached_property
    def _words(self) -> dict[str, str]:
        keys = [key for key in self.spoken.english if key.startswith(GROUP)]
        found = {key: self.spoken.text(key) for key in keys}
        return {key.removeprefix(GROUP): self.foreign(word.text, word.lang) for key, word in found.items()}

    def __getitem__(self, key: str) -> str:
        return self._words[key]

    def __iter__(self) -> Iterator[str]:
        return iter(self._words)

    def __len__(self) -> int:
        return len(self._words)

    def of(self, key: str) -> str:
        """The word of a key of any group, such as ``heading.contains``; a symbol that is no key stands for itself."""
        if "." not in key:
            return key
        found = self.spoken.text(key)
        return self.foreign(found.text, found.lang)

    def foreign(self, text: str, lang: str | None = ENGLISH_CODE) -> str:
        """A text with its language where that is not the page's; ``None`` is a text that does not say its own."""
        return text if lang is None or lang == self.code else Foreign(text, lang)

    def number(self, figure: object) -> str:
        """A figure as it stands in the answer, with the decimal sign of the language; a text is left as it is.

        >>> Phrases(language("fr")).number(12.5), Phrases().number(12.5), Phrases(language("fr")).number("1 dash")
        ('12,5', '12.5', '1 dash')
        """
        text = str(figure)
        if isinstance(figure, float) and "e-" in text:
            return readable(Decimal(text), self.spoken.number)
        return self.spoken.number(text) if _PLAIN.match(text) else text

    def day(self, day: str) -> str:
        """A day of ISO 8601 as the language writes it out, so that it is taken for no other; a text is left as it is.

        >>> Phrases(language("fr")).day("2027-11-25"), Phrases(language("fr")).day("Thursday")
        ('25 novembre 2027', 'Thursday')
        """
        return self.spoken.day(day) if _DAY.match(day) else day

    def listed(self, texts: Iterable[str]) -> str:
        """Some texts that may have commas of their own in one line, each once."""
        return self.of("phrase.item_separator").join(dict.fromkeys(texts))

    @property
    def percent_vol(self) -> str:
        """The unit of strength."""
        return self.of("unit.percent_vol")


ENGLISH = Phrases()
"""English as served."""
