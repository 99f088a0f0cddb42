"""What a supplier offers: a pack and its price, nothing about what is in it."""

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from schemas._base import Input
from schemas.drink import Amount
from schemas.scalars import Count, CountOrNone, Currency, Day, Flag, Id, MoneyText, PercentText, Text

GTIN_PATTERN = r"^[0-9]{8}$|^[0-9]{12,14}$"


class Money(Input):
    """A sum with its currency."""

    amount: MoneyText
    """0 or more, as decimal text in units of the currency, such as "12.50"."""
    currency: Currency
    """ISO 4217 code in capitals."""


class Pack(Input):
    """What one price buys: `count` units of `size`."""

    count: Count = 1
    """Bottles, cans, bags or pieces that the price buys; free units come on top."""
    size: Amount
    """`700 ml`, `1 kg`, `1 each`."""


class Duty(Input):
    """Excise duty that is still to be paid on the pack."""

    state: Literal["paid", "suspended"]
    """`paid`: the price holds it, and no amount is added. `suspended`: `amount` is added."""
    amount: Money | MoneyText | None = None
    """Duty for the whole pack, in the offer's currency; suspended without it leaves the cost unknown."""


class Offer(Input):
    """A supplier's offer; sums are for the whole pack, in the currency of its price."""

    id: Id
    """What `pricing.choose` may name and the answer shows; no other offer of the request has it."""
    item: Id
    """What is sold: one of the caller's, of the catalogue's or of the reference's items."""
    supplier: Text
    """Decides between offers of the same cost, in alphabetical order."""
    code: Text | None = None
    """The supplier's own article code."""
    gtin: Annotated[str, Field(strict=True, pattern=GTIN_PATTERN)] | None = None
    """GTIN-8, -12, -13 or -14 with a right check digit."""
    pack: Pack
    """What the price is for."""
    price: Money
    """Of the whole pack, before discount, rebate and delivery."""
    tax_included: Flag = False
    """Whether the sums hold a tax that is taken out by `tax_rate_percent` before anything is costed."""
    tax_rate_percent: PercentText | None = None
    """Required where tax is included."""
    deposit: Money | MoneyText | None = None
    """Returned with the empties, charged beside the price and never a cost."""
    delivery: Money | MoneyText | None = None
    """Added to the price."""
    discount_percent: Annotated[PercentText | None, Field(le=100)] = None
    """Taken off the price alone, not off delivery or duty."""
    free_units: CountOrNone | None = None
    """Units given free with the pack."""
    rebate: Money | MoneyText | None = None
    """Taken off the price."""
    duty: Literal["paid", "suspended"] | Duty = "paid"
    """`suspended` without its amount leaves the cost unknown."""
    valid_from: Day | None = None
    """First day on which it counts; since ever unless given."""
    valid_to: Day | None = None
    """Both days inclusive."""
    preferred: Flag = False
    """Used first where `pricing.choose` is `preferred`."""

    @model_validator(mode="after")
    def consistent(self) -> Self:
        """Tax included needs its rate; the validity runs forward; the sums are in one currency."""
        if self.tax_included and self.tax_rate_percent is None:
            raise PydanticCustomError("tax_rate_missing", "tax_rate_percent is required where tax is included.")
        if self.valid_from and self.valid_to and self.valid_to < self.valid_from:
            raise PydanticCustomError("validity_reversed", "valid_to lies before valid_from.")
        duty = self.duty.amount if isinstance(self.duty, Duty) else None
        for extra in (self.deposit, self.delivery, self.rebate, duty):
            if isinstance(extra, Money) and extra.currency != self.price.currency:
                raise PydanticCustomError("currency_mixed", "All sums of one offer are in the currency of its price.")
        return self
