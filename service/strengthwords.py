"""The strength in words: on a menu no finer than it is known, on a label as the law rounds it, and in claims.

Pure functions on the frozen values of :mod:`service.rules`, which round as :mod:`service.labelling` does.
"""

from collections.abc import Callable, Sequence
from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal
from typing import NamedTuple

from msgspec import Struct

from service.labelling import NOT_KNOWN, as_it_is
from service.lawful import judged, lawful_decimal, nearest_multiple, plain, readable, stands
from service.rulekinds import UNMIXED, Claim, LabelText
from service.rules import Rules

_EXACT = Decimal("0.1")
_MENU_STEPS = (_EXACT, Decimal("0.5"), Decimal(1), Decimal(2), Decimal(5), Decimal(10))
"""Steps of a strength on a menu in % vol; the least that is no finer than the uncertainty is taken."""

_WEAK_PERCENT = Decimal(2)
_WEAK_STEP = Decimal("0.5")
"""Under so many % vol no wider step is taken, so that little alcohol is not rounded away."""

_SOFT_PERCENT = Decimal("0.5")
"""Words of this strength or less are refused where it is in doubt."""


KINDS = {UNMIXED: "a product that is not mixed"}
"""Kinds that are not called by their key."""


def kind_of(kind: str) -> str:
    """A kind of product in words."""
    return KINDS.get(kind, kind)


class ClaimRow(Struct, frozen=True):
    """Whether a word of strength may be used; ``figure`` is the strength that was judged."""

    word: str
    allowed: bool
    comparator: str
    limit: Decimal
    figure: Decimal | None
    text: str
    source: str
    standing: str


class ClaimWords(NamedTuple):
    """How a word of strength is judged; ``number`` writes a figure, ``kind`` names a kind of product, and ``more`` says
    what the rule says beside."""

    figure: str = "{n} % vol"
    under: str = "under {n} % vol"
    at_most: str = "at most {n} % vol"
    not_known: str = NOT_KNOWN
    allowed: str = "allowed: {figure}, {rule}."
    refused: str = "refused: {figure}; it has to be {rule}."
    unknown: str = "refused: the strength is not known; it has to be {rule}."
    kept: str = "refused: {figure}; kept for {kind}."
    doubtful: str = "refused: {doubts}."
    convention: str = "No rule is held; by a convention {text}"
    number: Callable[[str], str] = as_it_is
    kind: Callable[[str], str] = kind_of
    more: Callable[[str], str] = as_it_is


ENGLISH_CLAIM = ClaimWords()


class StrengthText(Struct, frozen=True):
    """A strength in words, or ``text`` ``None`` and the reason."""

    text: str | None
    reason: str | None
    source: str
    standing: str


def claims(
    rules: Rules, abv_upper_percent: float | None, kind: str | None = None, doubts: Sequence[str] = ()
) -> tuple[ClaimRow, ...]:
    """Which words of strength may be used, judged on the upper end of the strength: each as :func:`claim_row`."""
    return tuple([claim_row(claim, abv_upper_percent, kind, doubts) for claim in rules.claims])


def claim_row(
    claim: Claim,
    abv_upper_percent: float | None,
    kind: str | None = None,
    doubts: Sequence[str] = (),
    words: ClaimWords = ENGLISH_CLAIM,
) -> ClaimRow:
    """Whether a word of strength may be used, judged on the upper end of the strength.

    ``kind`` is the kind of product where the whole drink is one (a glass of wine), and ``None`` for a mixed
    drink. ``doubts`` are reasons in words why a strength this low is not certain: no word of 0.5 % vol or less is
    allowed with one.
    """
    figure = None if abv_upper_percent is None else lawful_decimal(abv_upper_percent)
    allowed = figure is not None and stands(figure, claim.comparator, claim.abv_percent)
    bound = words.under if claim.comparator == "<" else words.at_most
    rule = bound.format(n=words.number(f"{claim.abv_percent:f}"))
    said = words.not_known
    if figure is not None:
        said = words.figure.format(n=readable(judged(figure, claim.comparator, claim.abv_percent), words.number))
    if claim.only is not None and (kind is None if claim.only == UNMIXED else kind != claim.only):
        allowed, text = False, words.kept.format(figure=said, kind=words.kind(claim.only))
    elif figure is None:
        text = words.unknown.format(rule=rule)
    elif allowed and doubts and claim.abv_percent <= _SOFT_PERCENT:
        allowed, text = False, words.doubtful.format(doubts="; ".join(doubts))
    elif allowed:
        text = words.allowed.format(figure=said, rule=rule)
    else:
        text = words.refused.format(figure=said, rule=rule)
    if claim.status == "convention":
        text = words.convention.format(text=text)
    if claim.condition:
        text = f"{text} {words.more(claim.condition)}"
    return ClaimRow(
        claim.word, allowed, claim.comparator, claim.abv_percent, figure, text, claim.source, claim.standing
    )


