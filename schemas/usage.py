"""Usage and loss: what was counted and what moved, against what the drinks that sold should have taken."""

from typing import Annotated, Literal

from pydantic import Field

from schemas._base import Input, Output
from schemas.margins_answer import MarginsMeta, MissingCost
from schemas.period import PeriodIn, PeriodOut, TradingDayIn
from schemas.sales import SaleIn, SignedText
from schemas.scalars import AmountText, Count, Currency, Day, Flag, Id, MoneyText, PercentText

Quantity = Annotated[SignedText, Field(ge=0, le=10**9)]
Level = Annotated[SignedText, Field(ge=0, le=10)]
MethodWord = Literal["list", "last_invoice", "weighted_average", "fifo"]
AtWord = Literal["invoice", "net"]


class CountIn(Input):
    """What was counted of one item or house-made part, in any pack and part-full."""

    item: Id
    """A bought item, or a part of the drinks that sold: what is in it is added to the items that are counted."""
    day: Day | None = None
    """The trading day at whose end it was counted; the cut-off unless given."""
    size: AmountText
    """One unit, such as 700 ml, 1 kg or 1 each."""
    per_pack: Count = 1
    """Units in a pack."""
    packs: Quantity = Field(default="0", validate_default=True)
    """Whole packs."""
    units: Quantity = Field(default="0", validate_default=True)
    """Whole units beside them."""
    tenths: Annotated[tuple[Level, ...], Field(max_length=200)] = ()
    """Levels of part-full units, 0 to 10."""
    weights_g: Annotated[tuple[Quantity, ...], Field(max_length=200)] = ()
    """Masses of part-full units with their container."""
    tare_g: Quantity | None = None
    """Mass of the empty container."""
    density_g_per_ml: Annotated[SignedText, Field(gt=0, le=25)] | None = None
    """Needed to weigh what is kept by volume; that of the item unless given."""


class MovementIn(Input):
    """Something that came, went, or was used without a sale."""

    item: Id
    """A bought item."""
    day: Day
    """Its trading day; a delivery bears the day it came, not that of its invoice."""
    type: Literal[
        "delivery", "credit_note", "return", "transfer_in", "transfer_out", "consignment", "spill", "breakage",
        "complimentary", "staff", "training", "development",
    ]  # fmt: skip
    """`complimentary` is for what no row of sales holds; `credit_note` for goods billed and not kept."""
    units: Quantity
    """How many."""
    size: AmountText
    """One of them, such as 700 ml."""


class PurchaseIn(Input):
    """A delivery as invoiced, net of tax."""

    day: Day
    """The day it came, the last one of the period at the latest."""
    units: Annotated[SignedText, Field(ge=-(10**6), le=10**6)]
    """Units paid for; negative on a credit note, which is taken off the deliveries before it."""
    size: AmountText
    """One of them."""
    invoiced: Annotated[SignedText, Field(ge=-(10**9), le=10**9)]
    """For all of them, before the discount of the invoice."""
    discount: Annotated[SignedText, Field(ge=-(10**9), le=10**9)] = Field(default="0", validate_default=True)
    """Off the invoice."""
    free_units: Quantity = Field(default="0", validate_default=True)
    """Came with them for nothing."""


class TierIn(Input):
    """A step of a rebate."""

    from_sum: MoneyText
    """Purchases of the period from which on it holds."""
    percent: Annotated[PercentText, Field(le=100)]
    """What comes back."""


class StockIn(Input):
    """What values one item."""

    item: Id
    """One that is counted."""
    opening_value: MoneyText | None = None
    """Of the opening count, which is over 0 then; at the list price unless given."""
    purchases: Annotated[tuple[PurchaseIn, ...], Field(max_length=500)] = ()
    """In any order."""
    tiers: Annotated[tuple[TierIn, ...], Field(max_length=20)] = ()
    """Rebates at the end of the period."""
    by_band: Flag = False
    """Whether each percentage holds for its band alone; else for all that was bought."""


class ValuationIn(Input):
    """How stock is valued."""

    method: MethodWord = "list"
    """`list` is the net cost by the offer in force at the end of the period."""
    at: AtWord = "net"
    """Purchases as invoiced, or net of rebates."""


