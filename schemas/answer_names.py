"""Names that a law keeps, such as liqueur, as answered."""

from typing import Literal

from schemas._base import Output


class NameLimitRow(Output):
    """One figure that the name asks for."""

    figure: Literal["abv_percent", "sugars_g_per_l", "egg_yolk_g_per_l"]
    """Which: % vol, sugars as invert sugar in g/l, or egg yolk in g/l."""
    comparator: str
    """How it has to stand to the limit."""
    limit: float
    """The limit."""
    low: float | None
    """The lowest it may be; null where it is not known. Sugars are between invert sugar and sucrose."""
    high: float | None
    """The highest it may be."""
    meets: bool | None
    """Null where it is not known, or rests on what no figure shows."""


class LegalNameRow(Output):
    """One rule on the legal name of the drink or of a part; a name is never allowed by its figures alone."""

    item: str
    """Id of the drink or of the part that states the name."""
    legal_name: str
    """As it was stated."""
    jurisdiction: str
    """Code."""
    word: str | None
    """The name that the rule keeps; null where no rule on it is held."""
    verdict: Literal["meets_figures", "refused", "not_known"]
    """`refused` by a figure; `not_known` without a figure or a rule; `meets_figures` leaves open what else the law asks
    for, such as the raw material."""
    limits: tuple[NameLimitRow, ...]
    """Each figure that the rule asks for; empty where no figure decides."""
    text: str
    """The judgement in words, with the figure."""
    lang: Literal["en"]
    """Language of the text."""
    source: str
    """The rule; empty without one."""
    standing: str
    """How far it was checked; empty without one."""
