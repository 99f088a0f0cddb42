"""Which duties of menus and labels a drink may meet: in force, adopted for a later day, or only proposed.

Pure functions on the frozen rules. Nothing here says that a duty binds anyone: that is the authority's to decide.
A figure that is not known is named and never stands as a zero.
"""

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from types import MappingProxyType
from typing import NamedTuple

from msgspec import Struct, field

from service.lawful import lawful_decimal, nearest_multiple, plain, rounded, stands
from service.nutritionrules import NutrientRow
from service.rulekinds import MenuCalories, Statement
from service.rules import Rules

APPLIES = "applies"
PROPOSAL = "proposal"
OPEN = "not known"
"""What is known of the contents does not call for the duty, and more may be there."""


class Sale(Struct, frozen=True):
    """What a duty looks at: how the drink is sold, its strength in % vol (upper end), what one litre is known to hold
    in mg (polyols in g) and of which more may be there, the kind of product where the whole drink is one, the figures
    known of it, and what the house has chosen.
    """

    sold_as: str
    abv_upper_percent: float | None
    per_l: Mapping[str, float | None] = field(default_factory=lambda: MappingProxyType({}))
    more_of: frozenset[str] = frozenset()
    kind: str | None = None
    figures: Mapping[str, float | None] = field(default_factory=lambda: MappingProxyType({}))
    options: frozenset[str] = frozenset()
    cautions: frozenset[str] = frozenset()
    """Codes of the cautions that something in it calls for by its name or its content."""


class Duty(Struct, frozen=True):
    """One duty, when it applies, which figures it needs and has not, and what 100 ml hold of what it is about."""

    statement: Statement
    applies: str
    missing: tuple[str, ...]
    per_100_ml: Decimal | None = None


class CaloriesText(NamedTuple):
    """Calories for a menu, or ``text`` ``None`` and the reason."""

    text: str | None
    reason: str | None
    source: str
    standing: str


def duties(rules: Rules, sale: Sale) -> tuple[Duty, ...]:
    """The duties that a drink so sold may meet: those in force, those adopted for later, then proposals."""
    found = []
    for statement in (*rules.statements, *rules.ahead):
        missing = _due(statement, sale)
        if missing is not None:
            applies = _applies(statement, rules.day, open_to=_content_meets(statement, sale) is None)
            found.append(Duty(statement, applies, missing, _per_100_ml(statement, sale)))
    return tuple(found)


def _applies(statement: Statement, day: date, *, open_to: bool) -> str:
    if statement.status == PROPOSAL:
        return PROPOSAL
    if open_to and statement.since <= day:
        return OPEN
    return APPLIES if statement.since <= day else f"from {statement.since.isoformat()}"


def _due(statement: Statement, sale: Sale) -> tuple[str, ...] | None:
    """What is missing for a duty that may be due; ``None`` where it is certainly not due."""
    if statement.sold_as and sale.sold_as not in statement.sold_as:
        return None
    if statement.only is not None and statement.only != sale.kind:
        return None
    if statement.option is not None and statement.option not in sale.options:
        return None
    if statement.caution is not None and statement.caution not in sale.cautions:
        return None
    by_strength, by_content = _strength_meets(statement, sale), _content_meets(statement, sale)
    if by_strength is False or by_content is False:
        return None
    missing = [*(["abv_percent"] if by_strength is None else ()), *([statement.measure] if by_content is None else ())]
    if statement.followed_by and statement.measure and _per_100_ml(statement, sale) is None:
        missing.append(statement.measure)
    missing += [name for name in statement.needs if sale.figures.get(name) is None]
    return tuple(dict.fromkeys(name for name in missing if name))


def _strength_meets(statement: Statement, sale: Sale) -> bool | None:
    """Whether the strength calls for the duty; ``None`` where it is not known."""
    if statement.comparator is None or statement.abv_percent is None:
        return True
    if sale.abv_upper_percent is None:
        return None
    return stands(lawful_decimal(sale.abv_upper_percent), statement.comparator, statement.abv_percent)


def _content_meets(statement: Statement, sale: Sale) -> bool | None:
    """Whether what is in it calls for the duty; ``None`` where what is known does not and more may be there."""
    if statement.measure is None:
        return True
    held = sale.per_l.get(statement.measure)
    if held is not None and stands(lawful_decimal(held), statement.per_l_comparator, statement.per_l):
        return True
    return None if held is None or statement.measure in sale.more_of else False


def _per_100_ml(statement: Statement, sale: Sale) -> Decimal | None:
    """What 100 ml hold of the measure of a duty, to one decimal, half up; ``None`` while more may be there."""
    held = None if statement.measure is None else sale.per_l.get(statement.measure)
    if held is None or statement.measure in sale.more_of:
        return None
    return plain(nearest_multiple(lawful_decimal(held / 10.0), Decimal("0.1")))


def menu_calories(rules: Rules, low_kcal: float | None, high_kcal: float | None, options: int) -> CaloriesText | None:
    """Calories of a menu item as a chain writes them; ``None`` where no such rule is held.

    ``options`` is how many drinks the item stands for: one figure for one, both with a slash for two, the range for
    more, each rounded as declared calories are (21 CFR 101.11(b)(2)(i)(A)). Options that round to one figure have one.
    """
    words = rules.menu_calories
    row = _energy_row(rules)
    if words is None or row is None:
        return None
    if low_kcal is None or high_kcal is None:
        reason = "The energy of every choice is not known; no calories can be declared, and no zero stands in for them."
        return CaloriesText(None, reason, words.source, words.standing)
    low, high = (rounded(kcal, row.bands).text for kcal in (low_kcal, high_kcal))
    return CaloriesText(_calories(words, low, high, options), None, words.source, words.standing)


def added_calories(rules: Rules, kcal: float | None) -> str | None:
    """What an add-on adds, rounded as declared calories are; ``None`` where it is not known or no such rule is held."""
    words, row = rules.menu_calories, _energy_row(rules)
    return None if words is None or row is None or kcal is None else words.added.format(n=rounded(kcal, row.bands).text)


def _calories(words: MenuCalories, low: str, high: str, options: int) -> str:
    if low == high:
        return words.one.format(n=low)
    return (words.two if options == 2 else words.more).format(low=low, high=high)


def _energy_row(rules: Rules) -> NutrientRow | None:
    if rules.nutrition is None:
        return None
    return next((row for row in rules.nutrition.row if row.nutrient == "energy_kcal"), None)
