"""The books of a period: what sold, and how it is to be read."""

from typing import Annotated, Self

from pydantic import Field, StringConstraints, model_validator
from pydantic_core import PydanticCustomError

from schemas._base import Input
from schemas.period import PeriodIn, PeriodQuery, TradingDayIn
from schemas.pricing import PriceStep, Target
from schemas.sales import SALES, ChannelIn, SaleIn, TaxClass
from schemas.scalars import AmountText, Currency, Day, Id, MoneyText, Text
from schemas.usage import Quantity, StockIn, ValuationIn


class StatedDrink(Input):
    """A drink whose cost is stated instead of taken from the catalogue."""

    id: Id
    """What rows name as drink."""
    name: Text | None = None
    """For readers."""
    section: Text | None = None
    """The heading it stands under."""
    pour_cost: MoneyText
    """Of one serve, in the currency of the request."""


class HeldIn(StockIn):
    """What one item cost: its stock before the period, and its deliveries up to the last day."""

    opening_units: Quantity = Field(default="0", validate_default=True)
    """In stock before the first delivery."""
    opening_size: AmountText | None = None
    """One of them, such as 700 ml."""

    @model_validator(mode="after")
    def sized(self) -> Self:
        """Units in stock have a size."""
        if self.opening_units and self.opening_size is None:
            raise PydanticCustomError("size_missing", "State opening_size, such as 700 ml.")
        return self


class MarginsRequest(Input):
    """What sold in a period, and how it is to be read."""

    period: PeriodIn
    """Which trading days."""
    compare_with: PeriodIn | None = None
    """Another period, whose rows stand among the sales too: price, mix, volume and cost effects from it to `period`."""
    trading_day: TradingDayIn = TradingDayIn()
    """When a trading day ends."""
    venue: Id | None = None
    """Whose costs, taxes and target apply; the group's unless given."""
    currency: Currency | None = None
    """Of every sum; the venue's unless given."""
    target: Target | None = None
    """Instead of the venue's."""
    round: PriceStep | None = None
    """Steps of menu prices, instead of the venue's."""
    tax_classes: Annotated[tuple[TaxClass, ...], Field(max_length=50)] = ()
    """Taxes that rows name."""
    channels: Annotated[tuple[ChannelIn, ...], Field(max_length=50)] = ()
    """Channels that rows name."""
    drinks: Annotated[tuple[StatedDrink, ...], Field(max_length=1000)] = ()
    """Drinks with a stated cost; nothing of them has to be stored."""
    sales: Annotated[tuple[SaleIn, ...], Field(max_length=SALES)]
    """Rows in any order; those of other days are counted and left out."""
    valuation: ValuationIn = ValuationIn()
    """What an item costs. By any but `list` a unit of it costs the same all over the period; by `fifo` that is the mean
    of the units that went into what sold, by spec."""
    beside: ValuationIn | None = None
    """A second valuation of the same sales, with the difference."""
    stock: Annotated[tuple[HeldIn, ...], Field(max_length=1000)] = ()
    """Stock and deliveries for the valuations that need them; items without stay at list price and are named."""
    compare_stock: Annotated[tuple[HeldIn, ...], Field(max_length=1000)] = ()
    """The same for `compare_with`."""

    @model_validator(mode="after")
    def stocked(self) -> Self:
        """A valuation by invoices needs some, for each period."""
        if all(one is None or one.method == "list" for one in (self.valuation, self.beside)):
            return self
        if not self.stock or (self.compare_with is not None and not self.compare_stock):
            detail = "A valuation by invoices needs stock, and compare_stock where another period is compared."
            raise PydanticCustomError("stock_missing", detail)
        return self


class MenuMarginsQuery(PeriodQuery):
    """A question about the margins of a menu at its prices."""

    as_of: Day | None = None
    """The day whose prices and specs apply; today (UTC) unless it or a period is given."""
    venue: Id | None = None
    """The venue whose prices and taxes apply; the menu's unless given."""
    mix: Annotated[str, StringConstraints(max_length=600)] | None = None
    """Serves of each drink, such as fog-signal:120,long-jetty:80, in whole ones over the days of a period; one of each
    a day unless given."""
