"""What the service keeps: the contract's items, parts, drinks and offers, with suppliers, menus and venues."""

from datetime import date
from typing import Annotated, Literal, Self

from pydantic import BeforeValidator, Field, StringConstraints, WithJsonSchema, model_validator
from pydantic_core import PydanticCustomError

from schemas._base import Input, Query
from schemas.drink import Drink
from schemas.ingredient import Ingredient
from schemas.offer import Money, Offer
from schemas.parameters import whole
from schemas.preparation import Preparation
from schemas.price_list import ColumnMapping
from schemas.pricing import Allowances, CrossContact, Labour, MeasuresIn, PriceStep, Rate, Target, Tax, TaxLine
from schemas.scalars import Currency, Day, Flag, Id, Jurisdiction, MoneyText, PercentText, Positive, SoldAs, Text

EXTERNAL_ID_PATTERN = r"^[A-Za-z0-9][A-Za-z0-9._:/-]{0,63}$"

ExternalId = Annotated[str, StringConstraints(strict=True, pattern=EXTERNAL_ID_PATTERN)]
"""An id that a till or another system uses: a PLU, a SKU or a GTIN."""

ExternalIds = Annotated[tuple[ExternalId, ...], Field(max_length=20)]


class StoredIngredient(Ingredient):
    """A bought item as it is kept."""

    external_ids: ExternalIds = ()
    """Ids of tills and other systems; no other ingredient has one of them."""


class StoredPreparation(Preparation):
    """A house-made part as it is kept."""

    external_ids: ExternalIds = ()
    """Ids of tills and other systems; no other preparation has one of them."""


class StoredDrink(Drink):
    """A drink as it is kept."""

    external_ids: ExternalIds = ()
    """Ids of tills (PLU, SKU, GTIN); no other drink has one of them."""


class ListSettings(Input):
    """How this supplier's price lists are read; a list may be sent with other words in its address."""

    offer_prefix: Id | None = None
    """Begins the ids of new offers; the supplier's own id unless given."""
    mapping: ColumnMapping
    """Which column holds what, by its header."""
    sheet: Text | None = None
    """Name of the sheet of a workbook; the first one unless given."""
    encoding: Literal["utf-8", "utf-16", "windows-1252"] | None = None
    """Found out unless given."""
    delimiter: Literal[",", ";", "\t"] | None = None
    """Found out unless given."""
    decimal: Literal[".", ","] | None = None
    """Found out unless given."""
    tax_included: Flag = False
    """Whether prices hold a tax where a row says nothing of it."""
    tax_rate_percent: PercentText | None = None
    """Rate of that tax."""
    tax_rates_percent: Annotated[tuple[PercentText, ...], Field(max_length=50)] = ()
    """Rates in force where the supplier sells: a change by one of them must be confirmed."""
    change_limit_percent: Annotated[PercentText | None, Field(gt=0)] = None
    """A change over it must be confirmed; 25 unless given."""
    items: Annotated[dict[Text, Id], Field(max_length=50_000)] = {}
    """Items of articles that have no offer yet, by the supplier's code or by GTIN."""


class Supplier(Input):
    """Who sells to the bar."""

    id: Id
    """What offers and price lists name."""
    name: Text
    """For readers, and in the order between offers of the same cost."""
    currency: Currency | None = None
    """Of its price lists, unless a list states another."""
    price_list: ListSettings | None = None
    """How its price lists are read."""
    external_ids: ExternalIds = ()
    """Ids of other systems; no other supplier has one of them."""


class StoredOffer(Offer):
    """An offer as it is kept; `supplier` is a stored supplier's id."""

    supplier: Id
    """A stored supplier."""
    name: Text | None = None
    """What the supplier calls it."""
    venue: Id | None = None
    """The one venue it holds for; all unless given. A venue's own offers of an item stand instead of the group's."""
    external_ids: ExternalIds = ()
    """Ids of other systems; no other offer has one of them."""


class MenuEntry(Input):
    """One drink on a menu."""

    drink: Id
    """A stored drink."""
    with_: Annotated[tuple[Id, ...], Field(alias="with", max_length=20)] = ()
    """Modifiers of the drink that this line of the menu sells it with."""
    menu_price: MoneyText | None = None
    """In the currency of the venue's pricing, as the guest reads it."""
    section: Text | None = None
    """The heading it stands under."""
    valid_from: Day | None = None
    """First day on the menu; from the menu's first unless given."""
    valid_to: Day | None = None
    """Both days inclusive."""
    external_id: ExternalId | None = None
    """The till's id for this line."""

    @model_validator(mode="after")
    def forward(self) -> Self:
        """The days run forward."""
        _check_forward(self.valid_from, self.valid_to)
        return self


class Menu(Input):
    """What a venue sells over some days, with its prices."""

    id: Id
    """In addresses."""
    name: Text
    """As printed."""
    venue: Id | None = None
    """Whose prices, taxes and rules apply; the group's unless given. Menu prices are in its currency: those of a menu
    of no venue count at no venue that has another."""
    valid_from: Day | None = None
    """First day; since ever unless given."""
    valid_to: Day | None = None
    """Both days inclusive."""
    entries: Annotated[tuple[MenuEntry, ...], Field(max_length=500)] = ()
    """In the order of the menu."""
    prices_public: Flag = False
    """Whether keys without `costs:read` may read the menu prices, which guests see."""
    external_ids: ExternalIds = ()
    """Ids of other systems; no other menu has one of them."""

    @model_validator(mode="after")
    def forward(self) -> Self:
        """The days run forward."""
        _check_forward(self.valid_from, self.valid_to)
        return self


