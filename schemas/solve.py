"""What a developer of drinks asks: scale, compare, substitute, reformulate."""

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from schemas._base import Input
from schemas.evaluation import EvaluationRequest
from schemas.ingredient import AllergenKey
from schemas.scalars import Celsius, Count, Day, Flag, Id, Jurisdiction, NotNegative, Percent, Positive

Held = Literal["ethanol", "sugars", "acid", "volume"]

GoalFigure = Literal[
    "abv_percent", "sugars_g", "sugars_g_per_100_ml", "acid_g", "acid_g_per_100_ml", "volume_ml", "energy_kcal", "cost",
    "standard_drinks",
]  # fmt: skip

GoalNumber = Annotated[NotNegative, Field(le=100_000)]


class ScaleTo(Input):
    """What the drink is scaled to, one way of saying it."""

    serves: Count | None = None
    """So many serves, as the spec makes them."""
    container_ml: Positive | None = None
    """A container of this brim capacity; `headroom_percent` of it stays free."""
    total_ml: Positive | None = None
    """So much pre-batch, the water added to it included."""
    item: Id | None = None
    """What one bottle of this item yields; its need counts through all parts."""
    bottle_ml: Positive | None = None
    """Contents of that bottle; the unit of the item's first valid offer unless given."""

    @model_validator(mode="after")
    def exactly_one(self) -> Self:
        """One aim, and a bottle with an item alone."""
        given = [self.serves, self.container_ml, self.total_ml, self.item]
        if sum(one is not None for one in given) != 1:
            raise PydanticCustomError("scale_to_one_of", "Give exactly one of serves, container_ml, total_ml and item.")
        if self.bottle_ml is not None and self.item is None:
            raise PydanticCustomError("scale_to_one_of", "bottle_ml goes with item.")
        return self


class StepsIn(Input):
    """The smallest difference the house can measure; a measure without a step is not rounded."""

    ml: Positive | None = None
    """Millilitres, such as 5."""
    g: Positive | None = None
    """Grams, such as 0.1."""
    each: Positive | None = None
    """Pieces, such as 1 or 0.5."""


class ScaleRequest(EvaluationRequest):
    """A body of POST /v1/evaluate with what it is scaled to."""

    to: ScaleTo
    """Serves, a container, a volume, or a bottle of one item."""
    water: Literal["added", "left_to_ice"] = "left_to_ice"
    """Whether the water of dilution goes into the pre-batch or comes from ice at the serve."""
    headroom_percent: Annotated[Percent, Field(lt=100)] = 0.0
    """Share of the container that stays free, for carbonation or frost."""
    steps: StepsIn = StepsIn()
    """Rounds amounts to what can be measured; no rounding unless given."""
    set_c: Celsius | None = None
    """Temperature of the freezer that the pre-batch is kept in; -18 is common."""
    serve_on: Day | None = None
    """Day of service, from which the days of making count back; `as_of` or today unless given."""


class CompareRequest(Input):
    """Drinks side by side; the first one is what the others are held against."""

    drinks: Annotated[tuple[EvaluationRequest, ...], Field(min_length=2, max_length=8)]
    """Bodies of POST /v1/evaluate."""


class SubstituteRequest(EvaluationRequest):
    """A body of POST /v1/evaluate with what is replaced and what has to stay."""

    item: Id
    """What is replaced, on all its lines that are poured."""
    by: Id
    """What is poured instead; its amount is solved."""
    hold: Annotated[tuple[Held, ...], Field(min_length=1, max_length=4)]
    """What has to stay as it is; `acid` is titratable acidity in mmol H+, `volume` that before ice."""
    helpers: Annotated[tuple[Id, ...], Field(max_length=6)] = ()
    """Items that may be added, such as water, a syrup or an acid; the first ones that suffice are used."""
    adjust: Annotated[tuple[Id, ...], Field(max_length=6)] = ()
    """Items of other poured lines whose amounts may change."""

    @model_validator(mode="after")
    def each_once(self) -> Self:
        """An item has one part in it."""
        named = (self.item, self.by, *self.helpers, *self.adjust)
        if len(set(named)) != len(named) or len(set(self.hold)) != len(self.hold):
            raise PydanticCustomError("named_twice", "Name each item once, and each thing to hold once.")
        return self


class Goal(Input):
    """What one figure of the finished serve has to be: a target, or a range."""

    figure: GoalFigure
    """Of one serve as handed over; `acid_g` is grams of all acids, `cost` the pour cost in the pricing currency."""
    min: GoalNumber | None = None
    """Not less than this."""
    max: GoalNumber | None = None
    """Not more than this."""
    target: GoalNumber | None = None
    """As near to this as the steps allow."""
    jurisdiction: Jurisdiction | None = None
    """Whose standard drink is counted; the first of the request unless given."""

    @model_validator(mode="after")
    def something(self) -> Self:
        """A target or a range that is one."""
        if self.target is None and self.min is None and self.max is None:
            raise PydanticCustomError("goal_empty", "Give target, min or max.")
        if self.target is not None and (self.min is not None or self.max is not None):
            raise PydanticCustomError("goal_one_of", "Give a target or a range, not both.")
        if self.min is not None and self.max is not None and self.min > self.max:
            raise PydanticCustomError("goal_range", "min cannot be above max.")
        return self


class FreeLine(Input):
    """A line whose amount may change; all others stay as written."""

    line: Annotated[int, Field(strict=True, ge=0, le=59)]
    """Place of the line in `drink.lines`, from 0."""
    min: NotNegative = 0.0
    """Least amount in `unit`, for the whole spec; at 0 the line may go."""
    max: Positive
    """Most amount in `unit`, for the whole spec."""
    step: Positive | None = None
    """What can be measured, in `unit`: the amount is a whole multiple of it. 1 ml or 0.1 g unless given."""

    @model_validator(mode="after")
    def rising(self) -> Self:
        """Bounds that leave room for a step."""
        if self.min > self.max:
            raise PydanticCustomError("free_range", "min cannot be above max.")
        return self


class ReformulateRequest(EvaluationRequest):
    """A body of POST /v1/evaluate with what the drink has to become and what of it may change."""

    goals: Annotated[tuple[Goal, ...], Field(min_length=1, max_length=12)]
    """All of them at once; what cannot be met is named with the nearest that can."""
    free: Annotated[tuple[FreeLine, ...], Field(min_length=1, max_length=12)]
    """Lines of role pour or top with an amount by volume or mass; in ml, or in g for what is kept by mass."""
    avoid: Annotated[tuple[AllergenKey, ...], Field(max_length=20)] = ()
    """Allergens that no line may hold, may hold or be unknown for; a free line that does goes if its `min` is 0. Each
    has to be listed by a jurisdiction asked for."""
    near: Flag = True
    """Whether, of amounts that serve equally well, those nearest to the written ones are preferred."""

    @model_validator(mode="after")
    def each_once(self) -> Self:
        """A line is free once."""
        lines = [free.line for free in self.free]
        if len(set(lines)) != len(lines):
            raise PydanticCustomError("named_twice", "Name each line once.")
        return self
