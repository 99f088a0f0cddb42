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
    amount: Amount
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
    amount: Amount
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
    water: Share = 1.0
    sugars: Share = 1.0
    acids: Share = 1.0
    salt: Share = 1.0
    protein: Share = 1.0
    fat: Share = 1.0


class Measured(Input):
    """What was measured after the step, of all of it; what is measured wins over the model."""

    mass_g: Positive | None = None
    volume_ml: Positive | None = None
    brix: Percent | None = None
    abv_percent: Percent | None = None


class Step(Input):
    """One step after the lines are together: clarifying, washing, reducing, redistilling, freezing out, fermenting."""

    kind: StepWord
    """What is done, in a word or two. Reducing, drying, heating, freezing out, distilling, redistilling and fermenting
    have their physics; of any other, such as clarifying or milk washing, `keeps` and `measured` act alone."""
    keeps: Keeps = Keeps()
    measured: Measured | None = None


class Preparation(Input):
    """A house-made part; its lines give one batch."""

    model_config = ConfigDict(validate_by_name=False, validate_by_alias=True)

    id: Id
    name: Text
    lines: Annotated[tuple[PreparationLine, ...], Field(min_length=1, max_length=60)]
    parts_total: Amount | None = None
    """The volume that the lines written in parts share out."""
    steps: Annotated[tuple[Step, ...], Field(max_length=16)] = ()
    yield_: Annotated[Yield | None, Field(alias="yield")] = None
    outputs: Annotated[tuple[Output, ...], Field(min_length=1, max_length=20)] | None = None
    """Several products of one batch; stands instead of `yield`."""
    overrun_percent: Annotated[NotNegative | None, Field(le=2000)] = None
    """Gas in a foam, as a share of the liquid: an amount of it by volume is with its gas."""
    made_on: Day | None = None
    shelf_life_days: Days | None = None
    storage: Literal["ambient", "chilled", "frozen"] | None = None
    minutes: Annotated[NotNegative | None, Field(le=10_000)] = None
    """Working time for one batch; counts in labour alone."""

    @model_validator(mode="after")
    def one_yield(self) -> Self:
        """`outputs` stands instead of `yield`."""
        if self.outputs is not None and self.yield_ is not None:
            raise PydanticCustomError("yield_one_of", "Give yield or outputs, not both.")
        return self
