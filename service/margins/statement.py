"""Did we make our margin: net sales, theoretical cost and contribution, by drink, section, menu and venue."""

from collections.abc import Callable, Iterable, Mapping
from decimal import Decimal, localcontext

from msgspec import Struct, field

from service.margins.sales import Key, NetSale, Sale
from service.money import EXACT, HUNDRED, ZERO, minor_unit_digits
from service.pricing import PriceRound, Suggestion, Target, Tax, suggestion

CostOf = Callable[[Sale], Decimal | None]
"""Pour cost of one serve of a row, as of its trading day and at its venue, unrounded; ``None``: not known."""


class Figures(Struct):
    """Sums of one drink or of a group, exact. ``costed_net`` is the net of what has a known cost.

    ``pour_cost`` is the known part; ``complete`` says whether it is all. ``complimentary_cost`` is what was given
    away by cost, and lies in ``pour_cost`` as well.
    """

    quantity: Decimal = ZERO
    gross: Decimal = ZERO
    discount: Decimal = ZERO
    complimentary: Decimal = ZERO
    service_charge: Decimal = ZERO
    deposit: Decimal = ZERO
    tax: Decimal = ZERO
    net: Decimal = ZERO
    channel_cost: Decimal = ZERO
    pour_cost: Decimal = ZERO
    uncosted_net: Decimal = ZERO
    missing: set[Key] = field(default_factory=set)

    def add(self, row: NetSale, cost: Decimal | None) -> None:
        """Counts one row; ``cost`` is of one serve."""
        sale = row.sale
        self.quantity += sale.quantity
        self.gross += sale.gross
        self.discount += sale.discount
        self.complimentary += sale.complimentary
        self.service_charge += sale.service_charge
        self.deposit += sale.deposit
        self.tax += row.tax
        self.net += row.net
        self.channel_cost += row.channel_cost
        if cost is not None:
            self.pour_cost += sale.quantity * cost
        elif sale.quantity:
            self.uncosted_net += row.net
            self.missing.add(sale.key)

    @property
    def complete(self) -> bool:
        """Whether the cost of everything that sold is known."""
        return not self.missing

    @property
    def contribution(self) -> Decimal | None:
        """Net less pour cost."""
        return EXACT.subtract(self.net, self.pour_cost) if self.complete else None

    @property
    def contribution_each(self) -> Decimal | None:
        """Contribution of one serve; ``None`` where nothing is left of what sold."""
        found = self.contribution
        return None if found is None or not self.quantity else EXACT.divide(found, self.quantity)

    @property
    def after_channels(self) -> Decimal | None:
        """Contribution less what the channels cost."""
        found = self.contribution
        return None if found is None else EXACT.subtract(found, self.channel_cost)

    @property
    def pour_cost_percent(self) -> Decimal | None:
        """Pour cost in percent of net sales; not defined where these are 0 or less."""
        return _percent(self.pour_cost, self.net) if self.complete else None

    @property
    def gross_margin_percent(self) -> Decimal | None:
        """Contribution in percent of net sales; not defined where these are 0 or less."""
        found = self.contribution
        return None if found is None else _percent(found, self.net)


def _percent(part: Decimal, whole: Decimal) -> Decimal | None:
    return EXACT.divide(EXACT.multiply(HUNDRED, part), whole) if whole > 0 else None


class Statement(Struct, frozen=True):
    """Figures of the whole and of each part, in the order met; ``None`` groups what has no section or menu."""

    total: Figures
    drinks: Mapping[Key, Figures]
    sections: Mapping[str | None, Figures]
    menus: Mapping[str | None, Figures]
    venues: Mapping[str | None, Figures]
    channels: Mapping[str | None, Figures]


class Placed(Struct, frozen=True):
    """Where a drink stands: the section and menu that sell it, and the venue that sold it."""

    section: str | None = None
    menu: str | None = None
    venue: str | None = None


def statement(rows: Iterable[NetSale], cost_of: CostOf, placed: Callable[[NetSale], Placed]) -> Statement:
    """Sums over what sold, each row at the cost of its own trading day.

    net sales = sum of net; pour cost = sum of quantity x cost of the day; contribution = net sales - pour cost;
    pour cost % = 100 x pour cost / net sales; gross margin % = 100 - pour cost %. Reference: arithmetic.
    """
    found = Statement(Figures(), {}, {}, {}, {}, {})
    groups: tuple[dict[object, Figures], ...] = (
        found.drinks, found.sections, found.menus, found.venues, found.channels,
    )  # type: ignore[assignment]  # fmt: skip  # the mappings are filled here alone
    with localcontext(EXACT):
        for row in rows:
            cost = cost_of(row.sale)
            place = placed(row)
            names = (row.sale.key, place.section, place.menu, place.venue, row.sale.channel)
            found.total.add(row, cost)
            for group, name in zip(groups, names, strict=True):
                if name not in group:
                    group[name] = Figures()
                group[name].add(row, cost)
    return found


class UnderTarget(Struct, frozen=True):
    """A drink whose net of one serve lies below what its target asks, and the menu price that brings it back."""

    key: Key
    net_each: Decimal
    asked_net: Decimal
    back: Suggestion


def under_target(
    drinks: Mapping[Key, Figures],
    target: Target,
    taxes: Callable[[Key], Tax],
    rounding: PriceRound | None,
    currency: str,
) -> list[UnderTarget]:
    """Drinks below target by their mean net and mean cost of one serve, the largest loss in all first.

    The price back is that of the target at the mean cost, on the menu's own price steps, never below the target.
    Drinks without a known cost, without sales or with more refunds than sales are not judged.
    """
    found: list[tuple[Decimal, UnderTarget]] = []
    for key, figures in drinks.items():
        if not figures.complete or figures.quantity <= 0 or figures.pour_cost < 0:
            continue
        each = EXACT.divide(figures.net, figures.quantity)
        cost = EXACT.divide(figures.pour_cost, figures.quantity)
        asked, _ = target.net_price(cost)
        if each >= asked:
            continue
        grid = None if rounding is None else PriceRound(rounding.step, "up", rounding.offset)
        back = suggestion(cost, target, taxes(key), grid or _upwards(currency), currency)
        lost = EXACT.multiply(EXACT.subtract(asked, each), figures.quantity)
        found.append((lost, UnderTarget(key, each, asked, back)))
    found.sort(key=lambda pair: -pair[0])
    return [row for _, row in found]


def _upwards(currency: str) -> PriceRound:
    return PriceRound(Decimal(1).scaleb(-minor_unit_digits(currency)), "up")
