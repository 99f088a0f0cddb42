"""What the dated rules make of a figure: lawful rounding, declared nutrition, standard drinks, statements.

Pure functions on the frozen values of :mod:`service.rules`. Here and in :mod:`service.strengthwords` alone a law or a
convention on wording rounds: every figure is first rounded half up to 9 significant digits, which takes the noise off
a float, and then half up to the legal place. ``None`` stands for unknown and is never turned into a figure.
"""

from collections.abc import Callable, Mapping, Sequence
from decimal import ROUND_CEILING, Decimal
from typing import NamedTuple

from msgspec import Struct

from service.allergenrules import Exemption
from service.item import AllergenEntry
from service.lawful import WIDE, Rounded, lawful_decimal, nearest_multiple, nine_digits, rounded, stands
from service.nutritionrules import NutrientRow
from service.rulekinds import StandardDrink, Statement
from service.rules import Rules

ETHANOL_G_PER_ML = Decimal("0.789239")
"""Density of ethanol at 20 C, OIML R 22, by which grams of ethanol become millilitres."""


NOT_KNOWN = "not known"


_HUNDREDTH = Decimal("0.01")


class DeclaredRow(Struct, frozen=True):
    """One declared nutrient: what was computed, what is declared, and by which rule."""

    nutrient: str
    label: str
    basis: str
    unrounded: float | None
    value: Decimal | None
    unit: str
    text: str
    daily_value_percent: int | None
    source: str
    standing: str


class DrinkCount(Struct, frozen=True):
    """Standard drinks to 9 significant digits: ``count``, or both bounds where the sources give a range."""

    grams_each: Decimal | None
    grams_low: Decimal | None
    grams_high: Decimal | None
    count: Decimal | None
    count_low: Decimal | None
    count_high: Decimal | None
    text: str
    source: str
    standing: str
    note: str


def declared_nutrition(rules: Rules, figures: Mapping[str, float | None], basis: str) -> tuple[DeclaredRow, ...]:
    """The nutrients that a regime declares, in its order, from unrounded figures of one basis.

    ``figures`` is keyed energy_kj, energy_kcal, fat_g, saturates_g, carbohydrate_g (without fibre), sugars_g,
    polyols_g, fibre_g, protein_g, salt_g; a key that is missing or ``None`` is unknown. A regime without a
    table declares none.
    """
    if rules.nutrition is None:
        return ()
    source, standing = rules.nutrition.source, rules.nutrition.standing
    rows = []
    for row in rules.nutrition.row:
        unrounded = _row_figure(row, figures)
        if row.optional and not unrounded:
            continue
        unit = row.unit
        printed = "" if row.bare else unit
        found = _UNKNOWN if unrounded is None else rounded(unrounded, row.bands, printed, row.less_than)
        share = _daily_share_percent(row, unrounded, found.value)
        rows.append(
            DeclaredRow(
                row.nutrient, row.label, basis, unrounded, found.value, unit, found.text, share, source, standing
            )
        )
    return tuple(rows)


_UNKNOWN = Rounded(None, NOT_KNOWN)


def _daily_share_percent(row: NutrientRow, unrounded: float | None, declared: Decimal | None) -> int | None:
    """The share of a day that is declared, to the nearest whole percent, half up: of the amount as it is declared, so
    that both agree in print, or of what was computed where words stand in place of an amount."""
    if row.daily_value is None or unrounded is None:
        return None
    amount = nine_digits(Decimal(repr(unrounded))) if declared is None else declared
    return int(nearest_multiple(nine_digits(WIDE.divide(WIDE.multiply(amount, 100), row.daily_value)), Decimal(1)))


def _row_figure(row: NutrientRow, figures: Mapping[str, float | None]) -> float | None:
    total = 0.0
    for name in row.sum_of:
        part = figures.get(name)
        if part is None:
            return None
        total += part
    return total if row.times == 1 else total * float(row.times)


