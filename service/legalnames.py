"""Names that a law keeps, such as liqueur: refused by a figure, not known without one, never allowed by figures alone.

What else a category asks for, from the raw material to the flavouring, is not judged. A name of which no rule is held
is not known.
"""

import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from service.lawful import judged, lawful_decimal, readable, stands
from service.rulekinds import LegalName, NameLimit
from service.rules import Rules

MEETS, REFUSED, OPEN = "meets_figures", "refused", "not_known"

INVERT_PER_SUCROSE = 360.312 / 342.297
"""Grams of invert sugar from a gram of sucrose: one water is taken up, molar masses of 2 x 180.156 and 342.297."""

UNITS: Mapping[str, str] = {
    "abv_percent": "% vol",
    "sugars_g_per_l": "g/l of sugars as invert sugar",
    "egg_yolk_g_per_l": "g/l of egg yolk",
}
_WORDS = {">=": "at least", ">": "over", "<=": "at most", "<": "under"}

Span = tuple[float, float]
"""The lowest and the highest that a figure may be."""


class LimitRow(NamedTuple):
    """One limit of a name with the figure that stands against it; ``meets`` is ``None`` where it is not known."""

    limit: NameLimit
    found: Span | None
    meets: bool | None


class NameRow(NamedTuple):
    """What one rule says of a name; ``rule`` is ``None`` where none is held."""

    rule: LegalName | None
    verdict: str
    limits: tuple[LimitRow, ...]
    text: str


def sugars_as_invert(sugars_g_per_l: float | None) -> Span | None:
    """What sugars may be as invert sugar: as they are if all is invert already, most if all is sucrose.

    >>> low, high = sugars_as_invert(100.0)
    >>> low, round(high, 2)
    (100.0, 105.26)
    """
    return None if sugars_g_per_l is None else (sugars_g_per_l, sugars_g_per_l * INVERT_PER_SUCROSE)


def name_rows(rules: Rules, name: str, figures: Mapping[str, Span | None]) -> list[NameRow]:
    """Every rule of a jurisdiction on a name, judged on figures of the finished product; one row where none is held."""
    found = [rule for rule in rules.legal_names if _is_named(rule, _plain(name))]
    replaced = {key for rule in found for key in rule.in_place_of}
    rows = [_row(rule, figures) for rule in found if rule.key not in replaced]
    return rows or [NameRow(None, OPEN, (), f"Not known: no rule on this name is held for {rules.name}.")]


def _plain(name: str) -> str:
    """A name without accents, case and doubled spaces."""
    bare = "".join(sign for sign in unicodedata.normalize("NFKD", name) if not unicodedata.combining(sign))
    return " ".join(bare.casefold().replace("’", "'").split())


def _is_named(rule: LegalName, name: str) -> bool:
    return (
        any(name == _plain(one) for one in rule.names)
        or any(name.startswith(_kept(one)) and name != _kept(one) for one in rule.begins)
        or any(name.endswith(_kept(one)) and name != _kept(one) for one in rule.ends)
    )


def _kept(word: str) -> str:
    """An end of a name without accents and case, with the space that parts it from the rest."""
    return f"{' ' if word.startswith(' ') else ''}{_plain(word)}{' ' if word.endswith(' ') else ''}"


def _row(rule: LegalName, figures: Mapping[str, Span | None]) -> NameRow:
    limits = tuple([_limit_row(limit, figures.get(limit.figure)) for limit in rule.limits])
    refused = [row for row in limits if row.meets is False]
    unknown = [row for row in limits if row.meets is None]
    if refused:
        verdict, text = REFUSED, f"Refused: {_said(refused)}."
    elif unknown or not limits:
        verdict, text = OPEN, f"Not known: {_said(unknown)}." if unknown else "Not known: no figure decides."
    else:
        verdict = MEETS
        text = f"The figures that are held are met: {_said(limits)}. What else the name asks for is not judged."
    return NameRow(rule, verdict, limits, f"{text} {rule.condition}" if rule.condition else text)


def _limit_row(limit: NameLimit, found: Span | None) -> LimitRow:
    if found is None:
        return LimitRow(limit, None, None)
    ends = [lawful_decimal(end) for end in found]
    meets = {stands(end, limit.comparator, limit.limit) for end in ends}
    if (
        meets == {True}
        and limit.sure is not None
        and not all(stands(end, limit.comparator, limit.sure) for end in ends)
    ):
        return LimitRow(limit, found, None)
    return LimitRow(limit, found, meets.pop() if len(meets) == 1 else None)


def _said(rows: Sequence[LimitRow]) -> str:
    return "; ".join(f"{_figure(row)}, {_WORDS[row.limit.comparator]} {row.limit.limit:f}" for row in rows)


def _figure(row: LimitRow) -> str:
    unit = UNITS[row.limit.figure]
    if row.found is None:
        return f"{unit} not known"
    return f"{' to '.join(dict.fromkeys(_shown(row)))} {unit}"


def _shown(row: LimitRow) -> Iterator[str]:
    """Both ends in few digits, in more where fewer would be judged otherwise."""
    assert row.found is not None
    for end in row.found:
        yield readable(judged(lawful_decimal(end), row.limit.comparator, row.limit.limit))
