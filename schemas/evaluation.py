"""POST /v1/evaluate: what is asked."""

from typing import Annotated, Literal

from pydantic import Field

from schemas._base import Input
from schemas.drink import Drink
from schemas.ingredient import Ingredient
from schemas.offer import Offer
from schemas.preparation import Preparation
from schemas.pricing import House, MeasuresIn, Pricing
from schemas.scalars import Day, Flag, Id, Jurisdiction

Section = Literal["cost", "price", "alcohol", "nutrition", "allergens", "balance"]
SECTIONS: tuple[Section, ...] = ("cost", "price", "alcohol", "nutrition", "allergens", "balance")


class EvaluationRequest(Input):
    """One drink with whatever it needs; what is not given is looked up in the embedded reference."""

    drink: Drink
    """What is evaluated."""
    with_: Annotated[tuple[Id, ...], Field(alias="with", max_length=20)] = ()
    """Modifiers of the drink that a guest asked for, done in this order; one named twice is done twice."""
    ingredients: Annotated[tuple[Ingredient, ...], Field(max_length=1000)] = ()
    """Bought items of the caller; one here is used before an item of the same id elsewhere."""
    preparations: Annotated[tuple[Preparation, ...], Field(max_length=500)] = ()
    """House-made parts that lines of the drink or of other parts name; one that nothing names changes nothing."""
    offers: Annotated[tuple[Offer, ...], Field(max_length=2000)] = ()
    """What the items cost; without an offer the cost of an item is unknown, save for water and ice."""
    venue: Id | None = None
    """Whose offers, prices, taxes, rules and house hold, as for a stored drink, under what is stated here field by
    field; `group` for the group's. A drink with the id of one on its menu has its price there. None unless given."""
    pricing: Pricing | None = None
    """Without it, and without a venue that prices, the cost is in the currency of the offers, and there is no price."""
    measures: MeasuresIn = MeasuresIn()
    """US measures and common sizes of dash, drop and spoon unless given."""
    house: House | None = None
    """Without it cross-contact counts as not assessed and the drink as poured."""
    jurisdictions: Annotated[tuple[Jurisdiction, ...], Field(min_length=1, max_length=60)] | None = None
    """Whose rules are answered; those of the service's settings unless given."""
    as_of: Day | None = None
    """The day whose prices and rules apply; today (UTC) unless given."""
    include: Annotated[tuple[Section, ...], Field(max_length=6)] | None = None
    """Sections of the answer; all unless given."""
    trace: Flag = False
    """Whether the answer shows every figure's steps."""
    bands: Flag = False
    """Whether the answer says how sure its figures are; it takes some three times as long."""
