"""Which duties may apply to whom, in words that leave the decision to the authority; a proposal is called one."""

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from service.renderers.page import Mixed
from service.renderers.phrases import Phrases
from service.renderers.reading import Answer, Row, plain

PROPOSAL = "proposal"

WITH_CALORIES = frozenset({"succinct_statement", "written_available"})
"""Duties whose official text stands on every menu that states calories (21 CFR 101.11(b)(2)(i)(B) and (C))."""

CALORIES_UNKNOWN = "Calories not known"
"""In the language of the menu rule, as the calories themselves are."""


class DutyText(NamedTuple):
    """One duty as it is printed; ``drinks`` are those it is about, empty where it is about all that are shown."""

    title: str
    when: str
    asks: str
    quoted: bool
    whom: str
    source: Mixed
    note: str
    drinks: tuple[str, ...]
    missing: tuple[Mixed, ...]
    declared: tuple[str, ...]
    proposal: bool


class DutyList(NamedTuple):
    """The duties of one jurisdiction and who decides on them."""

    code: str
    rows: tuple[DutyText, ...]
    defer: tuple[str, ...]


def duties_of(answers: Sequence[Answer], words: Phrases, jurisdiction: str | None = None) -> tuple[DutyList, ...]:
    """The duties of some answers by jurisdiction, each once; of one jurisdiction alone where it is given."""
    found: dict[str, dict[tuple[object, ...], list[tuple[str, Row]]]] = {}
    for answer in answers:
        for row in answer.get("duties") or ():
            if jurisdiction in (None, row["jurisdiction"]):
                same = tuple(row[key] for key in ("code", "applies", "title", "asks", "statement", "applies_to"))
                found.setdefault(row["jurisdiction"], {}).setdefault(same, []).append((answer["drink"]["name"], row))
    return tuple(_list(code, list(groups.values()), len(answers), words) for code, groups in found.items())


def _list(code: str, groups: Sequence[Sequence[tuple[str, Row]]], drinks: int, words: Phrases) -> DutyList:
    rows = sorted((_duty(group, drinks, words) for group in groups), key=lambda row: row.proposal)
    defer = dict.fromkeys(words.foreign(row["defer"]) for group in groups for _, row in group)
    return DutyList(code, tuple(rows), tuple(defer))


def _duty(group: Sequence[tuple[str, Row]], drinks: int, words: Phrases) -> DutyText:
    row = group[0][1]
    about = () if len(group) == drinks else tuple(dict.fromkeys(name for name, _ in group))
    text = row["statement"] if row["asks"] is None else row["asks"]
    lang = row["statement_lang"] if row["asks"] is None else "en"
    return DutyText(
        title=words.foreign(row["title"]),
        when=_when(row, words),
        asks=words.foreign(text, lang),
        quoted=row["asks"] is None,
        whom=words.foreign(row["applies_to"]),
        source=Mixed(
            words["duty_source"],
            article=words.foreign(row["article"]),
            standing=words[f"standing_{row['standing']}"],
        ),
        note=words.foreign(row["note"]) if row["note"] else "",
        drinks=about,
        missing=_missing(group, drinks, words),
        declared=_declared(group, drinks, words),
        proposal=row["applies"] == PROPOSAL,
    )


def _when(row: Row, words: Phrases) -> str:
    """When it may apply, and what stands behind it where that is no law."""
    applies, status = row["applies"], row["status"]
    if applies == PROPOSAL:
        return words["duty_proposal"]
    if status in ("guidance", "convention"):
        return words[f"duty_{status}"]
    if applies.startswith("from "):
        return words["duty_from"].format(day=words.day(applies.removeprefix("from ")))
    return words["duty_applies"] if applies == "applies" else words["duty_open"]


def _missing(group: Iterable[tuple[str, Row]], drinks: int, words: Phrases) -> tuple[Mixed, ...]:
    """What is not known and so not declared, in English as the contract names it; the same of several drinks once."""
    found: dict[tuple[str, ...], list[str]] = {}
    for name, row in group:
        if row["missing"]:
            found.setdefault(tuple(row["missing"]), []).append(name)
    return tuple(
        Mixed(
            words["duty_missing"],
            what=words.foreign(_about(", ".join(plain(one) for one in fields), names, drinks)),
        )
        for fields, names in found.items()
    )


def _declared(group: Iterable[tuple[str, Row]], drinks: int, words: Phrases) -> tuple[str, ...]:
    """What it would declare of each drink."""
    found: dict[str, list[str]] = {}
    for name, row in group:
        if row["declaration"]:
            found.setdefault(row["declaration"], []).append(name)
    return tuple(words.foreign(_about(text, names, drinks)) for text, names in found.items())


def _about(text: str, names: Sequence[str], drinks: int) -> str:
    """A text with the drinks it is about, where more than one is shown."""
    return text if drinks == 1 else f"{text} ({'; '.join(dict.fromkeys(names))})"


def calories_of(answer: Answer, jurisdiction: str | None, words: Phrases) -> str | None:
    """The calories that a chain's menu declares of a drink, or that they are not known; ``None`` where none are asked.

    A chain is known by the texts that stand on its menus alone (21 CFR 101.11(b)(2)(i)(B) and (C)).
    """
    row = _menu_calories(answer, jurisdiction)
    if row is not None:
        return words.foreign(row["declaration"])
    rows: Iterable[Row] = answer.get("duties") or ()
    chain = any(one["code"] in WITH_CALORIES and jurisdiction in (None, one["jurisdiction"]) for one in rows)
    return words.foreign(CALORIES_UNKNOWN) if chain else None


def states_calories(answer: Answer, jurisdiction: str | None) -> bool:
    """Whether the calories of a drink are declared."""
    return _menu_calories(answer, jurisdiction) is not None


def add_ons_of(answer: Answer, jurisdiction: str | None, words: Phrases) -> list[str]:
    """What may be added to a drink, with the calories that it adds; none without calories of the drink."""
    row = _menu_calories(answer, jurisdiction)
    rows = () if row is None else row["add_ons"]
    return [f"{words['add_on'].format(name=one['name'])}{words['colon']}{one['text']}" for one in rows]


def _menu_calories(answer: Answer, jurisdiction: str | None) -> Row | None:
    rows: Iterable[Row] = answer.get("duties") or ()
    return next((row for row in rows if row["declaration"] and jurisdiction in (None, row["jurisdiction"])), None)