class UsageRequest(Input):
    """A period with its counts, movements and sales."""

    period: PeriodIn
    """Which trading days; the cut-offs are the end of the day before and of the last day."""
    trading_day: TradingDayIn = TradingDayIn()
    """When a trading day ends."""
    venue: Id | None = None
    """Whose drinks, offers and taxes apply."""
    currency: Currency | None = None
    """Of every sum; the venue's unless given."""
    sales: Annotated[tuple[SaleIn, ...], Field(max_length=5000)]
    """What sold; rows beside the period count only where a count is rolled. A tax class is a rate in percent."""
    opening: Annotated[tuple[CountIn, ...], Field(min_length=1, max_length=1000)]
    """Before the first day."""
    closing: Annotated[tuple[CountIn, ...], Field(min_length=1, max_length=1000)]
    """After the last day; several rows of one item are added."""
    movements: Annotated[tuple[MovementIn, ...], Field(max_length=5000)] = ()
    """Between the counts."""
    stock: Annotated[tuple[StockIn, ...], Field(max_length=1000)] = ()
    """Purchases for the valuations that need them."""
    valuation: ValuationIn = ValuationIn()
    """What a quantity is worth."""
    beside: ValuationIn | None = None
    """A second valuation of the closing stock, with the difference."""
    roll_counts: Flag = False
    """Whether counts beside the cut-off are brought to it by movements and sales; else they are refused."""


class VarianceOut(Output):
    """A quantity of a variance; over 0 is a loss."""

    quantity: str
    """In base units of the item."""
    money: str | None
    """At the valuation."""
    percent_of_sales: str | None
    """Money in percent of net sales, two decimals."""


class ExplainedOut(Output):
    """What of a variance was written down."""

    type: str
    """Of the movement."""
    variance: VarianceOut
    """How much."""


class RolledOut(Output):
    """A count that was brought to the cut-off."""

    counted_on: str
    """The trading day at whose end it was counted."""
    cut_off: str
    """The trading day at whose end it had to be."""
    counted: str
    """What was found."""
    moved: tuple[dict[str, str], ...]
    """Movements between: day, type, quantity."""
    sold: str
    """What sales between should have taken."""
    quantity: str
    """At the cut-off."""


class ItemUsage(Output):
    """One bought item over the period."""

    item: str
    """Its id."""
    base: str
    """ml, g or each: of every quantity here."""
    opening: str
    """At the start."""
    moved: dict[str, str]
    """By type."""
    closing: str
    """At the end."""
    actual: str
    """Use by the counts."""
    theoretical: str
    """Use by what sold, joint products counted once; without over-pour and spillage."""
    variance: VarianceOut
    """Actual less theoretical."""
    explained: tuple[ExplainedOut, ...]
    """By type."""
    unexplained: VarianceOut
    """The rest: explained and unexplained are the variance."""
    unit_value: str | None
    """Of one base unit, nine decimals; null where it is not known."""
    closing_value: str | None
    """What the closing stock is worth."""
    closing_value_beside: str | None
    """By the second valuation."""
    value_difference: str | None
    """The second less the first."""
    rolled: tuple[RolledOut, ...]
    """Counts that were brought to the cut-off."""


class UsageTotal(Output):
    """All items; null where a value is not known."""

    net_sales: str
    """Of the period."""
    variance: str | None
    """Money of all variances."""
    explained: dict[str, str | None]
    """By type."""
    unexplained: str | None
    """The rest."""
    unexplained_percent_of_sales: str | None
    """Two decimals."""
    closing_value: str | None
    """Of all that was counted."""
    closing_value_beside: str | None
    """By the second valuation."""
    value_difference: str | None
    """The second less the first."""


class Usage(Output):
    """Where it went."""

    currency: str
    """Of every sum."""
    period: PeriodOut
    """Which days."""
    valuation: str
    """How quantities are valued."""
    beside: str | None
    """The second way."""
    items: tuple[ItemUsage, ...]
    """The dearest unexplained loss first."""
    not_counted: tuple[str, ...]
    """Items that the drinks took and nobody counted."""
    total: UsageTotal
    """Of all items."""
    missing: tuple[MissingCost, ...]
    """Amounts and costs that are not known, so that a theoretical use is too low; the worth of an opening stock, so
    that purchases alone value the item."""
    meta: MarginsMeta
    """Versions, day, valuation."""
