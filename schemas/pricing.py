"""How a price is made: currency, choice of offer, target, tax, rounding, allowances, labour; and the house."""

from decimal import Decimal
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from schemas._base import Input
from schemas.drink import MethodKind
from schemas.ingredient import AllergenKey
from schemas.offer import Money
from schemas.scalars import (
    Currency,
    Day,
    DecimalText,
    Id,
    MarkupText,
    Minutes,
    MoneyText,
    NotNegative,
    PercentText,
    Positive,
    Text,
)


class Rate(Input):
    """One unit of `from` is `rate` units of `to`. No inversion is made."""

    from_: Annotated[Currency, Field(alias="from")]
    to: Currency
    rate: Annotated[DecimalText, Field(gt=0, le=10**9)]
    as_of: Day | None = None


class Target(Input):
    """One or more targets; the highest price wins."""

    gross_margin_percent: Annotated[PercentText | None, Field(lt=100)] = None
    pour_cost_percent: Annotated[PercentText | None, Field(gt=0, le=100)] = None
    markup_percent: MarkupText | None = None
    """(net - pour cost) / pour cost."""
    cash_margin: Money | MoneyText | None = None
    """net - pour cost, in the pricing currency."""

    @model_validator(mode="after")
    def at_least_one(self) -> Self:
        """A target that targets nothing is a mistake."""
        if not self.model_fields_set or all(value is None for _, value in self):
            raise PydanticCustomError("target_empty", "Give at least one target.")
        return self


class Tax(Input):
    """One tax on the menu price."""

    rate_percent: PercentText
    included: Annotated[bool, Field(strict=True)] = True
    """Whether menu prices are shown with it."""


class TaxLine(Input):
    """One of several taxes, on the net price or on the net price with the taxes before it."""

    name: Text
    rate_percent: PercentText
    on: Literal["net", "net_and_previous"] = "net"


class PriceStep(Input):
    """Where suggested prices may fall: on steps of `to`, or on an `ending`."""

    to: Annotated[MoneyText | None, Field(gt=0)] = None
    mode: Literal["up", "nearest", "down"] | None = None
    ending: Annotated[str, Field(strict=True, pattern=r"^\.[0-9]{1,3}$")] | None = None
    """The end of the price, such as ".95"; always upwards."""

    @model_validator(mode="after")
    def exactly_one(self) -> Self:
        """A step with its mode, or an ending."""
        if (self.to is None) == (self.ending is None) or (self.ending is not None and self.mode is not None):
            raise PydanticCustomError("round_one_of", "Give to with mode, or ending alone.")
        return self


class Allowances(Input):
    """Shares of cost added for what is lost; 0 unless given."""

    over_pour_percent: PercentText = Decimal(0)
    spillage_percent: PercentText = Decimal(0)


class Labour(Input):
    """Working time for one serve; preparations add their own minutes."""

    minutes: Minutes
    """Minutes for one serve."""
    rate_per_hour: Money | MoneyText


class Pricing(Input):
    """Everything that turns a cost into a price."""

    currency: Currency
    choose: Literal["cheapest", "preferred"] | dict[Id, Id] = "cheapest"
    """Cheapest per base unit, preferred ones first, or an offer by item (cheapest for the rest)."""
    rates: Annotated[tuple[Rate, ...], Field(max_length=200)] = ()
    target: Target | None = None
    tax: Tax | Annotated[tuple[TaxLine, ...], Field(min_length=1, max_length=10)] | None = None
    round: PriceStep | None = None
    allowances: Allowances = Allowances()
    labour: Labour | None = None
    menu_price: Money | MoneyText | None = None

    @model_validator(mode="after")
    def one_currency(self) -> Self:
        """Sums with a currency of their own are in the pricing currency."""
        cash = None if self.target is None else self.target.cash_margin
        hourly = None if self.labour is None else self.labour.rate_per_hour
        for sum_ in (cash, hourly, self.menu_price):
            if isinstance(sum_, Money) and sum_.currency != self.currency:
                raise PydanticCustomError("currency_mixed", "Sums of pricing are in the pricing currency.")
        return self


class CrossContact(Input):
    """What a shared tool may carry over."""

    allergens: Annotated[tuple[AllergenKey, ...], Field(min_length=1, max_length=60)]
    equipment: Text
    methods: Annotated[tuple[MethodKind, ...], Field(max_length=20)] = ()
    """Methods that use it; all if empty."""
    control: Literal["none", "rinsed", "washed", "dedicated"] = "none"


class House(Input):
    """The bar: its tools, how it sells, its own limit."""

    cross_contact: Annotated[tuple[CrossContact, ...], Field(max_length=60)] | None = None
    sold_as: Literal["poured", "packed_for_direct_sale", "prepacked", "distance"] = "poured"
    max_standard_drinks: Positive | None = None
    """The house's own limit for one serve."""


class MeasuresIn(Input):
    """What the house means by its measures."""

    ounce: Literal["us", "imperial", "metric"] = "us"
    dash_ml: Annotated[Positive, Field(le=10)] = 0.8
    drop_ml: Annotated[Positive, Field(le=1)] = 0.05
    barspoon_ml: Annotated[Positive, Field(le=20)] = 5.0
    water_fraction: dict[MethodKind, Annotated[NotNegative, Field(le=5)]] = {}
    """Water of a method as a share of the mixed volume: the house's own figure, used before any model."""
