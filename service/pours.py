"""Legal measures of a pour, and the words by which an item is known to be one of those that a rule binds."""

import functools
import math
import re
from collections.abc import Sequence

from service.lawful import lawful_decimal, nine_digits
from service.rulekinds import PourMeasure
from service.rules import Rules


def is_bound(measure: PourMeasure, kind: str, called: str) -> bool:
    """Whether a legal measure is for a product of that kind, by what it is ``called`` (words between hyphens)."""
    if kind not in measure.kinds or (measure.words and not names_any(called, measure.words)):
        return False
    return not measure.unless_words or not names_any(called, measure.unless_words)


def pour_measures_missed(
    rules: Rules, kind: str, called: str, volume_ml: float, liquids: int
) -> tuple[PourMeasure, ...]:
    """The legal measures that a pour of one item in a drink of so many liquids does not keep."""
    volume = lawful_decimal(volume_ml)
    missed = []
    for measure in rules.pour_measures:
        if not is_bound(measure, kind, called) or (
            measure.free_from_liquids is not None and liquids >= measure.free_from_liquids
        ):
            continue
        if measure.free_under_ml is not None and volume < measure.free_under_ml:
            continue
        over = measure.most_ml is not None and volume > nine_digits(measure.most_ml)
        if over or (measure.ml and all(volume % one for one in measure.ml)):
            missed.append(measure)
    return tuple(missed)


def total_measures_missed(rules: Rules, pours: Sequence[tuple[str, str, float]]) -> tuple[PourMeasure, ...]:
    """The most for all such products in one drink that the pours (kind, what it is called, ml) go beyond together."""
    missed = []
    for measure in rules.pour_measures:
        if measure.most_total_ml is None:
            continue
        total = math.fsum(volume_ml for kind, called, volume_ml in pours if is_bound(measure, kind, called))
        if lawful_decimal(total) > nine_digits(measure.most_total_ml):
            missed.append(measure)
    return tuple(missed)


@functools.lru_cache(maxsize=65_536)
def names_any(item_id: str, words: tuple[str, ...]) -> bool:
    """Whether an id holds one of the words, or its plural, as a whole run between hyphens.

    >>> names_any("dark-rum-aged", ("rum",)), names_any("rumpled-mint", ("rum",)), names_any("bay-leaves", ("leaf",))
    (True, False, True)
    """
    return bool(words) and _any_of(words).search(f"-{item_id}-") is not None


@functools.lru_cache(maxsize=1_024)
def _any_of(words: tuple[str, ...]) -> re.Pattern[str]:
    return re.compile("-(?:" + "|".join(map(_with_plural, words)) + ")-")


def _with_plural(word: str) -> str:
    """A pattern of the word and its plural; a wrong plural besides does no harm."""
    stem = re.escape(word)
    if word.endswith("leaf"):
        return f"{stem[:-1]}(?:f|ves)"
    if word.endswith("y"):
        return f"{stem[:-1]}(?:y|ys|ies)"
    return f"{stem}(?:s|es)?"
