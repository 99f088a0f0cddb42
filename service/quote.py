"""What a request's pricing makes of a drink: terms, cost, suggested price, legal floors."""

from collections.abc import Mapping, Sequence
from datetime import date
from decimal import Decimal

from msgspec import Struct

import schemas.pricing as contract
from schemas.evaluation import EvaluationRequest
from schemas.offer import Money
from service import pricing
from service.alcohol import Alcohol
from service.build import Build
from service.choosing import Offer, Terms
from service.costing import Allowances
from service.costtree import CostTree, DrinkCost, Labour
from service.errors import InputFault
from service.labelling import price_floor
from service.line import ResolvedLine
from service.money import EXACT, Rate, converted, minor_unit_up
from service.offers import known_currency, sum_of
from service.preparation import Warn
from service.resolve import Resolved
from service.rules import Rules


class Price(Struct, frozen=True):
    """The suggested price (``None`` without a target or a complete cost) and what the menu price comes to.

    ``floors`` are legal minimum prices by jurisdiction, in the pricing currency.
    """

    suggestion: pricing.Suggestion | None
    menu: pricing.AtMenuPrice | None
    floors: tuple[tuple[str, Decimal], ...]


def drink_cost(
    request: EvaluationRequest,
    resolved: Resolved,
    lines: Sequence[ResolvedLine],
    build: Build,
    offers: Mapping[str, Sequence[Offer]],
    day: date,
) -> DrinkCost:
    """The cost of one drink under the request's terms, in the pricing currency or the offers' single one."""
    asked = request.pricing
    allowances, labour, choose = Allowances(), None, "cheapest"
    rates: tuple[Rate, ...] = ()
    if asked is not None:
        known_currency(asked.currency, "/pricing/currency")
        for number, rate in enumerate(asked.rates):
            known_currency(rate.from_, f"/pricing/rates/{number}/from")
            known_currency(rate.to, f"/pricing/rates/{number}/to")
        currency = asked.currency
        given = asked.allowances
        allowances = Allowances(given.over_pour_percent, given.spillage_percent)
        if asked.labour is not None:
            labour = Labour(asked.labour.minutes, sum_of(asked.labour.rate_per_hour))
        choose = asked.choose  # type: ignore[assignment]  # a literal word or a mapping, as the terms take it
        rates = _rates(asked)
    else:
        currency = _single_currency(resolved, offers)
    terms = Terms(currency, day, choose, rates)
    fill = {index: part.base * part.substance.gas_factor for index, part in build.fill.items()}
    return CostTree(resolved, offers, terms).drink_cost(lines, allowances, labour, fill)


def _single_currency(resolved: Resolved, offers: Mapping[str, Sequence[Offer]]) -> str:
    sold = set(resolved.items)
    sold |= {item.squeezed_from.item for item in resolved.items.values() if item.squeezed_from is not None}
    currencies = {offer.currency for item in sold for offer in offers.get(item, ())}
    if len(currencies) > 1:
        detail = "The offers are in several currencies; name the one to cost in and the rates."
        raise InputFault("currency_required", detail, "/pricing")
    return currencies.pop() if currencies else ""


def drink_price(
    request: EvaluationRequest, cost: DrinkCost, strength: Alcohol, rules: Sequence[Rules], warnings: list[Warn]
) -> Price | None:
    """The price at the request's target and what its menu price comes to; ``None`` without pricing."""
    asked = request.pricing
    if asked is None:
        return None
    currency = asked.currency
    tax = _tax(asked.tax)
    target = None
    if asked.target is not None:
        wanted = asked.target
        target = pricing.Target(
            wanted.gross_margin_percent, wanted.pour_cost_percent, wanted.markup_percent, _sum(wanted.cash_margin)
        )
    steps = None
    if asked.round is not None:
        if asked.round.ending is not None:
            steps = pricing.PriceRound.ending(asked.round.ending, currency)
        else:
            assert asked.round.to is not None
            steps = pricing.PriceRound.to(asked.round.to, asked.round.mode or "nearest", currency)
    suggestion = None
    pour_cost = cost.serve.pour_cost
    floors, all_known = _floors(rules, strength, asked, cost.day, warnings)
    own = [] if asked.floor is None else [(pricing.HOUSE, asked.floor)]
    if target is not None and pour_cost is not None and all_known:
        suggestion = pricing.suggestion(pour_cost, target, tax, steps, currency, [*floors, *own])
        warnings += [Warn(found.code, found.detail) for found in suggestion.warnings]
    menu = None
    if asked.menu_price is not None:
        menu = pricing.at_menu_price(sum_of(asked.menu_price), pour_cost, tax, target, currency)
        for code, floor in floors:
            if EXACT.multiply(menu.menu_price, tax.bill_factor()) < floor:
                detail = f"The menu price is below the legal minimum price of {code}; check local codes."
                warnings.append(Warn("menu_price_below_floor", detail))
    return Price(suggestion, menu, (*floors, *own))


def _sum(money: "Money | Decimal | None") -> Decimal | None:
    return None if money is None else sum_of(money)


def _tax(tax: "contract.Tax | tuple[contract.TaxLine, ...] | None") -> pricing.Tax:
    if tax is None:
        return pricing.NO_TAX
    if isinstance(tax, contract.Tax):
        return pricing.Tax.at_rate(tax.rate_percent, tax.included)
    return pricing.Tax(tuple(pricing.TaxLine(line.name, line.rate_percent, line.on) for line in tax))


def _floors(
    rules: Sequence[Rules], strength: Alcohol, asked: contract.Pricing, day: date, warnings: list[Warn]
) -> tuple[list[tuple[str, Decimal]], bool]:
    """Legal floors of the jurisdictions asked for, in the pricing currency, and whether these are all.

    They are not all where the strength is unknown or a rate is missing: then no price can be said to be lawful, and a
    warning says why.
    """
    floors: list[tuple[str, Decimal]] = []
    all_known = True
    ethanol = strength.ethanol_upper_g
    for regime in rules:
        held = regime.price_floor
        if held is None or ethanol == 0:
            continue
        if ethanol is None:
            detail = (
                f"No price is suggested: the legal minimum price of {regime.code} needs the strength, "
                "which is not known."
            )
            warnings.append(Warn("price_floor_not_checked", detail))
            return [], False
        floor = price_floor(regime, ethanol, held.currency)
        assert floor is not None
        try:
            in_currency = converted(floor, held.currency, asked.currency, _rates(asked), day)
        except InputFault:
            detail = (
                f"No price is suggested: the legal minimum price of {regime.code}, {floor:f} {held.currency}, was not "
                f"compared. Give a rate from {held.currency} to {asked.currency}."
            )
            warnings.append(Warn("price_floor_not_checked", detail))
            all_known = False
        else:
            floors.append((regime.code, minor_unit_up(in_currency, asked.currency)))
    return floors, all_known


def terms_of(asked: contract.Pricing, day: date) -> Terms:
    """The terms of a request's pricing on a day."""
    return Terms(asked.currency, day, asked.choose, _rates(asked))


def _rates(asked: contract.Pricing) -> tuple[Rate, ...]:
    return tuple([Rate(rate.from_, rate.to, rate.rate, rate.as_of) for rate in asked.rates])
