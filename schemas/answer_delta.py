"""What the modifiers of ``with`` change, as answered; sections that were not asked for are absent."""

from typing import Annotated

from pydantic import Field

from schemas._base import Output


class FigureChange(Output):
    """A figure without the modifiers, and by how much the answer's differs from it; both as shown."""

    base: float | None
    """Of the drink as it is written; null where it is not known."""
    change: float | None
    """Modified less base; null where either is not known."""


class MoneyChange(Output):
    """A sum without the modifiers, and by how much the answer's differs from it; both as shown."""

    base: str | None
    """Of the drink as it is written; null where it is not known."""
    change: str | None
    """Modified less base; null where either is not known."""


class CostDelta(Output):
    """The cost of one serve."""

    currency: str | None
    """ISO 4217 code; null where nothing has a price."""
    pour_cost: MoneyChange
    """Ingredients, garnish and allowances."""
    serve_cost: MoneyChange
    """Pour cost, consumables and labour."""


class PriceDelta(Output):
    """The price of one serve."""

    currency: str | None
    """ISO 4217 code; null without pricing."""
    suggested: MoneyChange
    """The suggested price, which follows the cost."""
    menu_price: MoneyChange | None
    """The menu price with the modifiers' `price_delta`; null where the request has none."""
    price_delta: str | None
    """What the modifiers add to a menu price in all; null where none of them says."""


class StandardDrinksChange(FigureChange):
    """Standard drinks of one serve in one country."""

    jurisdiction: str
    """Code."""


class AlcoholDelta(Output):
    """The strength of one serve."""

    abv_percent: FigureChange
    """% vol at 20 C with the water of ice."""
    ethanol_ml: FigureChange
    """Millilitres of ethanol at 20 C."""
    ethanol_g: FigureChange
    """Grams of ethanol."""
    standard_drinks: tuple[StandardDrinksChange, ...]
    """By jurisdiction; null where the country has a range."""


class EnergyDelta(Output):
    """The energy of one serve, by the factors of `per_serve`."""

    energy_kj: FigureChange
    """kJ."""
    energy_kcal: FigureChange
    """kcal."""


class AllergenKeys(Output):
    """Allergens by state."""

    contains: tuple[str, ...]
    """Contained."""
    may_contain: tuple[str, ...]
    """Possibly there."""
    unknown: tuple[str, ...]
    """Not known."""
    partly_unknown: tuple[str, ...]
    """Groups that are there while it is not known with which of their members."""


class AllergensDelta(Output):
    """Allergens of one jurisdiction that the modifiers bring and take away."""

    jurisdiction: str
    """Code."""
    gained: AllergenKeys
    """In this state now and not before; what was contained and may still get in is gained as possibly there."""
    lost: AllergenKeys
    """In this state before and in none now; never what may still be there, is not known, is exempt, or belongs to a
    group that is still listed. Of `partly_unknown`: a group that is told apart now, or is in no state any more."""
    note: str
    """What to make of an allergen that is left out; empty where none is."""


class DeltaAnswer(Output):
    """What the modifiers of `with` change; the rest of the answer is of the modified drink."""

    with_: Annotated[tuple[str, ...], Field(alias="with")]
    """The modifiers, in the order in which they were done."""
    cost: CostDelta | None = None
    """Cost; absent without the section."""
    price: PriceDelta | None = None
    """Price; absent without the section."""
    alcohol: AlcoholDelta | None = None
    """Strength; absent without the section."""
    nutrition: EnergyDelta | None = None
    """Energy; absent without the section."""
    allergens: tuple[AllergensDelta, ...] | None = None
    """One for each jurisdiction; absent without the section."""
    advisories_gained: tuple[str, ...]
    """Codes of cautions that the drink as it is written does not call for."""
    notes: tuple[str, ...]
    """What the modified figures rest on that nobody measured."""
