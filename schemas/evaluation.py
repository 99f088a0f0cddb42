"""POST /v1/evaluate: what is asked."""

from typing import Annotated, Literal

from pydantic import Field

from schemas._base import Input
from schemas.drink import Drink
from schemas.ingredient import Ingredient
from schemas.offer import Offer
from schemas.preparation import Preparation
from schemas.pricing import House, MeasuresIn, Pricing
from schemas.scalars import Day, Flag, Jurisdiction

Section = Literal["cost", "price", "alcohol", "nutrition", "allergens", "balance"]
SECTIONS: tuple[Section, ...] = ("cost", "price", "alcohol", "nutrition", "allergens", "balance")


class EvaluationRequest(Input):
    """One drink with whatever it needs; what is not given is looked up in the embedded reference."""

    drink: Drink
    ingredients: Annotated[tuple[Ingredient, ...], Field(max_length=1000)] = ()
    preparations: Annotated[tuple[Preparation, ...], Field(max_length=500)] = ()
    offers: Annotated[tuple[Offer, ...], Field(max_length=2000)] = ()
    pricing: Pricing | None = None
    measures: MeasuresIn = MeasuresIn()
    house: House | None = None
    jurisdictions: Annotated[tuple[Jurisdiction, ...], Field(min_length=1, max_length=60)] | None = None
    as_of: Day | None = None
    """The day whose prices and rules apply; today (UTC) unless given."""
    include: Annotated[tuple[Section, ...], Field(max_length=6)] | None = None
    """Sections of the answer; all unless given."""
    trace: Flag = False
    """Whether the answer shows every figure's steps."""