class VenuePricing(Input):
    """How a venue prices; what it leaves out it takes from the group."""

    currency: Currency | None = None
    """ISO 4217 code of every sum."""
    choose: Literal["cheapest", "preferred"] | Annotated[dict[Id, Id], Field(max_length=2000)] | None = None
    """Cheapest per base unit, preferred ones first, or an offer by item."""
    rates: Annotated[tuple[Rate, ...], Field(max_length=200)] | None = None
    """Rates for offers in other currencies; dated ones are kept for answers of earlier days."""
    target: Target | None = None
    """Without it no price is suggested."""
    tax: Tax | Annotated[tuple[TaxLine, ...], Field(min_length=1, max_length=10)] | None = None
    """One tax with how menus show it, or several that menus include."""
    round: PriceStep | None = None
    """To the nearest minor unit of the currency unless given."""
    allowances: Allowances | None = None
    """Over-pour and spillage."""
    labour: Labour | None = None
    """Counts in the serve cost alone."""
    floor: MoneyText | None = None
    """The house's own least price as the guest reads it: nothing below it is suggested."""

    @model_validator(mode="after")
    def one_currency(self) -> Self:
        """Sums with a currency of their own are in the currency stated here."""
        cash = None if self.target is None else self.target.cash_margin
        hourly = None if self.labour is None else self.labour.rate_per_hour
        for sum_ in (cash, hourly):
            if isinstance(sum_, Money) and self.currency is not None and sum_.currency != self.currency:
                raise PydanticCustomError("currency_mixed", "Sums of pricing are in the pricing currency.")
        return self


class VenueHouse(Input):
    """The bar's tools, how it sells, its own limit; what is left out comes from the group."""

    cross_contact: Annotated[tuple[CrossContact, ...], Field(max_length=60)] | None = None
    """Tools that may carry allergens over; an empty list says that none does."""
    sold_as: SoldAs | None = None
    """How drinks are sold that say nothing of it themselves; poured unless given."""
    max_standard_drinks: Positive | None = None
    """The house's own limit for one serve."""
    chain_menu: Flag | None = None
    """Whether menus state calories as a chain of 20 or more locations in the United States does; not unless given."""
    use_measured: Flag | None = None
    """Whether what is measured of a drink takes the place of its water; not unless given."""
    storage: Text | None = None
    """How its packed drinks are to be kept, as label panels print it."""
    responsible: Text | None = None
    """Name and address of who answers for its packed drinks, as label panels print it."""


class Venue(Input):
    """One place of the business; the venue `group` holds the defaults of all."""

    id: Id
    """In addresses and on keys; `group` for the defaults."""
    name: Text
    """For readers alone."""
    jurisdictions: Annotated[tuple[Jurisdiction, ...], Field(min_length=1, max_length=60)] | None = None
    """Whose rules its answers follow."""
    measures: MeasuresIn | None = None
    """What the house means by its measures; taken whole from the group unless given."""
    pricing: VenuePricing | None = None
    """Field by field over the group's."""
    house: VenueHouse | None = None
    """Field by field over the group's."""
    external_ids: ExternalIds = ()
    """Ids of other systems; no other venue has one of them."""


class KeyRequest(Input):
    """A key that is asked for."""

    name: Text
    """For people: whose it is, or what for."""
    scopes: Annotated[
        tuple[Literal["costs:read", "labels:read", "margins:read", "catalogue:write", "keys:admin"], ...],
        Field(min_length=1, max_length=5),
    ]
    """What it may do; nothing else."""
    venue: Id | None = None
    """The one venue it may ask about; all unless given."""
    expires_on: Day | None = None
    """Last day on which it works (UTC); no end unless given."""


def _check_forward(first: date | None, last: date | None) -> None:
    if first and last and last < first:
        raise PydanticCustomError("validity_reversed", "valid_to lies before valid_from.")


class ListQuery(Query):
    """Which entries of a kind are listed, in the order of their ids."""

    page_size: Annotated[int, BeforeValidator(whole), Field(ge=1, le=100)] = 50
    """Entries on one page, 1 to 100."""
    page_token: Annotated[str, StringConstraints(max_length=200)] | None = None
    """The `next_page_token` of the page before."""
    text: Text | None = None
    """Only entries whose id or name holds this text, whatever the case; offers too by the id or name of their item or
    supplier, by code and by GTIN."""
    kind: Annotated[str, StringConstraints(pattern=r"^[a-z]{1,20}$")] | None = None
    """Only ingredients of this kind."""
    item: Id | None = None
    """Only offers of this item; for drinks and preparations, those that name it."""
    supplier: Id | None = None
    """Only offers of this supplier."""
    external_id: ExternalId | None = None
    """Only the entry that has this external id."""
    archived: Annotated[
        Literal["exclude", "include", "only"], WithJsonSchema({"enum": ["exclude", "include", "only"]})
    ] = "exclude"
    """Archived entries are left out unless asked for."""


class ReadQuery(Query):
    """Which state of an entry is read."""

    as_of: Day | None = None
    """As it holds on this day; as it was last written unless given, which may hold from a later day."""


class WriteQuery(Query):
    """How a write is dated."""

    valid_from: Day | None = None
    """From when it holds: today unless given, since ever for a first revision. An earlier day corrects the past."""


class HistoryQuery(Query):
    """Which revisions are shown."""

    after: Annotated[int, BeforeValidator(whole), Field(ge=0, le=10**6)] = 0
    """Only revisions after this one."""
    page_size: Annotated[int, BeforeValidator(whole), Field(ge=1, le=100)] = 50
    """Revisions on one page, 1 to 100."""
