"""What perishes: batches, opened bottles and kegs, what of them is thrown away, and which size costs least."""

from typing import Annotated, Self

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from schemas._base import Input, Output
from schemas.sales import SignedText
from schemas.scalars import Currency, Id, MoneyText

Serves = Annotated[int, Field(strict=True, ge=1, le=5000)]
Quantity = Annotated[SignedText, Field(gt=0, le=10**6)]
NoneOrMore = Annotated[SignedText, Field(ge=0, le=10**6)]


class KegIn(Input):
    """A keg and what its line takes."""

    size_ml: Quantity
    """What is in it."""
    serve_ml: Quantity
    """One serve."""
    line_loss_ml: NoneOrMore
    """Lost each time the line is filled or cleaned; state it, there is no usual figure."""
    cleanings: NoneOrMore = Field(default="1", validate_default=True)
    """How often over one keg."""
    left_ml: NoneOrMore = Field(default="0", validate_default=True)
    """What stays in it."""
    cost: MoneyText
    """Of the whole keg, net."""


class PerishableIn(Input):
    """Something that keeps a while: a part, an opened bottle, cut garnish, a keg."""

    id: Id
    """What the answer calls it."""
    sales_a_day: Annotated[SignedText, Field(ge=0, le=5000)]
    """Serves in the mean."""
    life_days: Annotated[SignedText, Field(gt=0, le=400)]
    """How long a batch keeps once it is made or opened."""
    serve_cost: MoneyText | None = None
    """What is in one serve; that of the keg unless given."""
    batch_cost: MoneyText = Field(default="0", validate_default=True)
    """What each batch costs whatever its size, such as the labour of making it."""
    wanted: Serves | None = None
    """Serves of the batch that is made now."""
    sizes: Annotated[tuple[Serves, ...], Field(max_length=200)] = ()
    """Sizes that can be made; any up to `largest` unless given."""
    largest: Serves = 200
    """The largest batch that is looked at."""
    keg: KegIn | None = None
    """Then a batch is one keg."""

    @model_validator(mode="after")
    def costed(self) -> Self:
        """A keg tells the cost of its serves, anything else states it."""
        if (self.serve_cost is None) == (self.keg is None):
            raise PydanticCustomError("serve_cost_unclear", "State serve_cost, or a keg.")
        if self.keg is not None and (self.sizes or self.wanted is not None):
            raise PydanticCustomError("keg_size_fixed", "A keg is its own batch; leave out wanted and sizes.")
        return self


class PerishingRequest(Input):
    """What perishes."""

    currency: Currency
    """Of every sum."""
    items: Annotated[tuple[PerishableIn, ...], Field(min_length=1, max_length=20)]
    """Each on its own."""


class BatchOut(Output):
    """One size of batch; money to six decimals."""

    serves: int
    """In the batch."""
    sold: str
    """Expected, two decimals."""
    thrown: str
    """Expected, two decimals."""
    thrown_percent: str
    """Of the batch."""
    waste_each: str | None
    """What is thrown away, for one serve sold: a cost line of its own, in no pour cost; null where nothing sells."""
    cost_each: str | None
    """Contents, waste and batch cost of one serve sold."""


class PerishableOut(Output):
    """What of one thing is thrown away."""

    id: str
    """As sent."""
    mean_demand: str
    """Serves over the life of a batch."""
    best: BatchOut | None
    """The size that costs least; null where nothing sells."""
    wanted: BatchOut | None
    """The size that is made now."""
    dearer_each: str | None
    """What a serve of the wanted size costs more than of the best."""
    line_loss_each: str | None
    """Of a keg: what line and rest take, for one serve."""


class Perishing(Output):
    """What is thrown away."""

    currency: str
    """Of every sum."""
    assumes: str
    """What the figures rest on."""
    items: tuple[PerishableOut, ...]
    """In the order sent."""
