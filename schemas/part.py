"""What POST /v1/make-part makes: syrups, acid solutions, saline, cut spirits, cordials, adjusted juices, foams."""

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from schemas._base import Input
from schemas.ingredient import Ingredient
from schemas.offer import Offer
from schemas.preparation import Preparation, PreparationLine
from schemas.pricing import House, MeasuresIn, Pricing
from schemas.scalars import Day, Flag, Id, Jurisdiction, NotNegative, Percent, Positive, Text


class _Made(Input):
    """What every part that is solved for has."""

    make_ml: Positive
    """Finished volume at 20 C, before any loss."""


class AcidShare(Input):
    """One acid of a blend."""

    item: Id
    """An acid of the request, the catalogue or the reference."""
    share: Positive
    """Parts by mass of the acid itself, whatever strength it is sold at."""


Acids = Annotated[tuple[AcidShare, ...], Field(min_length=1, max_length=6)]


class SyrupPart(_Made):
    """Sugar and water to a Brix."""

    kind: Literal["syrup"]
    """A syrup."""
    sugar: Id = "white-sugar"
    """What sweetens: a sugar, or a honey or syrup with water of its own."""
    brix: Annotated[Percent, Field(gt=0, le=90)]
    """Sugars in g per 100 g of the syrup: 50 is 1:1 by mass, 66.7 is 2:1."""


class AcidPart(_Made):
    """Acids in water to a strength, or to the titratable acidity of a juice."""

    kind: Literal["acid_solution"]
    """An acid solution."""
    acids: Acids = (AcidShare(item="citric-acid", share=1.0),)
    """Citric acid alone unless given."""
    strength_percent: Annotated[Percent, Field(gt=0, le=60)] | None = None
    """Grams of acids in 100 g of the solution."""
    like: Id | None = None
    """A juice whose titratable acidity (mmol H+ per ml) it gets."""

    @model_validator(mode="after")
    def exactly_one(self) -> Self:
        """A strength or a juice."""
        if (self.strength_percent is None) == (self.like is None):
            raise PydanticCustomError("acid_one_of", "Give exactly one of strength_percent and like.")
        return self


class SalinePart(_Made):
    """Salt in water."""

    kind: Literal["saline"]
    """A salt solution."""
    salt: Id = "salt"
    """Its salt counts as sodium chloride in the density."""
    strength_percent: Annotated[Percent, Field(gt=0, le=26)]
    """Grams of salt in 100 g; water dissolves 26 g in 100 g at 20 C."""


class SpiritCutPart(_Made):
    """A spirit brought to a lower strength with water, contraction included."""

    kind: Literal["spirit_cut"]
    """A spirit cut with water."""
    spirit: Id
    """What is cut; its strength has to be known."""
    to_abv_percent: Annotated[Percent, Field(gt=0)] | None = None
    """% vol at 20 C."""
    to_us_proof: Annotated[NotNegative, Field(gt=0, le=200)] | None = None
    """US proof, which is defined at 60 F."""

    @model_validator(mode="after")
    def exactly_one(self) -> Self:
        """One way of saying the strength."""
        if (self.to_abv_percent is None) == (self.to_us_proof is None):
            raise PydanticCustomError("cut_one_of", "Give exactly one of to_abv_percent and to_us_proof.")
        return self


class CordialPart(_Made):
    """Juice, sugar, acid and water to a sweetness and an acidity."""

    kind: Literal["cordial"]
    """A cordial."""
    juice: Id
    """What gives the flavour."""
    juice_percent: Annotated[Percent, Field(gt=0)]
    """Juice as a share of the finished volume."""
    sugar: Id = "white-sugar"
    """What sweetens."""
    sugars_g_per_100_ml: Annotated[NotNegative, Field(le=120)]
    """Sugars of the cordial, those of the juice included."""
    acid: Id = "citric-acid"
    """What is added to the acid of the juice."""
    acid_mmol_per_100_ml: Annotated[NotNegative, Field(le=500)]
    """Titratable acidity of the cordial in mmol H+; 93.7 is that of 6 g of citric acid."""


class AdjustedJuicePart(_Made):
    """A juice raised to the titratable acidity of another, such as orange to that of lime."""

    kind: Literal["adjusted_juice"]
    """A juice with acid added."""
    juice: Id
    """What is raised."""
    like: Id
    """The juice whose acidity it gets."""
    acids: Acids = (AcidShare(item="citric-acid", share=1.0),)
    """Citric acid alone unless given; the shares are of what is added, whatever the juice holds."""


class PeelJuicePart(_Made):
    """Water with the oils of peel, made as acid as a juice, with or without juice of the fruit."""

    kind: Literal["peel_juice"]
    """Peel, acid and water."""
    peel: Id
    """The fruit or its peel; strained out, so that its allergens stay."""
    peel_g: Positive
    """For the whole batch."""
    like: Id
    """The juice whose titratable acidity it gets."""
    juice_ml: NotNegative = 0.0
    """Of the juice that `like` names, for the whole batch."""
    acids: Acids = (AcidShare(item="citric-acid", share=2.0), AcidShare(item="malic-acid", share=1.0))
    """Two parts of citric to one of malic acid unless given."""


class FoamPart(Input):
    """Lines made into a foam."""

    kind: Literal["foam"]
    """A foam; its overrun has to be measured."""
    lines: Annotated[tuple[PreparationLine, ...], Field(min_length=1, max_length=20)]
    """Everything that goes in."""
    overrun_percent: Annotated[NotNegative, Field(gt=0, le=2000)]
    """Gas as a share of the liquid."""
    charged: Flag = False
    """Whether it is made with a gas charger in a pressure vessel."""


PartIn = Annotated[
    SyrupPart | AcidPart | SalinePart | SpiritCutPart | CordialPart | AdjustedJuicePart | PeelJuicePart | FoamPart,
    Field(discriminator="kind"),
]


class MakePartRequest(Input):
    """A part to be made, with whatever it needs; what is not given is looked up as in POST /v1/evaluate."""

    id: Id
    """What lines will name; no item of the request has it."""
    name: Text
    """For readers alone; no figure depends on it."""
    part: PartIn
    """What is made and to which figures."""
    loss_percent: Annotated[Percent, Field(lt=100)] = 0.0
    """Share of the finished volume lost in the making."""
    ingredients: Annotated[tuple[Ingredient, ...], Field(max_length=1000)] = ()
    """As in POST /v1/evaluate."""
    preparations: Annotated[tuple[Preparation, ...], Field(max_length=500)] = ()
    """As in POST /v1/evaluate."""
    offers: Annotated[tuple[Offer, ...], Field(max_length=2000)] = ()
    """As in POST /v1/evaluate."""
    venue: Id | None = None
    """As in POST /v1/evaluate."""
    pricing: Pricing | None = None
    """As in POST /v1/evaluate."""
    measures: MeasuresIn = MeasuresIn()
    """As in POST /v1/evaluate."""
    house: House | None = None
    """As in POST /v1/evaluate."""
    jurisdictions: Annotated[tuple[Jurisdiction, ...], Field(min_length=1, max_length=60)] | None = None
    """Whose rules are answered; those of the service's settings unless given."""
    as_of: Day | None = None
    """The day whose prices and rules apply; today (UTC) unless given."""
