"""What a drink costs and what it sells for, as answered: decimal text throughout."""

from typing import Literal

from schemas._base import Output
from schemas.answer_bands import CostBands


class Missing(Output):
    """Something that is not known and that a figure needs."""

    item: str
    """Id of the item, or `ice` for the water of ice."""
    field: str
    """The field of the request that would tell it."""


class Considered(Output):
    """An offer that was looked at."""

    offer: str
    """Id of the offer."""
    unit_cost: str | None
    """Its cost for one base unit; null where it cannot be told."""
    reason: str
    """Why it was chosen or not."""


class OfferChoice(Output):
    """The offer by which one bought item is costed, and why."""

    item: str
    """Id of the item."""
    priced_from: str
    """Id of the item whose offers were used, such as the fruit of a juice."""
    offer: str | None
    """Id of the chosen offer."""
    supplier: str | None
    """Who sells it."""
    reason: str
    """Why this one."""
    per: str
    """The base unit: ml, g or each."""
    unit_cost: str | None
    """Cost of one base unit, nine decimals."""
    considered: tuple[Considered, ...]
    """Every offer of the item."""


class KnownCost(Output):
    """The part of a cost that is known."""

    pour_cost: str | None
    """Known pour cost."""
    serve_cost: str | None
    """Known serve cost."""


class Cost(Output):
    """The cost of one serve; sums at the currency's minor unit, half up."""

    currency: str | None
    """ISO 4217 code; null where nothing has a price."""
    complete: bool
    """Whether every part has a cost."""
    missing: tuple[Missing, ...]
    """What has none."""
    pour_cost: str | None
    """Ingredients, garnish and allowances."""
    ingredients: str | None
    """Lines of role pour, top and rinse."""
    garnish: str | None
    """Lines of role garnish."""
    allowances: str | None
    """Over-pour and spillage, added and never compounded."""
    consumables: str | None
    """Lines of role consumable; not in the pour cost."""
    labour: str | None
    """Working time; not in the pour cost."""
    serve_cost: str | None
    """Pour cost, consumables and labour."""
    at_least: KnownCost
    """What is known of it."""
    choices: tuple[OfferChoice, ...]
    """The offer of each bought item."""
    band: CostBands | None = None
    """How sure the pour cost is; absent without `bands`."""


class AtMenuPrice(Output):
    """What the menu price comes to."""

    menu_price: str
    """The price on the menu."""
    net: str
    """Without tax."""
    tax: str
    """Tax in the price."""
    tax_on_bill: str
    """Tax added on the bill, where prices are shown without it."""
    gross_margin_percent: str | None
    """Of the net price, against the exact pour cost."""
    pour_cost_percent: str | None
    """Exact pour cost of the net price."""
    meets_target: bool | None
    """Whether every target is met; null without a target or a cost."""


class Floor(Output):
    """A legal minimum price."""

    jurisdiction: str
    """Code."""
    amount: str
    """The lowest lawful price of the serve."""
    currency: str
    """The pricing currency."""


class PriceAnswer(Output):
    """The suggested price for one serve."""

    currency: str
    """ISO 4217 code."""
    suggested: str | None
    """Price at the target, on its step; null without a target or a complete cost."""
    net: str | None
    """The suggested price without tax."""
    tax: str | None
    """Tax in the suggested price."""
    tax_on_bill: str | None
    """Tax added on the bill, where prices are shown without it."""
    unrounded: str | None
    """Price before its step, six decimals."""
    gross_margin_percent: str | None
    """Of the net price, against the exact pour cost."""
    pour_cost_percent: str | None
    """Exact pour cost of the net price."""
    determined_by: str | None
    """The target that asks the highest price."""
    floor: Floor | None
    """The legal minimum price that lies above the targets and set the price."""
    at_menu_price: AtMenuPrice | None
    """The menu price of the request."""


class Rounding(Output):
    """How money is rounded."""

    money: Literal["half_up"]
    """All shown sums."""
    price: str | None
    """How the suggested price falls on its step."""
    price_step: str | None
    """The step."""
    price_ending: str | None
    """The ending."""
