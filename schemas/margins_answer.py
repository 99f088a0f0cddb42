"""The books of a period as answered."""

from typing import Annotated, Literal

from pydantic import Field

from schemas._base import Output
from schemas.period import PeriodOut


class FiguresOut(Output):
    """Sums of a drink or a group; money at the minor unit, percentages at 0.1, both half up."""

    quantity: str
    """Serves, refunds taken off."""
    gross: str
    """As rung up."""
    discount: str
    """Let off."""
    complimentary: str
    """Given away, by price."""
    service_charge: str
    """Taken off the gross."""
    deposit: str
    """Taken off the gross."""
    tax: str
    """Tax on what was paid."""
    net: str
    """Net sales."""
    pour_cost: str | None
    """Theoretical cost of all serves; null where one is not known."""
    pour_cost_at_least: str
    """What of it is known."""
    pour_cost_percent: str | None
    """Of net sales."""
    contribution: str | None
    """Net less pour cost."""
    contribution_each: str | None
    """Of one serve."""
    gross_margin_percent: str | None
    """Contribution of net sales."""
    channel_cost: str
    """Commission, fees and packaging; in no figure above."""
    after_channels: str | None
    """Contribution less channel cost."""
    share_percent: str | None
    """Of all net sales, by largest remainder; null where a part is negative."""
    complete: bool
    """Whether every cost is known."""


class DrinkFigures(Output):
    """One drink as it was sold."""

    drink: str
    """Its id."""
    with_: Annotated[tuple[str, ...], Field(alias="with")]
    """Modifiers it was sold with."""
    name: str
    """Its name."""
    section: str | None
    """On the menu that sells it."""
    menu: str | None
    """That menu."""
    in_words: str | None
    """How often it sells and how much it earns beside the others; null where it cannot be judged."""
    figures: FiguresOut
    """What it brought."""


class GroupFigures(Output):
    """A section, menu, venue or channel."""

    id: str | None
    """Null: none."""
    figures: FiguresOut
    """What it brought."""


class UnderTargetOut(Output):
    """A drink under its target, and the menu price that brings it back."""

    drink: str
    """Its id."""
    with_: Annotated[tuple[str, ...], Field(alias="with")]
    """Modifiers it was sold with."""
    net_each: str
    """Mean net of one serve."""
    asked_net: str
    """What the target asks at the mean cost."""
    menu_price: str
    """On the steps of the menu, upwards."""
    determined_by: str
    """The target that asks it."""


class EffectsOut(Output):
    """Why the contribution differs; price + mix + volume + cost = change, to the minor unit."""

    compared_with: str
    """The other period."""
    before: str
    """Contribution of the other period."""
    after: str
    """Contribution of this one."""
    change: str
    """After less before."""
    price: str
    """Other net prices of what sold in both."""
    mix: str
    """Other shares of dearer and cheaper drinks; holds the rounding of the other three."""
    volume: str
    """More or fewer serves at the mean contribution of before."""
    cost: str
    """Other costs of what sold in both; a rise is negative."""
    left_out: tuple[str, ...]
    """Drinks whose cost is not known in one of the two."""


class ThresholdsOut(Output):
    """From where on a drink sells well, and earns well."""

    share_percent_from: str
    """Share of serves: 70 % of an equal share (Kasavana and Smith 1982; from memory)."""
    contribution_each_from: str
    """Mean contribution of one serve."""


class ServePart(Output):
    """A part of the gross of a mean serve."""

    part: Literal["discount", "complimentary", "service_charge", "deposit", "tax", "pour_cost", "channel_cost", "stays"]
    """Where it goes; `stays` is the contribution after channels."""
    each: str
    """For one serve; all of them add up to its gross."""
    share_percent: str | None
    """Of the gross, by largest remainder; null where a part is negative."""


class ValuedOut(Output):
    """Sums that hang on the valuation; null where a cost is not known."""

    pour_cost: str | None
    """Of all serves."""
    pour_cost_percent: str | None
    """Of net sales."""
    contribution: str | None
    """Net less pour cost."""
    gross_margin_percent: str | None
    """Contribution of net sales."""


