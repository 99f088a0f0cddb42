"""Texts of the answer in the language asked for: each says which language it is in, and whether it fell back."""

from collections.abc import Callable

from service.language import ALLERGEN, ENGLISH, LABEL, STATEMENT, Language, Text, language
from service.report.figures import Json
from service.rulekinds import Statement
from service.rules import Rules


class Wording:
    """One answer's words. Without a language asked for, all is English and nothing is marked.

    ``marked`` says whether a language was asked for, ``english`` whether the rules' own words are to be used. ``used``
    are the words that were looked up, by key. Of the text being put together, ``spoke`` is whether it holds a
    word of the language, ``fell_back`` whether it holds one that is not in the language asked for.
    """

    def __init__(self, asked: str | None = None, spoken: Language | None = None) -> None:
        self.asked = asked
        self.language = spoken or language(ENGLISH)
        self.marked = asked is not None
        self.english = self.language.code == ENGLISH
        self.used: dict[str, Text] = {}
        self.spoke = self.fell_back = False

    def word(self, key: str) -> str:
        """The word of a key."""
        found = self.language.text(key)
        self._note(key, found)
        return found.text

    def say(self, key: str, **blanks: str) -> str:
        """The sentence of a key with its blanks filled in."""
        return self.word(key).format(**blanks)

    def sentence(self, english: str) -> str:
        """A fixed sentence of the answer, in English where the language has no such one."""
        if self.english:
            return english
        key = self.language.saying(english)
        return self.untranslated(english) if key is None else self.word(key)

    def condition(self, english: str) -> Json:
        """What a rule says beside, as it ends a judgement, and its language; only where one was asked for."""
        if not self.marked or not english:
            return {}
        key = None if self.english else self.language.saying(english)
        found = None if key is None else self.language.text(key)
        text, lang = (english, ENGLISH) if found is None else (found.text, found.lang)
        return {"condition": text, "condition_lang": lang}

    def untranslated(self, english: str) -> str:
        """A text that is held in English alone."""
        self.fell_back = True
        return english

    def allergen(self, rules: Rules, key: str) -> str:
        """An allergen by the regime's own word in English, by the official version of the language in others."""
        if not self.english:
            found = self.language.allergen(rules.lineage, key)
            held = found is self.language.held(ALLERGEN, rules.lineage, key)
            self._note(f"{ALLERGEN}.{rules.code}.{key}" if held else f"{ALLERGEN}.{key}", found)
            return found.text
        self.fell_back = self.fell_back or self.language.stands_in
        if self.marked:
            place = f"{rules.code}.{key}" if key in rules.allergens.names else key
            self.used[f"{ALLERGEN}.{place}"] = Text(
                rules.allergen_name(key), ENGLISH, self.language.stands_in, rules.allergens.source,
                rules.allergens.standing,
            )  # fmt: skip
        return rules.allergen_name(key)

    def official(self, rules: Rules, statement: Statement) -> Text:
        """A statement of the law: its official version in the language where one is held, else as it stands."""
        own = None if self.english else self.language.held(STATEMENT, rules.lineage, statement.key)
        if own is not None:
            self.used[f"{STATEMENT}.{rules.code}.{statement.key}"] = own
            return own
        missed = self.language.stands_in or self.language.code != statement.lang
        return Text(statement.text, statement.lang, missed, statement.source, statement.standing)

    def label(self, rules: Rules, key: str) -> str | None:
        """The official form of a strength on a label; ``None``: as the regime has it."""
        own = None if self.english else self.language.held(LABEL, rules.lineage, key)
        if own is None:
            self.fell_back = self.fell_back or not self.english or self.language.stands_in
            return None
        self.used[f"{LABEL}.{rules.code}.{key}"] = own
        self.spoke = True
        return own.text

    def marks(self, make: Callable[[], str | None]) -> tuple[str | None, Json]:
        """A text and the marks that it bears; none where no language was asked for."""
        self.spoke, self.fell_back = False, self.language.stands_in
        text = make()
        if not self.marked:
            return text, {}
        if text is None:
            return None, {"lang": None, "fallback": None}
        return text, {"lang": self.language.code if self.spoke else ENGLISH, "fallback": self.fell_back}

    def terms(self) -> list[Json]:
        """Every word that was used, by its key, with its language, source and standing."""
        return [
            {
                "key": key, "text": found.text, "lang": found.lang, "fallback": found.fallback,
                "source": found.source, "standing": found.standing,
            }
            for key, found in sorted(self.used.items())
        ]  # fmt: skip

    def missing(self) -> list[str]:
        """The keys of the words that are not in the language asked for."""
        return sorted(key for key, found in self.used.items() if found.fallback)

    def _note(self, key: str, found: Text) -> None:
        if self.marked:
            self.used[key] = found
        self.spoke = self.spoke or found.lang == self.language.code
        self.fell_back = self.fell_back or found.fallback


def labels(wording: Wording) -> Json:
    """The language of the answer, headings and units for a renderer, and every word used with its standing."""
    spoken = wording.language
    groups: dict[str, Json] = {"heading": {}, "unit": {}}
    for key in spoken.english:
        group, _, name = key.partition(".")
        if group in groups:
            groups[group][name] = wording.word(key)
    return {
        "asked": wording.asked,
        "lang": spoken.code,
        "name": spoken.name,
        "fallback": spoken.stands_in,
        "headings": groups["heading"],
        "units": groups["unit"],
        "terms": wording.terms(),
        "missing": wording.missing(),
    }  # fmt: skip
