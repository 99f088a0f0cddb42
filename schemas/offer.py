"""What a supplier offers: a pack and its price, nothing about what is in it."""

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from schemas._base import Input
from schemas.drink import Amount
from schemas.scalars import Count, CountOrNone, Currency, Day, Flag, Id, MoneyText, PercentText, Text


class Money(Input):
    """A sum with its currency."""

    amount: MoneyText
    currency: Currency


class Pack(Input):
    """What one price buys: `count` units of `size`."""

    count: Count = 1
    size: Amount
    """`700 ml`, `1 kg`, `1 each`."""


class Duty(Input):
    """Excise duty that is still to be paid on the pack."""

    state: Literal["paid", "suspended"]
    amount: Money | MoneyText | None = None
    """Duty for the whole pack, in the offer's currency; suspended without it leaves the cost unknown."""


class Offer(Input):
    """A supplier's offer; sums are for the whole pack, in the currency of its price."""

    id: Id
    item: Id
    supplier: Text
    code: Text | None = None
    """The supplier's own article code."""
    gtin: Annotated[str, Field(strict=True, pattern=r"^[0-9]{8}$|^[0-9]{12,14}$")] | None = None
    """GTIN-8, -12, -13 or -14 with a right check digit."""
    pack: Pack
    price: Money
    tax_included: Flag = False
    tax_rate_percent: PercentText | None = None
    """Required where tax is included."""
    deposit: Money | MoneyText | None = None
    """Returned with the empties, charged beside the price and never a cost."""
    delivery: Money | MoneyText | None = None
    """Added to the price."""
    discount_percent: Annotated[PercentText | None, Field(le=100)] = None
    free_units: CountOrNone | None = None
    """Units given free with the pack."""
    rebate: Money | MoneyText | None = None
    """Taken off the price."""
    duty: Literal["paid", "suspended"] | Duty = "paid"
    """`suspended` without its amount leaves the cost unknown."""
    valid_from: Day | None = None
    valid_to: Day | None = None
    """Both days inclusive."""
    preferred: Flag = False

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
