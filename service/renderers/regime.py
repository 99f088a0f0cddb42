"""The words of one jurisdiction for allergens, and the columns of its matrix, read from the dated rules."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import NamedTuple

from service.renderers.phrases import ENGLISH, Phrases
from service.renderers.reading import Answer, declaration_of, plain
from service.rules import Rules, jurisdiction


class Column(NamedTuple):
    """One allergen of a matrix: its key, its words, and the members of its group that stand behind it if declared.

    ``group`` is the key and the members of the group that a member stands in.
    """

    key: str
    name: str
    members: tuple[str, ...] = ()
    group: tuple[str, tuple[str, ...]] | None = None


def columns_of(code: str, day: date, words: Phrases = ENGLISH) -> tuple[Column, ...]:
    """Every allergen that ``code`` lists on ``day``, in its order. Raises :class:`service.errors.InputFault`."""
    rules = jurisdiction(code).on(day)
    keys = (*rules.allergens.listed, *rules.allergens.separate_statement)
    members = rules.allergens.members
    return tuple(
        Column(key, _named(rules, key, words), tuple(members.get(key, ())), _group(rules, key))
        for key in dict.fromkeys(keys)
    )


def _group(rules: Rules, key: str) -> tuple[str, tuple[str, ...]] | None:
    """The group of a member that is listed by itself, under which it is declared too where nobody says which it is."""
    group = rules.vocabulary[key].group
    if group is None:
        return None
    return group, tuple(name for name, allergen in rules.vocabulary.items() if allergen.group == group)


def allergen_names(code: str, day: date, words: Phrases = ENGLISH) -> Mapping[str, str]:
    """The words for each allergen that ``code`` lists, with the members of its groups.

    In English they are the regime's own, in another language those of the law's version in it.
    """
    rules = jurisdiction(code).on(day)
    listed = rules.allergens
    members = [member for group in listed.members.values() for member in group]
    keys = (*listed.listed, *listed.recommended, *listed.separate_statement, *members)
    return {key: _named(rules, key, words) for key in keys}


def _named(rules: Rules, key: str, words: Phrases) -> str:
    if words.code == ENGLISH.code:
        return rules.allergen_name(key)
    found = words.spoken.allergen(rules.lineage, key)
    return words.foreign(found.text, found.lang)


def columns_with(
    columns: Sequence[Column], answers: Iterable[Answer], code: str | None, names: Mapping[str, str]
) -> tuple[Column, ...]:
    """The columns, each with its declared members behind it, and at the end whatever else a drink declares."""
    declared: dict[str, None] = {}
    for answer in answers:
        declaration = declaration_of(answer, code)
        if declaration is not None:
            for state in ("contains", "may_contain", "unknown"):
                declared |= dict.fromkeys(declaration[state])
    given = {column.key: column for column in columns}
    found: dict[str, None] = {}
    for column in columns:
        found |= dict.fromkeys((column.key, *(key for key in column.members if key in declared)))
    groups = {member: (column.key, column.members) for column in columns for member in column.members}
    return tuple(
        given.get(key) or Column(key, names.get(key, plain(key)), group=groups.get(key)) for key in found | declared
    )
