"""What if: supplier prices that change, and menu prices that have to."""

from typing import Annotated

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from schemas._base import Input, Output
from schemas.margins_answer import MarginsMeta, MissingCost
from schemas.price_list import RowNumbers
from schemas.price_lists import TriedList
from schemas.pricing import PriceStep, Target
from schemas.sales import SignedText
from schemas.scalars import Currency, Day, Id, MoneyText, PercentText, Text


class NewPrice(Input):
    """A price of a whole pack, in the offer's own currency."""

    offer: Id
    """A stored offer."""
    price: MoneyText
    """Before discount, rebate and delivery, as the offer states it."""


class PriceMove(Input):
    """A change of every offer that fits all that is named; nothing named is every offer."""

    percent: Annotated[SignedText, Field(ge=-100, le=1000)]
    """12 is dearer by 12 %."""
    item: Id | None = None
    """Offers of this item."""
    kind: Annotated[str, Field(strict=True, pattern=r"^[a-z]{1,20}$")] | None = None
    """Offers of items of this kind, such as spirit."""
    supplier: Id | None = None
    """Offers of this supplier."""


class ListIn(Input):
    """A price list that was sent and not yet taken in."""

    id: Id
    """Of the kept list."""
    confirm: RowNumbers = ()
    """Rows whose doubtful change is right and counts too."""
    leave_out: RowNumbers = ()
    """Rows that do not count."""
    items: Annotated[dict[Text, Id], Field(max_length=1000)] = {}
    """Items of new articles, by the supplier's code or by GTIN."""


class MovesRequest(Input):
    """Supplier prices as they might be; nothing is changed."""

    prices: Annotated[tuple[NewPrice, ...], Field(max_length=2000)] = ()
    """A list of new prices; they stand before any change in percent."""
    changes: Annotated[tuple[PriceMove, ...], Field(max_length=100)] = ()
    """Applied one after the other."""
    price_list: ListIn | None = None
    """A list in dry run: its prices and new offers stand before anything else here."""
    menu: Id | None = None
    """Only drinks of this menu; all stored drinks unless given."""
    venue: Id | None = None
    """Whose costs, prices and target apply; the menu's, else the group's unless given."""
    as_of: Day | None = None
    """The day whose offers, specs and menus apply; today (UTC) unless given."""
    currency: Currency | None = None
    """Of every sum; the venue's unless given."""
    target: Target | None = None
    """Instead of the venue's."""

    @property
    def empty(self) -> bool:
        """Whether nothing changes; the answer then is the sensitivities alone."""
        return not self.prices and not self.changes and self.price_list is None


class SensitivityOut(Output):
    """How the cost of a drink hangs on one offer."""

    item: str
    """What it sells."""
    offer: str
    """Its id."""
    cost: str
    """What of the pour cost of one serve it makes, nine decimals."""
    per_percent: str
    """What 1 % on its price adds to the cost of a serve, nine decimals."""
    price: str
    """Its price now, of the whole pack, in its own currency."""
    price_currency: str
    """That currency."""
    breaks_even_at: str | None
    """Its price at which the drink at its menu price just meets its target, all else as it is, six decimals; null
    without a menu price or target, or where no price of it alone does."""


class MovedDrink(Output):
    """One drink before and after."""

    drink: str
    """Its id."""
    with_: Annotated[tuple[str, ...], Field(alias="with")]
    """Modifiers it is sold with."""
    name: str
    """Its name."""
    menu_price: str | None
    """As printed; null where no menu sells it."""
    cost_before: str | None
    """Pour cost now."""
    cost_after: str | None
    """Pour cost then; an offer that is then cheaper is chosen as it would be."""
    cost_change_percent: str | None
    """Of the cost now."""
    gross_margin_before: str | None
    """Percent of net at the menu price."""
    gross_margin_after: str | None
    """Percent of net at the menu price."""
    meets_before: bool | None
    """Whether it meets its target; null without one."""
    meets_after: bool | None
    """Whether it then would."""
    suggested_after: str | None
    """The price that meets the target then, on the venue's steps."""
    sensitivities: tuple[SensitivityOut, ...]
    """By offer, the heaviest first; as things are now."""
    sensitivities_after: tuple[SensitivityOut, ...]
    """The same as things would then be."""


