"""Whether the strength that a package prints holds within the tolerance that its regime allows.

A drink that is poured has no printed strength, so that nothing is judged of it. A jurisdiction without a tolerance, a
strength that is not known and a drink on which none has to be printed are ``unknown``: no other country's tolerance
stands in.
"""

from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from typing import NamedTuple

from service.alcohol import Alcohol
from service.item import Item
from service.lawful import lawful_decimal
from service.rules import Rules
from service.strengthwords import label_figure
from service.tolerances import packed_tolerance

DEFERRAL = "By calculation alone: an analysis of the finished drink decides, and local codes over it."


class LabelCheck(NamedTuple):
    """One jurisdiction's verdict: ``within``, ``may_exceed`` or ``unknown``; strengths in % vol."""

    jurisdiction: str
    printed_percent: Decimal | None
    tolerance_percent: Decimal | None
    low_percent: float | None
    high_percent: float | None
    verdict: str
    text: str
    source: str
    standing: str


def label_checks(
    rules: Sequence[Rules], day: date, alcohol: Alcohol, half_width_percent: float | None, only: Item | None
) -> tuple[LabelCheck, ...]:
    """The verdict of each jurisdiction on a packed drink; ``only`` where the whole drink is one bought item.

    ``half_width_percent`` is that of the band on the strength; over alternatives the band is widened by their range.
    """
    return tuple([_check(regime, day, alcohol, half_width_percent, only) for regime in rules])


def _check(rules: Rules, day: date, alcohol: Alcohol, half_width: float | None, only: Item | None) -> LabelCheck:
    upper = alcohol.abv_upper_percent
    lower = alcohol.strength.abv_percent if alcohol.low is None else alcohol.low.abv_percent
    if upper is None or lower is None or half_width is None:
        return _unknown(rules, None, "The strength is not known.")
    low, high = max(0.0, lower - half_width), upper + half_width
    printed = label_figure(rules, upper)
    if printed is None:
        return _unknown(rules, None, "No strength has to be printed, or no rule on it is held.", low, high)
    held = packed_tolerance(rules.code, only, float(lawful_decimal(upper)), day)
    if held is None:
        return _unknown(rules, printed, "No tolerance of this jurisdiction is held.", low, high)
    within = lawful_decimal(high) - printed <= held.percent_vol and printed - lawful_decimal(low) <= held.percent_vol
    verdict = "within" if within else "may_exceed"
    says = "lies within" if within else "may leave"
    text = f"The band {says} {printed:f} % vol, {held.percent_vol:f} % vol either way ({held.detail}). {DEFERRAL}"
    source = f"{held.source}; {held.detail}"
    return LabelCheck(rules.code, printed, held.percent_vol, low, high, verdict, text, source, held.standing)


def _unknown(
    rules: Rules, printed: Decimal | None, why: str, low: float | None = None, high: float | None = None
) -> LabelCheck:
    return LabelCheck(rules.code, printed, None, low, high, "unknown", f"{why} {DEFERRAL}", "", "")
