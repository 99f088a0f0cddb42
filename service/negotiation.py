"""Which language an answer is in: ``lang``, else ``Accept-Language``, looked up as RFC 4647, section 3.4, says.

Everything here takes time proportional to the length of what was sent, and never raises.
"""

import re
from collections.abc import Collection, Sequence
from typing import NamedTuple

LONGEST_HEADER = 1000
"""Characters of a header that are read; what a browser sends is far shorter."""

MOST_RANGES = 50
"""Ranges of a header that are read."""

_RANGE = re.compile(r"(?:[A-Za-z]{1,8}(?:-[A-Za-z0-9]{1,8}){0,8}|\*)\Z")
_QUALITY = re.compile(r"[qQ]=(0(?:\.[0-9]{0,3})?|1(?:\.0{0,3})?)\Z")


class Choice(NamedTuple):
    """The range that was asked for, and the code held for it; ``None``: none of those asked for is held."""

    asked: str
    code: str | None


def negotiated(accept_language: str | None, lang: str | None, held: Collection[str]) -> Choice | None:
    """The language to answer in; ``None`` where nobody asked for one.

    >>> negotiated("da, fr-CA;q=0.8, en;q=0.7", None, ("en", "fr"))
    Choice(asked='fr-CA', code='fr')
    >>> negotiated("da", "x-none", ("en",))
    Choice(asked='x-none', code=None)
    """
    asked = [lang] if lang is not None else language_ranges(accept_language or "")
    ranges = [one for one in asked if one != "*"]
    if not ranges:
        return None
    for one in ranges:
        code = looked_up(one, held)
        if code is not None:
            return Choice(one, code)
    # A wildcard takes whatever there is, so nothing was asked for that could be missed.
    return None if "*" in asked else Choice(ranges[0], None)


def language_ranges(accept_language: str) -> list[str]:
    """The ranges of a header (RFC 9110, 12.5.4), the most wanted first; what is malformed or unwanted is left out."""
    found: list[tuple[float, str]] = []
    for part in accept_language[:LONGEST_HEADER].split(",")[:MOST_RANGES]:
        name, *parameters = (piece.strip(" \t") for piece in part.split(";"))
        quality = _quality(parameters)
        if quality and _RANGE.match(name):
            found.append((quality, name))
    return [name for _, name in sorted(found, key=lambda pair: -pair[0])]


def _quality(parameters: Sequence[str]) -> float | None:
    """The weight, 1 where none is given; ``None`` where it cannot be read."""
    if not parameters:
        return 1.0
    weight = _QUALITY.match(parameters[0]) if len(parameters) == 1 else None
    return None if weight is None else float(weight[1])


def looked_up(asked: str, held: Collection[str]) -> str | None:
    """The held tag for one range, cut from its end until it fits; a lone letter or digit goes with what it leads.

    >>> looked_up("zh-Hant-CN-x-private1-private2", ("zh-Hant", "zh"))
    'zh-Hant'
    """
    by_case = {code.lower(): code for code in held}
    subtags = asked.lower().split("-")
    while subtags:
        code = by_case.get("-".join(subtags))
        if code is not None:
            return code
        subtags.pop()
        if subtags and len(subtags[-1]) == 1:
            subtags.pop()
    return None