class Moves(Output):
    """All drinks before and after a change of supplier prices."""

    currency: str
    """Of every sum but prices of packs."""
    offers_changed: int
    """Offers of items that the drinks use, that are other ones then."""
    offers_new: int
    """Offers of items that the drinks use which the list brings."""
    price_list: TriedList | None
    """How the list was read; null without one."""
    drinks: tuple[MovedDrink, ...]
    """Those that fall under target first, then by how much they rise."""
    fall_under: tuple[str, ...]
    """Drinks that meet their target now and then would not."""
    missing: tuple[MissingCost, ...]
    """Costs that are not known now."""
    meta: MarginsMeta
    """Versions and day."""


class RungIn(Input):
    """A drink whose price may change."""

    drink: Id
    """A stored drink, or any name where cost and price are stated."""
    with_: Annotated[tuple[Id, ...], Field(alias="with", max_length=20)] = ()
    """Modifiers it is sold with."""
    quantity: Annotated[SignedText, Field(ge=0, le=10**9)]
    """What sells; taken to stay as it is."""
    menu_price: MoneyText | None = None
    """Today's; that of the menu unless given."""
    pour_cost: MoneyText | None = None
    """Of one serve; that of the catalogue unless given."""
    points: Annotated[tuple[MoneyText, ...], Field(max_length=100)] | None = None
    """Allowed prices; `steps` or the venue's steps up to `highest_percent` above today's unless given."""


class LadderRequest(Input):
    """A menu whose weighted margin has to be met by few and small changes of price."""

    drinks: Annotated[tuple[RungIn, ...], Field(min_length=1, max_length=300)]
    """What sells, each once."""
    margin_percent: Annotated[PercentText, Field(lt=100)]
    """Weighted gross margin that is to be met."""
    menu: Id | None = None
    """Whose prices are today's; the venue's menus unless given."""
    venue: Id | None = None
    """Whose costs and taxes apply."""
    as_of: Day | None = None
    """The day that applies; today (UTC) unless given."""
    currency: Currency | None = None
    """Of every sum; the venue's unless given."""
    steps: PriceStep | None = None
    """Allowed prices; the venue's steps unless given."""
    highest_percent: Annotated[PercentText, Field(gt=0, le=200)] = Field(default="25", validate_default=True)
    """How far above today's a price may go where `points` does not say."""

    @model_validator(mode="after")
    def once(self) -> "LadderRequest":
        """A drink stands once."""
        keys = [(one.drink, one.with_) for one in self.drinks]
        if len(set(keys)) != len(keys):
            raise PydanticCustomError("duplicate_id", "A drink stands twice.")
        return self


class LadderChange(Output):
    """One price that changes."""

    drink: str
    """Its id."""
    with_: Annotated[tuple[str, ...], Field(alias="with")]
    """Modifiers it is sold with."""
    from_: Annotated[str, Field(alias="from")]
    """Today's price."""
    to: str
    """The new one."""


class LadderAnswer(Output):
    """The fewest and smallest changes that meet the margin, if what sells stays as it is."""

    currency: str
    """Of every sum."""
    met: bool
    """False: no allowed prices reach the margin; the changes are then the highest ones."""
    exact: bool
    """Whether no other choice has as few and as small changes; false where the menu is too large to look at all."""
    method: str
    """How it was found."""
    margin_before: str | None
    """Weighted gross margin in percent."""
    margin_after: str | None
    """With the changes."""
    changes: tuple[LadderChange, ...]
    """In the order of the request."""
    meta: MarginsMeta
    """Versions and day."""
