"""What a request's pricing makes of a drink: terms, cost, suggested price, legal floors."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

import schemas.pricing as contract
from schemas.evaluation import EvaluationRequest
from service import pricing
from service.alcohol import Alcohol
from service.build import Build
from service.costing import Allowances, Offer, Terms
from service.costtree import CostTree, DrinkCost, Labour
from service.errors import InputFault
from service.labelling import price_floor
from service.line import ResolvedLine
from service.money import Rate
from service.preparation import Warn
from service.resolve import Resolved
from service.rules import Rules


@dataclass(frozen=True, slots=True)
class Price:
    """The suggested price (``None`` without a target or a complete cost) and what the menu price comes to."""

    suggestion: pricing.Suggestion | None
    menu: pricing.AtMenuPrice | None


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
    allowances, labour, choose, rates = Allowances(), None, "cheapest", ()
    if asked is not None:
        currency = asked.currency
        given = asked.allowances
        allowances = Allowances(given.over_pour_percent, given.spillage_percent)
        if asked.labour is not None:
            labour = Labour(asked.labour.minutes, asked.labour.rate_per_hour)
        choose = asked.choose  # type: ignore[assignment]  # a literal word or a mapping, as the terms take it
        rates = tuple(Rate(rate.from_, rate.to, rate.rate, rate.as_of) for rate in asked.rates)  # type: ignore[assignment]  # an empty tuple came first
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
            wanted.gross_margin_percent, wanted.pour_cost_percent, wanted.markup_percent, wanted.cash_margin
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
    if target is not None and pour_cost is not None:
        floors = _floors(rules, strength, currency, warnings)
        suggestion = pricing.suggestion(pour_cost, target, tax, steps, currency, floors)
        warnings += [Warn(found.code, found.detail) for found in suggestion.warnings]
    menu = None
    if asked.menu_price is not None:
        menu = pricing.at_menu_price(asked.menu_price, pour_cost, tax, target, currency)
    return Price(suggestion, menu)


def _tax(tax: "contract.Tax | tuple[contract.TaxLine, ...] | None") -> pricing.Tax:
    if tax is None:
        return pricing.NO_TAX
    if isinstance(tax, contract.Tax):
        return pricing.Tax.at_rate(tax.rate_percent, tax.included)
    return pricing.Tax(tuple(pricing.TaxLine(line.name, line.rate_percent, line.on) for line in tax))


def _floors(
    rules: Sequence[Rules], strength: Alcohol, currency: str, warnings: list[Warn]
) -> list[tuple[str, Decimal]]:
    """Legal floors of the jurisdictions asked for; one that cannot be checked is named in a warning."""
    floors = []
    for regime in rules:
        if regime.price_floor is None:
            continue
        ethanol = strength.ethanol_upper_g
        if ethanol == 0:
            continue
        floor = None if ethanol is None else price_floor(regime, ethanol, currency)
        if floor is None:
            detail = f"The legal minimum price of {regime.code} could not be checked: strength or currency differ."
            warnings.append(Warn("price_floor_not_checked", detail))
        else:
            floors.append((regime.code, floor))
    return floors