class MenuWords(NamedTuple):
    """How a strength is said on a menu; without a pattern, as the regime has it. ``number`` writes a figure."""

    pattern: str | None = None
    under: str | None = None
    none: str | None = None
    to: str = "{low} to {high}"
    under_figure: str = "under {n}"
    number: Callable[[str], str] = as_it_is


ENGLISH_MENU = MenuWords()


def menu_text(
    rules: Rules,
    abv_percent: float | None,
    uncertainty_percent: float | None = None,
    abv_high_percent: float | None = None,
    said: MenuWords = ENGLISH_MENU,
    most_percent: float | None = None,
) -> StrengthText:
    """The strength of a poured drink in words, no finer than its uncertainty in % vol (``None``: to 0.1).

    Under 2 % vol the step is at most 0.5 % vol; a drink with alcohol in it is never shown as 0.
    ``abv_high_percent`` is the upper end where alternatives make the strength a range, ``most_percent`` that of the
    band: "under" is said of a drink whose band stays under.
    """
    words = rules.menu_text
    if abv_percent is None:
        return StrengthText(None, "The strength is not known.", words.source, words.standing)
    figure = lawful_decimal(abv_percent)
    high = figure if abv_high_percent is None else lawful_decimal(abv_high_percent)
    doubt = Decimal(0) if uncertainty_percent is None else lawful_decimal(uncertainty_percent)
    step = next((step for step in _MENU_STEPS if doubt <= step), _MENU_STEPS[-1])
    if high == 0:
        text = said.none or words.none
    elif (high if most_percent is None else max(high, lawful_decimal(most_percent))) < _WEAK_STEP:
        text = (said.under or words.under).format(n=said.number(f"{_WEAK_STEP}"))
    else:
        weak = high < _WEAK_STEP  # and its band is not: at most about the step, which is said of it
        ends = list(dict.fromkeys(_menu_figure(one, step, said) for one in ((_WEAK_STEP,) if weak else (figure, high))))
        n = said.to.format(low=ends[0], high=ends[1]) if len(ends) > 1 else ends[0]
        text = (said.pattern or words.pattern).format(n=n)
    return StrengthText(text, None, words.source, words.standing)


def _menu_figure(figure: Decimal, step: Decimal, said: MenuWords) -> str:
    fine = min(step, _WEAK_STEP) if figure < _WEAK_PERCENT else step
    value = nearest_multiple(figure, fine)
    if value == 0 and figure > 0:
        return said.under_figure.format(n=said.number(f"{fine:f}"))
    return said.number(f"{value:f}" if fine == _EXACT else f"{plain(value):f}")


def label_text(
    rules: Rules,
    abv_percent: float | None,
    pattern_of: Callable[[str], str | None] = lambda _: None,
    number: Callable[[str], str] = as_it_is,
) -> StrengthText:
    """The strength as a package states it; no text under the strength from which it has to be stated.

    ``pattern_of`` gives the official form of a rule by its key in another language, in which ``number`` writes the
    figure; ``None`` leaves both as the regime has them.
    """
    if not rules.label_texts:
        return StrengthText(None, "No rule on labels is held for this jurisdiction.", "", "")
    first = rules.label_texts[0]
    if abv_percent is None:
        return StrengthText(None, "The strength is not known.", first.source, first.standing)
    figure = lawful_decimal(abv_percent)
    rule = _label_rule(rules, figure)
    if rule is not None:
        shown, official = _label_figure(figure, rule), pattern_of(rule.key)
        text = rule.pattern.format(n=shown) if official is None else official.format(n=number(shown))
        return StrengthText(text, None, rule.source, rule.standing)
    return StrengthText(None, "No strength has to be stated at this strength.", first.source, first.standing)


def label_figure(rules: Rules, abv_percent: float) -> Decimal | None:
    """The figure that a package prints, in % vol; ``None`` where none has to be stated or no rule is held."""
    figure = lawful_decimal(abv_percent)
    rule = _label_rule(rules, figure)
    return None if rule is None else Decimal(_label_figure(figure, rule))


def _label_rule(rules: Rules, figure: Decimal) -> LabelText | None:
    for rule in rules.label_texts:
        above = stands(figure, rule.comparator, rule.abv_percent)
        if above and (rule.up_to_percent is None or figure <= rule.up_to_percent):
            return rule
    return None


def _label_figure(figure: Decimal, rule: LabelText) -> str:
    mode = ROUND_CEILING if rule.mode == "up" else ROUND_HALF_UP
    return f"{figure.quantize(Decimal(1).scaleb(-rule.places), rounding=mode):f}"