class BesideDrink(Output):
    """The pour cost of one drink by two valuations; the difference is that of the sums as shown."""

    drink: str
    """Its id."""
    with_: Annotated[tuple[str, ...], Field(alias="with")]
    """Modifiers it was sold with."""
    pour_cost: str | None
    """By the first."""
    pour_cost_beside: str | None
    """By the second."""
    difference: str | None
    """Second less first."""


class BesideOut(Output):
    """The same sales by a second valuation."""

    valuation: str
    """What a cost stands for."""
    at_list: tuple[str, ...]
    """Items that it does not value, costed at list price."""
    total: ValuedOut
    """All of it by the second."""
    pour_cost_difference: str | None
    """Second less first, as shown."""
    contribution_difference: str | None
    """Second less first, as shown."""
    drinks: tuple[BesideDrink, ...]
    """In the order of their ids."""


class MissingCost(Output):
    """A cost that is not known."""

    drink: str
    """Its id, with modifiers after a plus sign."""
    item: str
    """What has no cost."""
    field: str
    """What would tell it."""


class WasteRow(Output):
    """One stored thing: a house-made part, or a pack once it is open."""

    venue: str | None
    """Where it is kept; null: the group."""
    item: str
    """Its id."""
    kind: Literal["part", "opened"]
    """Made in-house, or bought."""
    base: str
    """ml, g or each: of every quantity here."""
    batch: str | None
    """What is made or opened at once."""
    life_days: int | None
    """How long that keeps."""
    used: str
    """What the drinks that sold, and the batches that it goes into, took."""
    thrown: str | None
    """Expected to be thrown away over the period."""
    thrown_percent: str | None
    """Of all that was made or opened."""
    money: str | None
    """What that cost; all rows add up to the sum."""


class WasteOut(Output):
    """What perishes before it is used: a cost line of its own, in no pour cost and no margin."""

    assumes: str
    """What the figures rest on."""
    rows: tuple[WasteRow, ...] | None = None
    """The dearest first, what is not known last; absent without `costs:read`, since money over quantity is a supplier's
    price."""
    money: str | None
    """All of it; null where a part is not known."""
    money_at_least: str
    """What of it is known."""
    each: str | None
    """For one serve sold, six decimals."""
    percent_of_sales: str | None
    """Of net sales, two decimals."""
    missing: tuple[MissingCost, ...]
    """What would tell the rest."""


class MarginsMeta(Output):
    """What the figures were made from."""

    rules_version: str
    """Of the embedded rules."""
    data_version: int
    """Of the catalogue."""
    cost_version: int
    """Of the catalogue with its costs."""
    as_of: str
    """Each row is costed as of its trading day; this is the last of them."""
    valuation: str
    """What a cost stands for."""
    venue: str | None
    """Whose settings applied."""


class Margins(Output):
    """The books of a period."""

    currency: str
    """Of every sum."""
    period: PeriodOut
    """Which days."""
    rows: int
    """Rows that were counted."""
    rows_outside: int
    """Rows of other days, which were left out."""
    total: FiguresOut
    """All of it."""
    drinks: tuple[DrinkFigures, ...]
    """In the order of their ids."""
    sections: tuple[GroupFigures, ...]
    """By heading of the menu."""
    menus: tuple[GroupFigures, ...]
    """By menu."""
    venues: tuple[GroupFigures, ...]
    """By venue."""
    channels: tuple[GroupFigures, ...]
    """By channel."""
    one_serve: tuple[ServePart, ...]
    """Where the money of a mean serve goes; empty where a cost is not known or nothing sold."""
    thresholds: ThresholdsOut | None
    """Behind `in_words`."""
    under_target: tuple[UnderTargetOut, ...]
    """The largest loss first; empty without a target too."""
    effects: EffectsOut | None
    """Null where nothing is compared."""
    at_list: tuple[str, ...]
    """Items that the valuation does not value since no stock of them was stated, costed at list price."""
    beside: BesideOut | None
    """The second valuation; null where none is asked for."""
    waste: WasteOut | None
    """What is thrown away beside the pour cost; null for a menu without a mix, which states no sales a day."""
    missing: tuple[MissingCost, ...]
    """Costs that are not known."""
    meta: MarginsMeta
    """Versions, day, valuation."""
