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
    Flag,
    Id,
    MarkupText,
    Minutes,
    MoneyText,
    NotNegative,
    PercentText,
    Positive,
    SoldAs,
    Text,
)
from schemas.tolerance import TolerancesIn


class Rate(Input):
    """One unit of `from` is `rate` units of `to`. No inversion is made."""

    from_: Annotated[Currency, Field(alias="from")]
    """Currency of the offers."""
    to: Currency
    """Currency of the pricing."""
    rate: Annotated[DecimalText, Field(gt=0, le=10**9)]
    """What a sum in `from` is multiplied with; over 0."""
    as_of: Day | None = None
    """First day it holds; the latest one not after the day of the answer is used, and an undated one is the oldest."""


class Target(Input):
    """One or more targets; the highest price wins."""

    gross_margin_percent: Annotated[PercentText | None, Field(lt=100)] = None
    """(net - pour cost) / net, 0 to below 100."""
    pour_cost_percent: Annotated[PercentText | None, Field(gt=0, le=100)] = None
    """Pour cost / net, over 0 to 100."""
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
    """Of the net price."""
    included: Annotated[bool, Field(strict=True)] = True
    """Whether menu prices are shown with it."""


class TaxLine(Input):
    """One of several taxes, on the net price or on the net price with the taxes before it."""

    name: Text
    """For the caller's own bookkeeping; no figure depends on it."""
    rate_percent: PercentText
    """Of what `on` names."""
    on: Literal["net", "net_and_previous"] = "net"
    """`net_and_previous`: on the net price with all taxes listed before it."""


class PriceStep(Input):
    """Where suggested prices may fall: on steps of `to`, or on an `ending`."""

    to: Annotated[MoneyText | None, Field(gt=0)] = None
    """Prices are multiples of it; over 0, in the pricing currency."""
    mode: Literal["up", "nearest", "down"] | None = None
    """`up` unless given; `nearest` and `down` may fall below a target, and a warning says so."""
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
    """Of the ingredient lines measured by volume."""
    spillage_percent: PercentText = Decimal(0)
    """Of all ingredients and garnish."""


class Labour(Input):
    """Working time for one serve; preparations add their own minutes."""

    minutes: Minutes
    """Minutes for one serve."""
    rate_per_hour: Money | MoneyText
    """Wage with whatever comes on top of it, in the pricing currency."""


class Pricing(Input):
    """Everything that turns a cost into a price."""

    currency: Currency
    """ISO 4217 code of every sum of the answer."""
    choose: Literal["cheapest", "preferred"] | Annotated[dict[Id, Id], Field(max_length=2000)] = "cheapest"
    """Cheapest per base unit, preferred ones first, or an offer by item (cheapest for the rest)."""
    rates: Annotated[tuple[Rate, ...], Field(max_length=200)] = ()
    """Needed for each currency of a used offer that is not the pricing currency."""
    target: Target | None = None
    """Without it no price is suggested."""
    tax: Tax | Annotated[tuple[TaxLine, ...], Field(min_length=1, max_length=10)] | None = None
    """One tax with how menus show it, or several that menus include; none unless given."""
    round: PriceStep | None = None
    """To the nearest minor unit of the currency unless given."""
    allowances: Allowances = Allowances()
    """None unless given; added to the cost and never compounded."""
    labour: Labour | None = None
    """Counts in the serve cost, never in the pour cost; unknown unless given."""
    floor: MoneyText | None = None
    """The house's own least price as the guest pays it, in the pricing currency: nothing below it is suggested."""
    menu_price: Money | MoneyText | None = None
    """Today's price on the menu, whose margins are answered beside the suggestion."""

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
    """What the tool also touches."""
    equipment: Text
    """What statements and routes call the tool, such as blender."""
    methods: Annotated[tuple[MethodKind, ...], Field(max_length=20)] = ()
    """Methods that use it; all if empty."""
    control: Literal["none", "rinsed", "washed", "dedicated"] = "none"
    """What is done between uses; only a `dedicated` tool carries nothing over, since cleaning is not verified."""


class House(Input):
    """The bar: its tools, how it sells, its own limit."""

    cross_contact: Annotated[tuple[CrossContact, ...], Field(max_length=60)] | None = None
    """Tools that may carry allergens over; an empty list says that none does, absent that nobody assessed it."""
    sold_as: SoldAs = "poured"
    """`poured` gets words for a menu; the packed kinds get label text and the duties of a package. A drink may say
    otherwise of itself."""
    max_standard_drinks: Positive | None = None
    """The house's own limit for one serve."""
    chain_menu: Flag = False
    """Whether calories are answered as a chain of 20 or more locations in the United States writes them on menus."""
    use_measured: Flag = False
    """Whether what is measured of a drink takes the place of its water, modelled or stated, wherever it can."""
    storage: Text | None = None
    """How packed drinks are to be kept, as label panels print it; that of a drink comes before."""
    responsible: Text | None = None
    """Name and address of who answers for packed drinks, as label panels print it; that of a drink comes before."""


class MeasuresIn(Input):
    """What the house means by its measures."""

    ounce: Literal["us", "imperial", "metric"] = "us"
    """What oz, cup, pint, spoon and their like mean where no word names the system."""
    dash_ml: Annotated[Positive, Field(le=10)] = 0.8
    """Size of one dash, over 0 to 10."""
    drop_ml: Annotated[Positive, Field(le=1)] = 0.05
    """Size of one drop, over 0 to 1."""
    barspoon_ml: Annotated[Positive, Field(le=20)] = 5.0
    """Size of one bar spoon, over 0 to 20."""
    water_fraction: dict[MethodKind, Annotated[NotNegative, Field(le=5)]] = {}
    """Water of a method as a share of the mixed volume: the house's own figure, used before any model."""
    tolerances: TolerancesIn = TolerancesIn()
    """The house's own tolerances, for `bands` alone."""

    def fractions(self) -> dict[str, float]:
        """The house's water by method."""
        return {str(kind): fraction for kind, fraction in self.water_fraction.items()}
