"""A house-made part: lines, what is strained out, steps, yield, shelf life."""

from typing import Annotated, Literal, Self

from pydantic import ConfigDict, Field, model_validator
from pydantic_core import PydanticCustomError

from schemas._base import Input
from schemas.drink import Amount
from schemas.scalars import Day, Days, Flag, Id, NotNegative, Percent, PercentText, Positive, Share, StepWord, Text


class PreparationLine(Input):
    """One line of a preparation."""

    item: Id
    """A bought item or another part; one that leads back to this part is refused with its path."""
    amount: Amount
    """For the whole batch, written as on a line of a drink; `fill` is not for parts."""
    role: Literal["pour"] = "pour"
    """Every line of a preparation is poured; what is not kept is `strained_out`."""
    alternatives: Annotated[tuple[Id, ...], Field(max_length=20)] = ()
    """Items the bar may use instead: allergens are the union, strength a range."""
    charge: Literal["used", "whole_unit"] = "used"
    """`whole_unit`: a whole bottle, can or piece is opened and charged for the batch."""
    strained_out: Flag = False
    """Cost and allergens stay, composition does not."""
    absorbs_ml: NotNegative | None = None
    """Liquid of the mixture lost with what is strained out."""


class Output(Input):
    """One of several products of one preparation."""

    id: Id
    """What lines name; an ingredient of the same id gives its composition, which is unknown otherwise."""
    amount: Amount
    """What one batch gives: a volume, a mass or pieces."""
    cost_share_percent: PercentText
    """Its share of the cost; all shares are exactly 100 together."""


class Yield(Input):
    """What the preparation gives: a loss, a measured amount, or several products."""

    loss_percent: Percent | None = None
    """Share of the finished volume lost."""
    amount: Amount | None = None
    """Measured yield."""
    reduced: Flag = False
    """The measured yield is smaller because water left, not because product was lost."""
    outputs: Annotated[tuple[Output, ...], Field(min_length=1, max_length=20)] | None = None
    """Several products of one batch, each of which lines may name."""

    @model_validator(mode="after")
    def exactly_one(self) -> Self:
        """One way of saying the yield."""
        if (self.loss_percent is not None) + (self.amount is not None) + (self.outputs is not None) != 1:
            raise PydanticCustomError("yield_one_of", "Give exactly one of loss_percent, amount and outputs.")
        if self.reduced and self.amount is None:
            raise PydanticCustomError("yield_one_of", "reduced goes with a measured amount.")
        return self


class Keeps(Input):
    """Share of each constituent that stays in the product; 1 unless given."""

    ethanol: Share = 1.0
    """0 to 1, by mass."""
    water: Share = 1.0
    """0 to 1, by mass."""
    sugars: Share = 1.0
    """0 to 1, by mass; starch and polyols go with them."""
    acids: Share = 1.0
    """0 to 1, by mass, of each acid."""
    salt: Share = 1.0
    """0 to 1, by mass."""
    protein: Share = 1.0
    """0 to 1, by mass."""
    fat: Share = 1.0
    """0 to 1, by mass; saturates go with it."""


class Measured(Input):
    """What was measured after the step, of all of it; what is measured wins over the model."""

    mass_g: Positive | None = None
    """Grams."""
    volume_ml: Positive | None = None
    """Millilitres at 20 C, without the gas of a foam."""
    brix: Percent | None = None
    """Sugars in g per 100 g; a refractometer misreads them where there is alcohol."""
    abv_percent: Percent | None = None
    """% vol at 20 C; needed after fermenting or distilling, since the strength is unknown otherwise."""


class Step(Input):
    """One step after the lines are together: clarifying, washing, reducing, redistilling, freezing out, fermenting."""

    kind: StepWord
    """What is done, in a word or two. Reducing, drying, heating, freezing out, distilling, redistilling and fermenting
    have their physics; of any other, such as clarifying or milk washing, `keeps` and `measured` act alone."""
    keeps: Keeps = Keeps()
    """All of it stays unless given; of a distilled part only ethanol and water do."""
    measured: Measured | None = None
    """Nothing unless given: then the shares of `keeps` alone decide."""


class Preparation(Input):
    """A house-made part; its lines give one batch."""

    model_config = ConfigDict(validate_by_name=False, validate_by_alias=True)

    id: Id
    """What lines name."""
    name: Text
    """For readers alone; no figure depends on it."""
    lines: Annotated[tuple[PreparationLine, ...], Field(min_length=1, max_length=60)]
    """Everything that goes in, for one batch."""
    parts_total: Amount | None = None
    """The volume that the lines written in parts share out."""
    steps: Annotated[tuple[Step, ...], Field(max_length=16)] = ()
    """Done in this order, before loss and yield."""
    yield_: Annotated[Yield | None, Field(alias="yield")] = None
    """Without it the whole computed volume is there."""
    outputs: Annotated[tuple[Output, ...], Field(min_length=1, max_length=20)] | None = None
    """Several products of one batch; stands instead of `yield`."""
    overrun_percent: Annotated[NotNegative | None, Field(le=2000)] = None
    """Gas in a foam, as a share of the liquid: an amount of it by volume is with its gas."""
    made_on: Day | None = None
    """Day from which its shelf life counts; the day of the answer unless given."""
    shelf_life_days: Days | None = None
    """Whole days from `made_on`; without it the parts in it alone limit the life."""
    storage: Literal["ambient", "chilled", "frozen"] | None = None
    """Shown beside the life; no figure depends on it."""
    legal_name: Text | None = None
    """The legal name it goes by, such as liqueur; `alcohol.legal_names` says what keeps it from the name."""
    egg_yolk_g_per_l: NotNegative | None = None
    """Egg yolk in a litre of it, for names that ask for it; never taken from the lines."""
    minutes: Annotated[NotNegative | None, Field(le=10_000)] = None
    """Working time for one batch; counts in labour alone."""

    @model_validator(mode="after")
    def one_yield(self) -> Self:
        """`outputs` stands instead of `yield`."""
        if self.outputs is not None and self.yield_ is not None:
            raise PydanticCustomError("yield_one_of", "Give yield or outputs, not both.")
        return self
