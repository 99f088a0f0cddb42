"""The price of a drink from its unrounded pour cost: targets, taxes, price steps, legal floors.

This module and ``report.py`` and ``labelling.py`` are the only ones that round. The suggested price is the one the
menu prints: with its taxes where they are included, without them where they are added on the bill. Margins are of
the shown price, net of tax and unrounded, against the exact cost; so a price rounded up never misses its target.
"""

from collections.abc import Sequence
from decimal import Decimal, localcontext

from msgspec import Struct

from service.errors import InputFault
from service.money import EXACT, HUNDRED, ONE, ZERO, half_up, minor_unit_digits, minor_unit_up, snapped

HIGHEST = Decimal(10**12)
"""The highest price that is answered."""

MODES = ("up", "nearest", "down")
TAX_BASES = ("net", "net_and_previous")


def _within(name: str, figure: Decimal | None, sense: bool, expected: str) -> None:
    if figure is not None and not sense:
        raise InputFault("target_out_of_range", f"{name} must be {expected}.", f"/pricing/target/{name}")


HOUSE = "house"
"""Stands for a jurisdiction's code where the least price is the house's own."""


class Target(Struct, frozen=True):
    """What the bar wants of a net price; of several targets the one that asks the highest price decides."""

    gross_margin_percent: Decimal | None = None
    pour_cost_percent: Decimal | None = None
    markup_percent: Decimal | None = None
    cash_margin: Decimal | None = None

    def __post_init__(self) -> None:
        margin, share = self.gross_margin_percent, self.pour_cost_percent
        markup, cash = self.markup_percent, self.cash_margin
        if margin is None and share is None and markup is None and cash is None:
            raise InputFault("target_missing", "Name at least one target.", "/pricing/target")
        _within("gross_margin_percent", margin, margin is None or 0 <= margin < 100, "from 0 to less than 100")
        _within("pour_cost_percent", share, share is None or 0 < share <= 100, "over 0 and at most 100")
        _within("markup_percent", markup, markup is None or markup >= 0, "0 or more")
        _within("cash_margin", cash, cash is None or cash >= 0, "0 or more")

    def net_price(self, pour_cost: Decimal) -> tuple[Decimal, str]:
        """The highest net price the targets ask for, and the name of the target that asks it (first of equals).

        cost / (1 - margin / 100); cost x 100 / share; cost x (1 + markup / 100); cost + cash margin.

        >>> Target(pour_cost_percent=Decimal(20), cash_margin=Decimal(6)).net_price(Decimal(2))
        (Decimal('10'), 'pour_cost_percent')
        """
        asked: list[tuple[Decimal, str]] = []
        with localcontext(EXACT):
            if self.gross_margin_percent is not None:
                net = HUNDRED * pour_cost / (HUNDRED - self.gross_margin_percent)
                asked.append((net, "gross_margin_percent"))
            if self.pour_cost_percent is not None:
                asked.append((HUNDRED * pour_cost / self.pour_cost_percent, "pour_cost_percent"))
            if self.markup_percent is not None:
                asked.append((pour_cost * (HUNDRED + self.markup_percent) / HUNDRED, "markup_percent"))
            if self.cash_margin is not None:
                asked.append((pour_cost + self.cash_margin, "cash_margin"))
        if len(asked) == 1:
            return asked[0]
        return max(asked, key=lambda pair: snapped(pair[0]))


class TaxLine(Struct, frozen=True):
    """One tax, on the net price or on the net price and the taxes before it."""

    name: str
    rate_percent: Decimal
    on: str = "net"

    def __post_init__(self) -> None:
        if self.rate_percent < 0 or self.on not in TAX_BASES:
            raise InputFault(
                "tax_out_of_range",
                "A tax has a rate of 0 or more, on net or net_and_previous.",
                "/pricing/tax",
            )