def ethanol_volume_ml(ethanol_g: float) -> Decimal:
    """Millilitres of ethanol at 20 C in grams of it, to 9 significant digits: ethanol_g / 0.789239.

    >>> ethanol_volume_ml(0.789239 * 262.5)
    Decimal('262.5')
    """
    return nine_digits(WIDE.divide(Decimal(repr(float(ethanol_g))), ETHANOL_G_PER_ML))


def as_it_is(figure: str) -> str:
    """A figure as it is written in English."""
    return figure


class CountWords(NamedTuple):
    """How a number of standard drinks is said; ``number`` writes a figure, ``singular`` says which noun it takes."""

    many: str = "{n} {noun}"
    at_most: str = "{n} {noun} at most"
    to: str = "{low} to {high}"
    grams: str = "{count} ({n} g of pure alcohol)"
    under_gram: str = "{count} (under 1 g of pure alcohol)"
    nouns: Mapping[str, str] | None = None
    number: Callable[[str], str] = as_it_is
    singular: Callable[[Decimal], bool] = Decimal(1).__eq__


ENGLISH_COUNT = CountWords()


def standard_drink_count(
    rules: Rules,
    ethanol_g: float | None,
    words: CountWords = ENGLISH_COUNT,
    not_known: str = NOT_KNOWN,
    ends_g: tuple[float | None, float | None] | None = None,
) -> DrinkCount | None:
    """Standard drinks in an amount of ethanol; ``None`` where the jurisdiction has no standard drink.

    count = ethanol_g / 0.789239 x density of the regime / grams of its drink. The text begins with the figure
    as the regime rounds it; more than nothing is never shown as 0.0. With ``ends_g``, the least and the most that may
    be poured, the text tells both, and is not known where either is not; the counts stay those of ``ethanol_g``.
    """
    drink = rules.standard_drink
    if drink is None:
        return None
    counts: dict[str, Decimal | None] = dict.fromkeys(("count", "count_low", "count_high"))
    if ethanol_g is not None:
        counts = _counts(drink, ethanol_g)
    told = (ethanol_g,) if ends_g is None else ends_g
    poured = [one for one in told if one is not None]
    text = not_known
    if len(poured) == len(told):
        each = [counts] if ends_g is None else [_counts(drink, one) for one in poured]
        text = _amount_text(drink, poured, each, words)
    return DrinkCount(
        drink.grams, drink.grams_low, drink.grams_high, **counts, text=text, source=drink.source,
        standing=drink.standing, note=drink.note,
    )  # fmt: skip


def _pure_g(drink: StandardDrink, ethanol_g: float) -> Decimal:
    return WIDE.multiply(ethanol_volume_ml(ethanol_g), drink.density_g_per_ml)


def _counts(drink: StandardDrink, ethanol_g: float) -> dict[str, Decimal | None]:
    # A drink of more grams is counted less often, so the high grams give the low count.
    grams = {"count": drink.grams, "count_low": drink.grams_high, "count_high": drink.grams_low}
    pure_g = _pure_g(drink, ethanol_g)
    return {key: nine_digits(WIDE.divide(pure_g, each)) if each else None for key, each in grams.items()}


def _amount_text(
    drink: StandardDrink, poured_g: Sequence[float], each: Sequence[Mapping[str, Decimal | None]], words: CountWords
) -> str:
    """One amount in standard drinks, or from the least to the most of several."""
    counts = [count for found in each for count in found.values() if count is not None]
    text = _drinks_text(drink, sorted(counts), words)
    if not drink.says_grams:
        return text
    pure = [_pure_g(drink, one) for one in (min(poured_g), max(poured_g))]
    rounded_g = [nearest_multiple(nine_digits(one), Decimal(1)) for one in pure]
    whole = [words.number(f"{one}") if one or not exact else "<1" for one, exact in zip(rounded_g, pure, strict=True)]
    n = whole[0] if whole[0] == whole[1] else words.to.format(low=whole[0], high=whole[1])
    none = pure[1] and not rounded_g[1]
    return (words.under_gram if none else words.grams).format(count=text, n=n)


