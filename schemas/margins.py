"""The books of a period: what sold, and how it is to be read."""

from typing import Annotated

from pydantic import Field, StringConstraints

from schemas._base import Input
from schemas.period import PeriodIn, PeriodQuery, TradingDayIn
from schemas.pricing import PriceStep, Target
from schemas.sales import SALES, ChannelIn, SaleIn, TaxClass
from schemas.scalars import Currency, Day, Id, MoneyText, Text


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


class MenuMarginsQuery(PeriodQuery):
    """A question about the margins of a menu at its prices."""

    as_of: Day | None = None
    """The day whose prices and specs apply; today (UTC) unless it or a period is given."""
    venue: Id | None = None
    """The venue whose prices and taxes apply; the menu's unless given."""
    mix: Annotated[str, StringConstraints(max_length=600)] | None = None
    """Serves of each drink, such as fog-signal:120,long-jetty:80, in whole ones over the days of a period; one of each
    a day unless given."""
