"""Words about what a drink holds, such as gluten-free: allowed by a measurement alone, never by a declaration."""

from collections.abc import Callable, Mapping
from decimal import Decimal
from typing import NamedTuple

from msgspec import Struct

from service.labelling import as_it_is
from service.lawful import lawful_decimal, readable, stands
from service.nutritionrules import FoodClaim

UNITS: Mapping[str, str] = {"gluten_mg_per_kg": "mg/kg"}


class FoodClaimWords(NamedTuple):
    """How a word is judged; ``number`` writes a figure."""

    allowed: str = "allowed: {figure} {unit} measured, at most {n} {unit}."
    refused: str = "refused: {figure} {unit} measured; it has to be at most {n} {unit}."
    unknown: str = "refused: not measured; it has to be at most {n} {unit}. That none is declared is no proof."
    traces: str = "refused: {figure} {unit} measured, yet by its parts or by the tools of the house it may contain it."
    number: Callable[[str], str] = as_it_is
    more: Callable[[str], str] = as_it_is


ENGLISH_FOOD = FoodClaimWords()


class FoodClaimRow(Struct, frozen=True):
    """Whether the word may be used, what was judged and the judgement in words."""

    allowed: bool
    figure: Decimal | None
    text: str


def food_claim(
    claim: FoodClaim, measured: float | None, *, traces: bool = False, words: FoodClaimWords = ENGLISH_FOOD
) -> FoodClaimRow:
    """The judgement of one word on what was measured in the unit of its rule; ``None`` was not measured.

    With ``traces`` a part or a tool may bring what was measured into any serve, which one measurement does not answer.
    """
    figure = None if measured is None else lawful_decimal(measured)
    within = figure is not None and stands(figure, claim.comparator, claim.limit)
    allowed = within and not traces
    pattern = words.allowed if allowed else words.traces if within else words.refused
    if figure is None:
        pattern = words.unknown
    shown = "" if figure is None else readable(figure.normalize(), words.number)
    text = pattern.format(figure=shown, n=words.number(f"{claim.limit:f}"), unit=UNITS[claim.measure])
    return FoodClaimRow(allowed, figure, f"{text} {words.more(claim.condition)}" if claim.condition else text)