def _drinks_text(drink: StandardDrink, counts: Sequence[Decimal], words: CountWords) -> str:
    shown = [rounded(count, drink.bands) for count in counts]
    step = f"{drink.bands[0].step:f}"
    told = [one.text if one.value or not count else step for one, count in zip(shown, counts, strict=True)]
    figures = [words.number(figure) for figure in dict.fromkeys(told)]
    nouns = words.nouns or {}
    single, many = (nouns.get(noun, noun) for noun in (drink.noun, drink.noun_plural))
    if all(one.value == 0 for one in shown) and any(counts):
        return words.at_most.format(n=words.number(step), noun=single if words.singular(Decimal(step)) else many)
    value = shown[0].value if len(figures) == 1 else None
    noun = single if value is not None and words.singular(value) else many
    n = words.to.format(low=figures[0], high=figures[-1]) if len(figures) > 1 else figures[0]
    return words.many.format(n=n, noun=noun)


def sulphites_figure(mg_per_l: float) -> Decimal:
    """What is judged: mg/l of the finished drink, half up at 0.01."""
    return nearest_multiple(lawful_decimal(mg_per_l), _HUNDREDTH)


def sulphites_declarable(rules: Rules, mg_per_l: float | None) -> bool | None:
    """Whether so much sulphite in the finished drink is declared, judged at 0.01 mg/l."""
    if mg_per_l is None:
        return None
    figure = sulphites_figure(mg_per_l)
    return stands(figure, rules.sulphites.comparator, rules.sulphites.mg_per_l)


def statements(rules: Rules, abv_upper_percent: float | None, sold_as: str) -> tuple[Statement, ...]:
    """The statements due for a drink so sold; an unknown strength takes off none.

    Those that look at more than the sale and the strength are :mod:`service.duties`' alone.
    """
    figure = None if abv_upper_percent is None else lawful_decimal(abv_upper_percent)
    due = []
    for statement in rules.statements:
        if statement.measure or statement.caution or statement.only or statement.option:
            continue
        limit, comparator = statement.abv_percent, statement.comparator
        meets = limit is None or comparator is None or figure is None or stands(figure, comparator, limit)
        if meets and (not statement.sold_as or sold_as in statement.sold_as):
            due.append(statement)
    return tuple(due)


def price_floor(rules: Rules, ethanol_g: float, currency: str) -> Decimal | None:
    """The lowest lawful price of so much ethanol, rounded up to the minor unit; ``None`` without a floor.

    It is taken from the unrounded alcohol. A price in another currency than the law's has no floor here: the
    caller says so. Scotland, 700 ml at 37.5 %: 26.25 units x 0.65 = 17.0625, so 17.07.
    """
    floor = rules.price_floor
    if floor is None or floor.currency != currency:
        return None
    ethanol = ethanol_volume_ml(ethanol_g)
    if floor.unit == "g":
        ethanol = WIDE.multiply(ethanol, floor.density_g_per_ml)
    exact = WIDE.divide(WIDE.multiply(ethanol, floor.amount), floor.per)
    return exact.quantize(Decimal(1).scaleb(-floor.minor_places), rounding=ROUND_CEILING)


def exempt(
    rules: Rules, entry: AllergenEntry, item_processes: Sequence[str], item_kind: str, allergen_key: str
) -> Exemption | None:
    """The exemption that takes an allergen of an item off the declaration, or ``None``.

    It needs the allergen's own process, or an item whose single process covers it; what was macerated is
    never exempt.
    """
    if entry.process == "macerated" or (entry.process is None and "macerated" in item_processes):
        return None
    process = entry.process
    if process is None and len(item_processes) == 1:
        process = item_processes[0]
    group = rules.vocabulary[allergen_key].group
    counts_as = rules.vocabulary[allergen_key].counts_as
    for exemption in rules.exemptions:
        if exemption.allergen == "*":
            covered = allergen_key not in exemption.excluding
        else:
            covered = exemption.allergen in (allergen_key, group, *counts_as)
        fits = (exemption.process is None or exemption.process == process) and (
            not exemption.kinds or item_kind in exemption.kinds
        )
        if covered and fits:
            return exemption
    return None