class Tax(Struct, frozen=True):
    """The taxes on a drink, in their order, and whether the menu prints prices with them.

    The contract's list of taxes does not say ``included``; it is read as included, as then all of the list is part of
    the suggested price. With ``included=False`` the suggested price is net, holds no tax, and ``tax_on_bill`` is
    what is added when the guest pays.
    """

    lines: tuple[TaxLine, ...] = ()
    included: bool = True

    @classmethod
    def at_rate(cls, rate_percent: Decimal, included: bool) -> "Tax":
        """A single tax on the net price."""
        return cls((TaxLine("tax", rate_percent),), included)

    def factor(self) -> Decimal:
        """Price with all taxes / net price.

        >>> Tax((TaxLine("a", Decimal(5)), TaxLine("b", Decimal(10), "net_and_previous"))).factor()
        Decimal('1.155')
        """
        with localcontext(EXACT):
            factor = ONE
            for line in self.lines:
                factor += line.rate_percent / HUNDRED * (ONE if line.on == "net" else factor)
            return factor

    def menu_factor(self) -> Decimal:
        """Price on the menu / net price."""
        return self.factor() if self.included else ONE

    def bill_factor(self) -> Decimal:
        """What the guest pays / price on the menu."""
        return ONE if self.included else self.factor()


NO_TAX = Tax()


class PriceRound(Struct, frozen=True):
    """The prices a menu may print: ``step`` x n, or step x n + ``offset`` (an ending), and which way to go."""

    step: Decimal
    mode: str = "up"
    offset: Decimal = ZERO

    @classmethod
    def to(cls, step: Decimal, mode: str, currency: str) -> "PriceRound":
        """Multiples of ``step``, which must be a multiple of the minor unit."""
        if mode not in MODES:
            raise InputFault("round_mode_unknown", "Expected up, nearest or down.", "/pricing/round/mode")
        if step <= 0 or half_up(step, minor_unit_digits(currency)) != step:
            raise InputFault(
                "round_step_not_payable",
                "Expected a multiple of the currency's minor unit.",
                "/pricing/round/to",
            )
        return cls(step, mode)

    @classmethod
    def ending(cls, text: str, currency: str) -> "PriceRound":
        """The prices that end in ``text``: digits with at most one point, such as ``.95``, ``4.90`` or ``80``."""
        whole, point, decimals = text.partition(".")
        digits = whole + decimals
        if not (digits.isascii() and digits.isdigit()) or len(digits) > 9 or (point and not decimals):
            raise InputFault("ending_malformed", "Expected digits such as .95.", "/pricing/round/ending")
        if len(decimals) > minor_unit_digits(currency):
            raise InputFault(
                "ending_not_payable",
                "The ending has more decimals than the currency.",
                "/pricing/round/ending",
            )
        return cls(Decimal(10) ** len(whole), "up", Decimal(f"{whole or 0}.{decimals or 0}"))

    def price(self, unrounded: Decimal, mode: str | None = None) -> Decimal:
        """The price on this grid for one of 0 or more; ``nearest`` takes the upper one of a tie.

        >>> PriceRound(Decimal(1), "up", Decimal("0.95")).price(Decimal("11.96"))
        Decimal('12.95')
        """
        mode = self.mode if mode is None else mode
        with localcontext(EXACT):
            # A price below the offset leaves the count at 0, since divmod of decimals truncates towards zero.
            count, rest = divmod(snapped(unrounded) - self.offset, self.step)
            if (mode == "up" and rest > 0) or (mode == "nearest" and 2 * rest >= self.step):
                count += 1
            return count * self.step + self.offset


def _minor_unit(currency: str) -> PriceRound:
    """The grid where the caller names none: half up at the minor unit."""
    return PriceRound(ONE.scaleb(-minor_unit_digits(currency)), "nearest")


class Warned(Struct, frozen=True):
    """A warning with its stable code."""

    code: str
    detail: str


class Margins(Struct, frozen=True):
    """Of a price on the menu: money half up at the minor unit, percentages half up at 0.1, ``None`` if undefined."""

    net: Decimal
    tax: Decimal
    tax_on_bill: Decimal
    gross_margin_percent: Decimal | None
    pour_cost_percent: Decimal | None


class Suggestion(Struct, frozen=True):
    """A suggested menu price; ``unrounded`` is what the target asks, to 6 decimals; ``floor`` a jurisdiction's code."""

    suggested: Decimal
    unrounded: Decimal
    margins: Margins
    determined_by: str
    floor: str | None
    warnings: tuple[Warned, ...]


class AtMenuPrice(Struct, frozen=True):
    """What the price that the bar asks today comes to; ``meets_target`` is ``None`` without target or cost."""

    menu_price: Decimal
    margins: Margins
    meets_target: bool | None


def _percent(part: Decimal, whole: Decimal) -> Decimal:
    return half_up(EXACT.divide(EXACT.multiply(HUNDRED, part), whole), 1)


def _none_of(places: int) -> Decimal:
    return ZERO.scaleb(-places)


def margins_of(price: Decimal, pour_cost: Decimal | None, tax: Tax, currency: str) -> Margins:
    """Net, tax and percentages of a price as the menu prints it.

    margin = (net - cost) / net, pour cost = cost / net, with net = price / tax factor, unrounded. A net price of 0 has
    neither; a cost of 0 has no margin (it would be 100 % of any price); an unknown cost has neither.
    """
    places = minor_unit_digits(currency)
    with localcontext(EXACT):
        factor = tax.factor()
        net_exact = price / factor if tax.included else price
        net = half_up(net_exact, places)
        on_bill = _none_of(places) if tax.included else half_up(price * (factor - ONE), places)
        margin = share = None
        if pour_cost is not None and net_exact:
            share = _percent(pour_cost, net_exact)
            margin = _percent(net_exact - pour_cost, net_exact) if pour_cost else None
        return Margins(net, half_up(price - net, places), on_bill, margin, share)


def _meets(price: Decimal, asked: Decimal) -> bool:
    """Whether a menu price reaches what the target asks, both with tax as the menu prints it."""
    return snapped(price) >= snapped(asked)


def suggestion(
    pour_cost: Decimal,
    target: Target,
    tax: Tax,
    rounding: PriceRound | None,
    currency: str,
    floors: Sequence[tuple[str, Decimal]] = (),
) -> Suggestion:
    """The price to print for a pour cost, from the unrounded cost, at the target, never below a legal floor.

    ``floors`` are (jurisdiction, money); each is rounded up to the minor unit and holds for what the guest pays, taxes
    of the bill included (Licensing (Scotland) Act 2005, schedule 3, 6A: the selling price; standing: memory). A price
    that would fall below one moves up to the next price the rounding allows.
    """
    asked_net, determined_by = target.net_price(pour_cost)
    asked = EXACT.multiply(asked_net, tax.menu_factor())
    if asked > HIGHEST:
        raise InputFault(
            "price_out_of_range",
            "The price at this target exceeds 10^12; check the offers, the yields and the target.",
            "/pricing/target",
        )
    grid = rounding or _minor_unit(currency)
    price = grid.price(asked)
    floor_code, warnings = None, []
    for code, floor in floors:
        payable = minor_unit_up(floor, currency)
        printed = minor_unit_up(EXACT.divide(payable, tax.bill_factor()), currency)
        if price < printed:
            price, floor_code = grid.price(printed, "up"), code
    if floor_code is not None:
        detail = f"The suggested price was raised to the legal minimum price of {floor_code}; check local codes."
        if floor_code == HOUSE:
            detail = "The suggested price was raised to the house's own least price."
        warnings.append(Warned("price_floor_applied", detail))
    if not _meets(price, asked):
        detail = "The suggested price as rounded stays below the target; round up, or name an ending, to reach it."
        warnings.append(Warned("price_below_target", detail))
    shown = half_up(price, minor_unit_digits(currency))
    margins = margins_of(shown, pour_cost, tax, currency)
    return Suggestion(shown, half_up(asked, 6), margins, determined_by, floor_code, tuple(warnings))


def at_menu_price(
    menu_price: Decimal, pour_cost: Decimal | None, tax: Tax, target: Target | None, currency: str
) -> AtMenuPrice:
    """What a given menu price comes to, and whether it reaches the target exactly (not as rounded)."""
    meets = None
    if target is not None and pour_cost is not None:
        asked_net, _ = target.net_price(pour_cost)
        meets = _meets(menu_price, EXACT.multiply(asked_net, tax.menu_factor()))
    places = minor_unit_digits(currency)
    if half_up(menu_price, places) != menu_price:
        raise InputFault(
            "menu_price_not_payable",
            "Expected no more decimals than the currency has.",
            "/pricing/menu_price",
        )
    shown = half_up(menu_price, places)
    return AtMenuPrice(shown, margins_of(shown, pour_cost, tax, currency), meets)
